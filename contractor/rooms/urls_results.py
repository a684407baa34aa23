"""Addresses of treatments, predictions and the take-off."""

from django.urls import path

from contractor.rooms.views import listening, results

scheme_urls = [
    path("jobs/<int:number>/treatment/", results.schemes, name="schemes"),
    path("jobs/<int:number>/treatment/new/", results.scheme_new, name="scheme-new"),
    path("schemes/<int:scheme_id>/", results.scheme, name="scheme"),
    path("schemes/<int:scheme_id>/preview/", results.scheme_preview, name="scheme-preview"),
    path("schemes/<int:scheme_id>/delete/", results.scheme_delete, name="scheme-delete"),
]

result_urls = [
    path("schemes/<int:scheme_id>/prediction/", results.prediction, name="prediction"),
    path("schemes/<int:scheme_id>/take-off/", results.takeoff, name="takeoff"),
]

listening_urls = [
    path("listen/level.wav", listening.reference, name="listen-reference"),
    path("schemes/<int:scheme_id>/listen/<slug:room>/<slug:noise>/<slug:name>.wav", listening.clip, name="listen"),
]

urlpatterns = scheme_urls + result_urls + listening_urls
