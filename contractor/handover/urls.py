from django.urls import path

from contractor.handover import views

app_name = "handover"
urlpatterns = [
    path("jobs/<int:number>/completion/", views.completion, name="completion"),
    path("jobs/<int:number>/completion/make/", views.make, name="make"),
    path("jobs/<int:number>/completion/link/", views.link, name="link"),
    path("jobs/<int:number>/completion/completion.pdf", views.office_pdf, name="office-pdf"),
    path("c/<str:token>/", views.pack, name="pack"),
    path("c/<str:token>/completion.pdf", views.pack_pdf, name="pack-pdf"),
    path("c/<str:token>/photos/<uuid:key>/", views.photo, name="photo"),
]
