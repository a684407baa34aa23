"""Why a job's gates are needed, by what its survey found and what its options would build."""

from collections.abc import Iterator

from contractor.jobs.cautions import reasons_for_need
from contractor.jobs.models import Job
from contractor.rooms.inputs import built_treatments, surveyed_rooms
from contractor.rooms.models import Patch
from contractor.rooms.rules import RuleSheet, Verdict, rule_sheet, verdicts


def gate_reasons(job: Job) -> dict[str, list[str]]:
    """Gate kind -> reasons, each with the places it is about, in the order of the survey.

    A fixed number of queries; one for a job without rooms.
    """
    rooms = surveyed_rooms(job)
    if not rooms:
        return {}
    sheet = rule_sheet(job)
    built: dict[int, list] = {}
    for treatment in built_treatments().filter(scheme__job=job, patch__isnull=False):
        built.setdefault(treatment.patch_id, []).append(treatment.build_up)
    places: dict[tuple[str, str], list[str]] = {}  # by gate and reason, in the order met
    for room in rooms:
        for surface in room.surfaces.all():
            for patch in surface.patches.all() if surface.takes_part else ():
                for verdict in _gates(patch, built.get(patch.pk, []), sheet):
                    told = places.setdefault((verdict.gate, verdict.reason), [])
                    told.append(f"{room}, {surface}")
    reasons: dict[str, list[str]] = {}
    for (gate, reason), where in places.items():
        reasons.setdefault(gate, []).append(f"{reason} In: {'; '.join(dict.fromkeys(where))}.")
    return reasons


def _gates(patch: Patch, build_ups: list, sheet: RuleSheet) -> Iterator[Verdict]:
    """What asks for a gate on a patch that is built on, whatever the home alone has asked for already."""
    if not patch.depth_limit_mm and not build_ups:
        return
    of_the_home = reasons_for_need(sheet.home)
    for build_up in build_ups or [None]:
        for verdict in verdicts(patch, build_up, sheet=sheet):
            if verdict.gate and not (verdict.is_of_home and verdict.gate in of_the_home):
                yield verdict
