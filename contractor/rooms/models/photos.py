"""Photographs of the survey."""

from django.conf import settings
from django.db import models

from contractor.common.files import under
from contractor.rooms.models.parts import Patch
from contractor.rooms.models.survey import Room, Surface

_path = under("survey")


def photo_path(photo: "Photo", name: str) -> str:
    return _path(name)


class Photo(models.Model):
    """A picture taken in a room, mostly of one surface or a patch on it. Nothing but the picture is in its files."""

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="photos")
    surface = models.ForeignKey(Surface, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos")
    patch = models.ForeignKey(Patch, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos")
    full = models.FileField(upload_to=photo_path)
    small = models.FileField(upload_to=photo_path)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    caption = models.CharField(max_length=120, blank=True)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["room", "pk"]

    def __str__(self) -> str:
        return self.caption or self.shows

    @property
    def shows(self) -> str:
        """What it is of, as far as that was said."""
        if self.patch:
            return f"{self.surface}, {self.patch.name}" if self.surface else self.patch.name
        return str(self.surface or self.room)
