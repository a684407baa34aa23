"""Addresses of what a survey found: condition, rules, photographs."""

from django.urls import path

from contractor.rooms.views import photos

urlpatterns = [
    path("rooms/<int:room_id>/photos/", photos.photos, name="photos"),
    path("photos/<int:photo_id>/", photos.photo, name="photo"),
    path("photos/<int:photo_id>/picture.jpg", photos.photo_full, name="photo-full"),
    path("photos/<int:photo_id>/small.jpg", photos.photo_small, name="photo-small"),
    path("photos/<int:photo_id>/delete/", photos.photo_delete, name="photo-delete"),
]
