"""Reads of sound tests beside what was promised."""

from collections.abc import Mapping

from contractor.learning.accepted import accepted_options
from contractor.learning.differences import Case
from contractor.rooms.models import Room, Surface
from contractor.soundtests.models import Kind, SoundTest

NOT_KNOWN = "Not known any more"
UNTREATED = "Nothing built on it"


def cases() -> tuple[list[Case], int]:
    """Every airborne test by the standard in a job whose quote was accepted, and how many such tests had no promise.

    Of several in one room, from one source room and at one moment the latest counts. The number of queries is fixed.
    """
    tests = (
        SoundTest.objects.filter(basis=SoundTest.Basis.STANDARD, kind=Kind.AIRBORNE)
        .select_related("room", "job")
        .prefetch_related("room__surfaces__patches__construction")
        .defer("readings")
        .order_by("measured_on", "pk")
    )
    latest = {(t.job_id, t.room_id, t.source_room.strip().lower(), t.moment): t for t in tests}
    promised = accepted_options(test.job_id for test in latest.values())
    found = [_case(test, promised.get(test.job_id, {})) for test in latest.values()]
    kept = [case for case in found if case]
    return kept, len(found) - len(kept)


def _case(test: SoundTest, promise: Mapping) -> Case | None:
    predicted = promise.get("predictions", {}).get(str(test.room_id)) if test.room_id else None
    if not predicted or not predicted[test.moment]["uncertainty_db"]:
        return None
    side = predicted[test.moment]
    separating = [s for s in test.room.surfaces.all() if s.role == Surface.Role.SEPARATING]
    return Case(
        job_number=test.job.number,
        room_id=test.room_id,
        room=test.room.name,
        source_room=test.source_room,
        moment=test.moment,
        measured_db=test.result["weighted_db"],
        predicted_db=side["weighted_db"],
        # What was stated may have been widened by an earlier factor: the rule asks about the model's own.
        uncertainty_db=side["uncertainty_db"] / predicted.get("uncertainty_factor", 1.0),
        construction=_construction(separating),
        build_up=_build_up(test.room, separating, promise["faces"]),
    )


def _construction(separating: list[Surface]) -> str:
    """What most of the separating surface is built of, as surveyed: its patch that is the rest."""
    names = [p.construction.name for s in separating for p in s.patches.all() if p.is_rest and p.construction]
    return names[0] if names else NOT_KNOWN


def _build_up(room: Room, separating: list[Surface], faces: list[Mapping]) -> str:
    """What was promised to be built on the separating surface, the largest face first."""
    letters = {surface.letter for surface in separating}
    on_it = [f for f in faces if f["room"] == room.name and f["surface"] in letters and not f["problem"]]
    return max(on_it, key=lambda face: float(face["area_m2"] or 0))["build_up"] if on_it else UNTREATED
