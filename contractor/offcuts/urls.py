from django.urls import path

from contractor.offcuts import views

app_name = "offcuts"
urlpatterns = [
    path("offcuts/", views.store, name="store"),
    path("offcuts/<int:offcut_id>/discard/", views.discard, name="discard"),
    path("jobs/<int:number>/offcuts/", views.for_job, name="for-job"),
]
