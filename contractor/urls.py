"""The front gate: every address of the app, by area."""

from django.urls import include, path

urlpatterns = [
    path("", include("contractor.accounts.urls")),
    path("", include("contractor.jobs.urls")),
    path("customers/", include("contractor.customers.urls")),
    path("catalogue/", include("contractor.catalogue.urls")),
    path("", include("contractor.rooms.urls")),
    path("", include("contractor.quotes.urls")),
    path("", include("contractor.fitting.urls")),
]
