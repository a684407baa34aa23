"""Reads of what the survey found on a surface: its tap test, photographs, and what was set aside of the rules."""

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from contractor.rooms.models import Finding, Patch, Photo, Room, RuleOverride, Surface


def finding_of(surface: Surface) -> Finding:
    """What is known of the surface; an unsaved, empty finding where nothing is yet. One query."""
    return Finding.objects.filter(surface=surface).first() or Finding(surface=surface)


def photos_of(room: Room, surface: Surface | None = None) -> QuerySet[Photo]:
    """The room's photographs, or those of one surface, with what each is of. One query."""
    photos = Photo.objects.filter(room=room).select_related("room", "surface", "patch")
    return photos if surface is None else photos.filter(surface=surface)


def photo_for(photo_id: int) -> Photo:
    """A photo with its room, job and customer; 404 if there is none."""
    related = ("room__job__property__customer", "surface", "patch", "added_by")
    return get_object_or_404(Photo.objects.select_related(*related), pk=photo_id)


def patch_on(surface: Surface, patch_id: int) -> Patch:
    """A patch of this surface, the rest too; 404 if there is none."""
    for patch in surface.patches.all():
        if patch.pk == patch_id:
            return patch
    raise Http404("There is no such patch on this surface.")


def past_overrides(surface: Surface) -> QuerySet[RuleOverride]:
    """Every rule set aside on the surface, withdrawn ones too, oldest first. One query."""
    return RuleOverride.objects.filter(patch__surface=surface).select_related("by", "patch")
