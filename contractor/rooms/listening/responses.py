"""Clips over HTTP."""

from collections.abc import Iterable, Mapping

from django.http import Http404, HttpRequest, HttpResponse

from contractor.common.ranged import ranged_response
from contractor.rooms.listening import bridge
from contractor.rooms.listening.clips import levels_of

WAV = "audio/wav"
KEPT = "private, max-age=3600"  # by the listener's own browser: pressing play twice need not load it twice


def clip_response(request: HttpRequest, listen: Iterable[Mapping], noise: str, name: str) -> HttpResponse:
    """The clip `name` of a noise of a prediction's `listen` rows; 404 where it has none."""
    levels = levels_of(listen, noise, name)
    if levels is None:
        raise Http404("There is no such sound.")
    try:
        return _sound(request, bridge.played(noise, levels))
    except bridge.CannotPlay:
        raise Http404("This is too loud to be played.") from None


def reference_response(request: HttpRequest) -> HttpResponse:
    return _sound(request, bridge.reference())


def _sound(request: HttpRequest, body: bytes) -> HttpResponse:
    response = ranged_response(request, body, WAV)
    response["Cache-Control"] = KEPT
    return response
