from django.urls import path

from contractor.learning import views

app_name = "learning"
urlpatterns = [
    path("learning/", views.sound, name="sound"),
    path("learning/switch/", views.switch, name="switch"),
    path("learning/hours/", views.hours, name="hours"),
    path("learning/pipeline/", views.pipeline, name="pipeline"),
]
