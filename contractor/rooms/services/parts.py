"""What changes fixtures, and strips left clear."""

from django.core.exceptions import ValidationError
from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.rooms.models import Fixture, Patch, Surface
from contractor.rooms.strips import placed_as, strip_name, strip_shapes


@transaction.atomic
def fixture_save(*, fixture: Fixture) -> Fixture:
    """Save a fixture; strips left clear round it go along."""
    surface = Surface.objects.select_for_update().get(pk=fixture.surface_id)
    fixture.full_clean()
    fixture.save()
    strips_renew(surface=surface)
    return fixture


@transaction.atomic
def fixture_delete(*, fixture: Fixture, user: User) -> None:
    """Take a fixture away, with the strips left clear round it."""
    surface = fixture.surface
    record(user=user, action="fixture deleted", subject=surface.room.job, surface=str(surface), fixture=str(fixture))
    surface.patches.filter(strip_place=f"fixture-{fixture.pk}").delete()
    fixture.delete()


@transaction.atomic
def strip_save(
    *, patch: Patch, place: str, clear_mm: int, reason: str, user: User, instead_of: Patch | None = None
) -> list[Patch]:
    """Leave a strip of `patch` clear; the same place of the same patch is changed, not doubled. One that was at
    another place is taken away with `instead_of`.

    Raises ValidationError, keyed by field, when nothing of the patch lies there or nothing else would be left.
    """
    surface = Surface.objects.select_for_update().get(pk=patch.surface_id)
    patch.surface = surface
    if instead_of is not None and (instead_of.strip_of_id, instead_of.strip_place) != (patch.pk, place):
        alike_strips(instead_of).delete()
    shapes = _shapes(patch, place, clear_mm)
    if not shapes:
        raise ValidationError({"place": "Nothing of this patch lies there, or it is left clear already."})
    strips = _lay(patch, place, clear_mm, reason, shapes)
    record(
        user=user,
        action="strip left clear",
        subject=surface.room.job,
        surface=str(surface),
        width_mm=clear_mm,
        why=Patch.StripReason(reason).label,
    )
    return strips


@transaction.atomic
def strips_renew(*, surface: Surface) -> None:
    """Lay the surface's strips anew where its edge, a patch or a fixture has moved."""
    strips = list(surface.patches.exclude(strip_reason="").select_related("strip_of").order_by("pk"))
    laid = set()
    for strip in strips:
        definition = (strip.strip_of_id, strip.strip_place)
        if definition in laid:
            continue
        laid.add(definition)
        parent = strip.strip_of
        parent.surface = surface
        _lay(
            parent,
            strip.strip_place,
            strip.strip_mm,
            strip.strip_reason,
            _shapes(parent, *definition[1:], strip.strip_mm),
        )


def alike_strips(strip: Patch):
    """The strip with those that the same edge makes beside it."""
    return Patch.objects.filter(strip_of=strip.strip_of_id, strip_place=strip.strip_place)


def _shapes(patch: Patch, place: str, clear_mm: int) -> list:
    others = patch.surface.patches.exclude(strip_reason="").exclude(strip_of=patch, strip_place=place)
    earlier = [other.outline.shape for other in others]
    return strip_shapes(patch, place, clear_mm, beside=earlier)


def _lay(patch: Patch, place: str, clear_mm: int, reason: str, shapes: list) -> list[Patch]:
    """Rows for the shapes: those that there were, in order, then new ones; what is too many goes."""
    rows = list(Patch.objects.filter(strip_of=patch, strip_place=place).order_by("x_mm", "pk"))
    laid = []
    for number, shape in enumerate(shapes):
        strip = rows[number] if number < len(rows) else Patch(surface=patch.surface, strip_of=patch, strip_place=place)
        facts = placed_as(shape) | {
            "name": strip_name(reason),
            "strip_mm": clear_mm,
            "strip_reason": reason,
            "construction_id": patch.construction_id,
            "condition": patch.condition,
        }
        for field, value in facts.items():
            setattr(strip, field, value)
        strip.save()
        laid.append(strip)
    for row in rows[len(shapes) :]:
        row.delete()
    return laid
