"""Addresses of the survey, and of what is worked out from it."""

from django.urls import path

from contractor.rooms.urls_found import urlpatterns as found_urls
from contractor.rooms.urls_results import urlpatterns as results_urls
from contractor.rooms.views import surfaces, survey

app_name = "rooms"

room_urls = [
    path("jobs/<int:number>/survey/", survey.survey, name="survey"),
    path("jobs/<int:number>/rooms/new/", survey.room_new, name="room-new"),
    path("rooms/<int:room_id>/", survey.room, name="room"),
    path("rooms/<int:room_id>/edit/", survey.room_edit, name="room-edit"),
    path("rooms/<int:room_id>/delete/", survey.room_delete, name="room-delete"),
    path("rooms/<int:room_id>/side-paths/new/", survey.side_path_new, name="side-path-new"),
    path("side-paths/<int:path_id>/", survey.side_path, name="side-path"),
    path("side-paths/<int:path_id>/delete/", survey.side_path_delete, name="side-path-delete"),
]
surface_urls = [
    path("rooms/<int:room_id>/surfaces/new/", surfaces.surface_new, name="surface-new"),
    path("surfaces/<int:surface_id>/", surfaces.surface, name="surface"),
    path("surfaces/<int:surface_id>/delete/", surfaces.surface_delete, name="surface-delete"),
    path("surfaces/<int:surface_id>/patches/new/", surfaces.patch_new, name="patch-new"),
    path("patches/<int:patch_id>/", surfaces.patch, name="patch"),
    path("patches/<int:patch_id>/delete/", surfaces.patch_delete, name="patch-delete"),
    path("surfaces/<int:surface_id>/openings/new/", surfaces.opening_new, name="opening-new"),
    path("openings/<int:opening_id>/", surfaces.opening, name="opening"),
    path("openings/<int:opening_id>/delete/", surfaces.opening_delete, name="opening-delete"),
]
urlpatterns = room_urls + surface_urls + found_urls + results_urls
