from django.urls import path

from contractor.fitting import views, views_changes

app_name = "fitting"
urlpatterns = [
    path("today/", views.today, name="today"),
    path("jobs/<int:number>/site/", views.pack, name="pack"),
    path("jobs/<int:number>/site/make/", views.make, name="make"),
    path("jobs/<int:number>/site/tick/", views.tick, name="tick"),
    path("jobs/<int:number>/site/pack.pdf", views.pack_pdf, name="pack-pdf"),
    path("jobs/<int:number>/site/cuts/", views.cuts, name="cuts"),
    path(
        "jobs/<int:number>/site/survey/<int:photo_id>/small/",
        views.survey_photo,
        {"size": "small"},
        name="survey-photo-small",
    ),
    path("jobs/<int:number>/site/survey/<int:photo_id>/", views.survey_photo, {"size": "full"}, name="survey-photo"),
    path("jobs/<int:number>/site/left/", views.left, name="left"),
    path("jobs/<int:number>/site/cuts/<slug:key>/", views.cut_face, name="cut-face"),
    path("jobs/<int:number>/site/cuts/<slug:key>/changes/", views_changes.changes, name="changes"),
    path("jobs/<int:number>/site/cuts/<slug:key>/measure/", views.measure, name="measure"),
]
