"""Addresses of treatments, predictions and the take-off."""

from django.urls import path

from contractor.rooms.views import diagnosis, listening, results, takeoff

scheme_urls = [
    path("jobs/<int:number>/diagnosis/", diagnosis.diagnosis, name="diagnosis"),
    path("jobs/<int:number>/treatment/", results.schemes, name="schemes"),
    path("jobs/<int:number>/treatment/new/", results.scheme_new, name="scheme-new"),
    path("schemes/<int:scheme_id>/", results.scheme, name="scheme"),
    path("schemes/<int:scheme_id>/preview/", results.scheme_preview, name="scheme-preview"),
    path("schemes/<int:scheme_id>/delete/", results.scheme_delete, name="scheme-delete"),
]

result_urls = [
    path("schemes/<int:scheme_id>/prediction/", results.prediction, name="prediction"),
    path("schemes/<int:scheme_id>/take-off/", takeoff.takeoff, name="takeoff"),
    path("schemes/<int:scheme_id>/take-off/state/", takeoff.takeoff_state, name="takeoff-state"),
    path("schemes/<int:scheme_id>/take-off/again/", takeoff.takeoff_again, name="takeoff-again"),
]

listening_urls = [
    path("listen/level.wav", listening.reference, name="listen-reference"),
    path("schemes/<int:scheme_id>/listen/<slug:room>/<slug:noise>/<slug:name>.wav", listening.clip, name="listen"),
]

urlpatterns = scheme_urls + result_urls + listening_urls
