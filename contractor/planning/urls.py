from django.urls import path

from contractor.planning import views

app_name = "planning"
urlpatterns = [
    path("jobs/<int:number>/plan/", views.plan, name="plan"),
    path("jobs/<int:number>/plan/options/", views.options, name="options"),
]
