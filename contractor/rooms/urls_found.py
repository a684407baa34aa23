"""Addresses of what a survey found: condition, rules, photographs."""

from django.urls import path

from contractor.rooms.views import found, photos, rules

urlpatterns = [
    path("rules/", rules.rules, name="rules"),
    path("rules/new/", rules.rule_new, name="rule-new"),
    path("rules/<slug:key>/", rules.rule, name="rule"),
    path("rules/<slug:key>/restore/", rules.rule_restore, name="rule-restore"),
    path("surfaces/<int:surface_id>/condition/", found.condition, name="condition"),
    path("surfaces/<int:surface_id>/patches/<int:patch_id>/rules/<slug:key>/", found.rule_aside, name="rule-aside"),
    path("openings/<int:opening_id>/rules/<slug:key>/", found.opening_rule_aside, name="opening-rule-aside"),
    path("side-paths/<int:path_id>/rules/<slug:key>/", found.side_path_rule_aside, name="side-path-rule-aside"),
    path("overrides/<int:override_id>/withdraw/", found.override_withdraw, name="override-withdraw"),
    path("rooms/<int:room_id>/photos/", photos.photos, name="photos"),
    path("photos/<int:photo_id>/", photos.photo, name="photo"),
    path("photos/<int:photo_id>/picture.jpg", photos.photo_full, name="photo-full"),
    path("photos/<int:photo_id>/small.jpg", photos.photo_small, name="photo-small"),
    path("photos/<int:photo_id>/delete/", photos.photo_delete, name="photo-delete"),
]
