"""What a survey lacks before a price is safe, and what it found that a careful surveyor would point out."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from contractor.catalogue.models import Construction
from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Opening, Patch, Room, Surface

# The bounds below are common practice in the trade.
SHALLOW_MM = 40
OUT_OF_TRUE_MM = 10
OPENINGS_THAT_PASS_SOUND = {Opening.Kind.DOOR, Opening.Kind.WINDOW, Opening.Kind.HATCH}


@dataclass(frozen=True)
class Gap:
    """One thing missing, and the page that mends it."""

    text: str
    url: str


def gaps_of(rooms: Iterable[Room]) -> list[Gap]:
    """Reads only what is prefetched on the rooms: surfaces with patches and openings."""
    rooms = list(rooms)
    if not rooms:
        return [Gap("No room yet: add the room in which the noise is heard.", "")]
    return [gap for room in rooms for gap in room_gaps(room)]


def room_gaps(room: Room) -> list[Gap]:
    surfaces = list(room.surfaces.all())
    roles = {surface.role for surface in surfaces}
    page = reverse("rooms:room", args=[room.pk])
    gaps = []
    if Surface.Role.SEPARATING not in roles:
        gaps.append(Gap(f"{room}: say which surface lies between us and the noise.", page))
    if Surface.Role.FLANKING not in roles:
        gaps.append(Gap(f"{room}: say which walls, ceiling or floor run past it. They limit the result.", page))
    for surface in surfaces:
        if surface.takes_part:
            gaps += _surface_gaps(room, surface)
    return gaps


def _surface_gaps(room: Room, surface: Surface) -> list[Gap]:
    patches = list(surface.patches.all())
    page = reverse("rooms:surface", args=[surface.pk])
    where = f"{room}, {surface}"
    gaps = []
    if not any(patch.is_rest for patch in patches):
        gaps.append(Gap(f"{where}: say what it is built of.", page))
    if surface.role == Surface.Role.FLANKING:
        return gaps
    if patches and all(patch.depth_limit_mm is None for patch in patches):
        gaps.append(Gap(f"{where}: ask what depth the customer will give.", page))
    for opening in surface.openings.all():
        if opening.kind in OPENINGS_THAT_PASS_SOUND and opening.construction_id is None:
            kind = opening.get_kind_display().lower()
            gaps.append(Gap(f"{where}: say what the {kind} is made of.", reverse("rooms:opening", args=[opening.pk])))
    return gaps


def mismatches(room: Room) -> list[str]:
    """Where the sizes of walls, ceiling and floor do not agree with the room's: by how much, and at which corner."""
    sides = {"A": ("length", "B"), "B": ("width", "C"), "C": ("length", "D"), "D": ("width", "A")}
    found = []
    for surface in room.surfaces.all():
        if surface.face == Surface.Face.WALL:
            name, corner = sides.get(surface.letter, ("", ""))
            checks = [(surface.length_mm, name, f"at the corner with {corner}")] if name else []
            checks.append((surface.height_mm, "height", "from floor to ceiling"))
        else:
            checks = [(surface.length_mm, "length", "along wall A"), (surface.height_mm, "width", "along wall B")]
        for measured_mm, name, where in checks:
            off_mm = measured_mm - getattr(room, f"{name}_mm")
            if off_mm:
                more = "more" if off_mm > 0 else "less"
                found.append(f"{surface}: {mm(abs(off_mm))} {more} than the room's {name}. Measure again {where}.")
    return found


def warnings_for(surface: Surface) -> list[str]:
    """What the survey of a surface means for the work, in the order in which it would be dealt with.

    Rules of common practice. Reads the surface's patches with their constructions, and its openings.
    """
    patches = list(surface.patches.all())
    treated = [patch for patch in patches if patch.depth_limit_mm]
    if not surface.takes_part or not treated:
        return []
    found = [_condition_warning(patch) for patch in treated]
    found += [
        f"{patch.name}: {patch.depth_limit_mm} mm is slim. Expect help with speech, little with bass."
        for patch in treated
        if patch.depth_limit_mm < SHALLOW_MM
    ]
    if surface.boxes:
        found.append("Move sockets and switches off this surface where you can, else back each with a sealed box.")
    if surface.out_of_true_mm > OUT_OF_TRUE_MM:
        found.append("Out of true by more than 10 mm: a free-standing frame or packed supports, and more hours.")
    return list(dict.fromkeys(text for text in found if text))


def _condition_warning(patch: Patch) -> str:
    if patch.condition == Patch.Condition.EXISTING_LINING:
        return f"{patch.name}: an old lining with a void comes off, or a third leaf forms and the bass gets worse."
    if patch.condition == Patch.Condition.BOARD_ON_DABS:
        return f"{patch.name}: board on dabs rings like a drum. It comes off before anything is built in front."
    light = {Patch.Condition.BOARD, Patch.Condition.LATH}
    if patch.condition in light and patch.construction.kind == Construction.Kind.WALL:
        return f"{patch.name}: a light base rings. Damp it before or within the lining."
    return ""
