from django.urls import path

from contractor.site import views

app_name = "site"
urlpatterns = [
    path("site/hello/", views.hello, name="hello"),
    path("site/acts/", views.acts, name="acts"),
    path("site/pages/", views.pages, name="pages"),
    path("site/acts/<int:act_id>/looked-at/", views.looked_at, name="looked-at"),
    path("site/photos/<uuid:key>/small/", views.photo, {"size": "small"}, name="photo-small"),
    path("site/photos/<uuid:key>/", views.photo, {"size": "full"}, name="photo"),
    path("jobs/<int:number>/site/photos/<uuid:key>/", views.photo_piece, name="photo-piece"),
    path("jobs/<int:number>/site/notes/", views.notes, name="notes"),
    path("jobs/<int:number>/site/notes/<slug:kind>/", views.note_act, name="note-act"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("worker.js", views.worker, name="worker"),
]
