"""What a survey lacks before a price is safe, and what it found that a careful surveyor would point out."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from contractor.common.templatetags.wording import mm
from contractor.customers.models import Property
from contractor.jobs.models import Job
from contractor.rooms.models import Opening, Patch, Room, Rule, Surface
from contractor.rooms.rules import RuleSheet, verdicts
from contractor.rooms.rules.facts import HOLLOW_BY_WORD

OPENINGS_THAT_PASS_SOUND = {Opening.Kind.DOOR, Opening.Kind.WINDOW, Opening.Kind.HATCH}


@dataclass(frozen=True)
class Gap:
    """One thing missing, and the page that mends it."""

    text: str
    url: str


def gaps_of(job: Job, rooms: Iterable[Room]) -> list[Gap]:
    """Of the job, then room by room. Reads the job's home and noises, and what is prefetched on the rooms: surfaces
    with their findings, patches, openings."""
    rooms = list(rooms)
    found = _job_gaps(job)
    if not rooms:
        new = reverse("rooms:room-new", args=[job.number])
        return [*found, Gap("No room yet: add the room in which the noise is heard.", new)]
    return found + [gap for room in rooms for gap in room_gaps(room)]


def _job_gaps(job: Job) -> list[Gap]:
    home = job.property
    mend = reverse("customers:property-edit", args=[home.pk])
    gaps = []
    if not job.noises.exists():
        gaps.append(Gap("No noise yet: note what is heard.", reverse("jobs:noise-new", args=[job.number])))
    if home.built == Property.Built.UNKNOWN:
        gaps.append(Gap("Ask when the home was built: before 2000 asbestos is looked for first.", mend))
    if home.tenure == Property.Tenure.UNKNOWN:
        gaps.append(Gap("Ask whether the home is owned, leased or rented: someone's consent may be needed.", mend))
    return gaps


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
    if _is_unsounded(surface, patches):
        sound = reverse("rooms:condition", args=[surface.pk])
        gaps.append(Gap(f"{where}: knock on the plaster. How much of it is hollow is a guess so far.", sound))
    if patches and all(patch.depth_limit_mm is None for patch in patches):
        gaps.append(Gap(f"{where}: ask what depth the customer will give.", page))
    for opening in surface.openings.all():
        if opening.kind in OPENINGS_THAT_PASS_SOUND and opening.construction_id is None:
            kind = opening.get_kind_display().lower()
            gaps.append(Gap(f"{where}: say what the {kind} is made of.", reverse("rooms:opening", args=[opening.pk])))
    return gaps


def _is_unsounded(surface: Surface, patches: list[Patch]) -> bool:
    """Whether something is to be built on plaster that nobody has knocked on. Reads the surface's finding."""
    finding = getattr(surface, "finding", None)
    if finding is not None and finding.was_tapped:
        return False
    return any(patch.depth_limit_mm and patch.condition in HOLLOW_BY_WORD for patch in patches)


def mismatches(room: Room) -> list[str]:
    """Where the sizes of walls, ceiling and floor do not agree with the room's: by how much, and at which corner.
    Those of a room that was walked round follow from its walk."""
    if room.outline:
        return []
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


def warnings_for(surface: Surface, sheet: RuleSheet) -> list[str]:
    """What the rules warn of on a surface that is built on, each sentence once. Reads what `verdicts` reads."""
    if not surface.takes_part:
        return []
    treated = [patch for patch in surface.patches.all() if patch.depth_limit_mm]
    found = [verdict for patch in treated for verdict in verdicts(patch, sheet=sheet)]
    return list(dict.fromkeys(v.reason for v in found if v.kind == Rule.Effect.WARN and v.counts))
