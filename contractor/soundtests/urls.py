from django.urls import path

from contractor.soundtests import views

app_name = "sound"
urlpatterns = [
    path("jobs/<int:number>/sound/", views.tests, name="tests"),
    path("jobs/<int:number>/sound/new/", views.new, name="new"),
    path("jobs/<int:number>/sound/read/", views.read, name="read"),
    path("sound/read/<uuid:batch>/", views.columns, name="columns"),
    path("sound/<int:test_id>/", views.one, name="test"),
    path("sound/<int:test_id>/edit/", views.edit, name="edit"),
    path("sound/<int:test_id>/delete/", views.delete, name="delete"),
    path("sound/<int:test_id>/report.pdf", views.pdf, name="pdf"),
    path("sound/targets/", views.targets, name="targets"),
    path("sound/targets/new/", views.target, name="target-new"),
    path("sound/targets/<int:target_id>/", views.target, name="target"),
    path("sound/targets/<int:target_id>/delete/", views.target_delete, name="target-delete"),
]
