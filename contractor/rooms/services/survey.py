"""What changes the survey. Every save checks the whole row first and raises ValidationError, keyed by field."""

from django.core.exceptions import ValidationError
from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import Construction
from contractor.rooms.models import Opening, Patch, Room, SidePath, Surface
from contractor.rooms.selectors import usual_junction_length_mm
from contractor.rooms.services.parts import alike_strips, strips_renew


@transaction.atomic
def room_delete(*, room: Room, user: User) -> None:
    record(user=user, action="room deleted", subject=room.job, room=room.name)
    room.delete()


@transaction.atomic
def surface_save(
    *,
    surface: Surface,
    construction: Construction | None = None,
    condition: str = Patch.Condition.SOUND,
    depth_limit_mm: int | None = None,
) -> Surface:
    """Save a surface and, where its construction is known, the patch that covers what no other does.

    Raises ValidationError for a surface that takes part without a construction.
    """
    if surface.takes_part and construction is None and not _has_rest(surface):
        raise ValidationError({"construction": "Say what it is built of."})
    if surface.role == Surface.Role.FLANKING and not surface.junction_length_mm:
        surface.junction_length_mm = usual_junction_length_mm(surface)
    surface.full_clean()
    surface.save()
    if construction is not None:
        rest = Patch.objects.filter(surface=surface, is_rest=True).first() or Patch(
            surface=surface, is_rest=True, name=f"Whole {surface.get_face_display().lower()}"
        )
        rest.construction, rest.condition, rest.depth_limit_mm = construction, condition, depth_limit_mm
        rest.full_clean()
        rest.save()
    strips_renew(surface=surface)
    return surface


def _has_rest(surface: Surface) -> bool:
    return surface.pk is not None and surface.patches.filter(is_rest=True).exists()


@transaction.atomic
def surface_delete(*, surface: Surface, user: User) -> None:
    record(user=user, action="surface deleted", subject=surface.room.job, room=surface.room.name, surface=str(surface))
    surface.delete()


@transaction.atomic
def patch_save(*, patch: Patch) -> Patch:
    """Save a patch; the rest becomes "Rest of the wall" with the first patch cut out of it."""
    # The lock keeps two people from placing patches over each other at the same time.
    Surface.objects.select_for_update().get(pk=patch.surface_id)
    patch.full_clean()
    patch.save()
    face = patch.surface.get_face_display().lower()
    Patch.objects.filter(surface=patch.surface, is_rest=True, name=f"Whole {face}").update(name=f"Rest of the {face}")
    strips_renew(surface=patch.surface)
    return patch


@transaction.atomic
def patch_delete(*, patch: Patch, user: User) -> None:
    """Take a patch away; what it covered belongs to the rest again. The rest itself stays."""
    if patch.is_rest:
        raise ValidationError("The rest of a surface cannot be deleted.")
    surface = patch.surface
    record(user=user, action="patch deleted", subject=surface.room.job, surface=str(surface), patch=patch.name)
    if patch.is_strip:
        alike_strips(patch).delete()
    else:
        patch.delete()
    face = surface.get_face_display().lower()
    if not surface.patches.filter(is_rest=False, strip_reason="").exists():
        surface.patches.filter(name=f"Rest of the {face}").update(name=f"Whole {face}")
    strips_renew(surface=surface)


@transaction.atomic
def opening_save(*, opening: Opening) -> Opening:
    Surface.objects.select_for_update().get(pk=opening.surface_id)
    opening.full_clean()
    opening.save()
    return opening


@transaction.atomic
def opening_delete(*, opening: Opening, user: User) -> None:
    surface = opening.surface
    record(user=user, action="opening deleted", subject=surface.room.job, surface=str(surface), opening=str(opening))
    opening.delete()


@transaction.atomic
def side_path_save(*, side_path: SidePath) -> SidePath:
    side_path.full_clean()
    side_path.save()
    return side_path


@transaction.atomic
def side_path_delete(*, side_path: SidePath, user: User) -> None:
    record(user=user, action="side path deleted", subject=side_path.room.job, side_path=side_path.name)
    side_path.delete()
