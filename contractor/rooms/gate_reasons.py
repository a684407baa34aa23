"""Why a job's gates are needed, by what its survey found and what its options would build."""

from collections.abc import Iterator

from contractor.jobs.cautions import reasons_for_need
from contractor.jobs.models import Job
from contractor.rooms.inputs import built_treatments, surveyed_rooms
from contractor.rooms.models import Room
from contractor.rooms.rules import RuleSheet, Verdict, rule_sheet, verdicts
from contractor.rooms.rules.sheet import RuledPlace, place_key


def gate_reasons(job: Job) -> dict[str, list[str]]:
    """Gate kind -> reasons, each with the places it is about, in the order of the survey.

    A fixed number of queries; one for a job without rooms.
    """
    rooms = surveyed_rooms(job)
    if not rooms:
        return {}
    sheet = rule_sheet(job)
    built: dict[str, list] = {}
    for treatment in built_treatments().filter(scheme__job=job).select_related("patch", "opening", "side_path"):
        built.setdefault(place_key(treatment.place), []).append(treatment.build_up)
    places: dict[tuple[str, str], list[str]] = {}  # by gate and reason, in the order met
    for room in rooms:
        for place, where in _places_of(room):
            for verdict in _gates(place, built.get(place_key(place), []), sheet):
                places.setdefault((verdict.gate, verdict.reason), []).append(f"{room}, {where}")
    reasons: dict[str, list[str]] = {}
    for (gate, reason), where in places.items():
        reasons.setdefault(gate, []).append(f"{reason} In: {'; '.join(dict.fromkeys(where))}.")
    return reasons


def _places_of(room: Room) -> Iterator[tuple[RuledPlace, str]]:
    """What the rules are weighed on, with where it is told to be: a patch on its surface."""
    for surface in room.surfaces.all():
        for patch in surface.patches.all() if surface.takes_part else ():
            yield patch, str(surface)
        for opening in surface.openings.all():
            yield opening, f"{surface}, {opening}"
    for path in room.side_paths.all():
        yield path, str(path)


def _gates(place: RuledPlace, build_ups: list, sheet: RuleSheet) -> Iterator[Verdict]:
    """What asks for a gate on a place that is built on, whatever the home alone has asked for already."""
    if not build_ups and not getattr(place, "depth_limit_mm", None):
        return
    of_the_home = reasons_for_need(sheet.home)
    for build_up in build_ups or [None]:
        for verdict in verdicts(place, build_up, sheet=sheet):
            if verdict.gate and not (verdict.is_of_home and verdict.gate in of_the_home):
                yield verdict
