"""Addresses of the survey, and of what is worked out from it."""

from django.urls import path

from contractor.rooms.urls_found import urlpatterns as found_urls
from contractor.rooms.urls_results import urlpatterns as results_urls
from contractor.rooms.views import parts, surfaces, survey, walk

app_name = "rooms"

room_urls = [
    path("jobs/<int:number>/survey/", survey.survey, name="survey"),
    path("jobs/<int:number>/rooms/new/", walk.room_new, name="room-new"),
    path("rooms/<int:room_id>/", survey.room, name="room"),
    path("rooms/<int:room_id>/edit/", walk.room_edit, name="room-edit"),
    path("rooms/<int:room_id>/delete/", survey.room_delete, name="room-delete"),
    path("rooms/<int:room_id>/side-paths/new/", survey.side_path_new, name="side-path-new"),
    path("side-paths/<int:path_id>/", survey.side_path, name="side-path"),
    path("side-paths/<int:path_id>/delete/", survey.side_path_delete, name="side-path-delete"),
]
surface_urls = [
    path("rooms/<int:room_id>/surfaces/new/", surfaces.surface_new, name="surface-new"),
    path("surfaces/<int:surface_id>/", surfaces.surface, name="surface"),
    path("surfaces/<int:surface_id>/delete/", surfaces.surface_delete, name="surface-delete"),
    path("surfaces/<int:surface_id>/patches/new/", parts.patch_new, name="patch-new"),
    path("patches/<int:patch_id>/", parts.patch, name="patch"),
    path("patches/<int:patch_id>/delete/", parts.patch_delete, name="patch-delete"),
    path("surfaces/<int:surface_id>/openings/new/", parts.opening_new, name="opening-new"),
    path("openings/<int:opening_id>/", parts.opening, name="opening"),
    path("openings/<int:opening_id>/delete/", parts.opening_delete, name="opening-delete"),
    path("surfaces/<int:surface_id>/fixtures/new/", parts.fixture_new, name="fixture-new"),
    path("fixtures/<int:fixture_id>/", parts.fixture, name="fixture"),
    path("fixtures/<int:fixture_id>/delete/", parts.fixture_delete, name="fixture-delete"),
    path("surfaces/<int:surface_id>/strips/new/", parts.strip_new, name="strip-new"),
]
urlpatterns = room_urls + surface_urls + found_urls + results_urls
