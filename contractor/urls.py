"""The front gate: every address of the app, by area."""

from django.urls import include, path

from contractor.accounts.views import healthz, home

urlpatterns = [
    path("", home, name="home"),
    path("healthz", healthz, name="healthz"),
    path("", include("contractor.accounts.urls")),
    path("", include("contractor.jobs.urls")),
    path("customers/", include("contractor.customers.urls")),
    path("catalogue/", include("contractor.catalogue.urls")),
    path("", include("contractor.mail.urls")),
    path("", include("contractor.offcuts.urls")),
    path("", include("contractor.rooms.urls")),
    path("", include("contractor.quotes.urls")),
    path("", include("contractor.planning.urls")),
    path("", include("contractor.orders.urls")),
    path("", include("contractor.site.urls")),
    path("", include("contractor.fitting.urls")),
    path("", include("contractor.weeks.urls")),
    path("", include("contractor.soundtests.urls")),
    path("", include("contractor.billing.urls")),
    path("", include("contractor.handover.urls")),
    path("", include("contractor.learning.urls")),
]
