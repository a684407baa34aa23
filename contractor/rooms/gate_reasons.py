"""Why a job's gates are needed, by what its survey found and what its options would build."""

from contractor.jobs.models import Job
from contractor.rooms.inputs import built_treatments, surveyed_rooms
from contractor.rooms.models import Patch
from contractor.rooms.rules import rule_sheet, verdicts


def gate_reasons(job: Job) -> dict[str, list[str]]:
    """Gate kind -> reasons, each with the place it is about, in the order of the survey.

    A fixed number of queries; one for a job without rooms.
    """
    rooms = surveyed_rooms(job)
    if not rooms:
        return {}
    sheet = rule_sheet(job)
    built: dict[int, list] = {}
    for treatment in built_treatments().filter(scheme__job=job, patch__isnull=False):
        built.setdefault(treatment.patch_id, []).append(treatment.build_up)
    reasons: dict[str, list[str]] = {}
    for room in rooms:
        for surface in room.surfaces.all():
            for patch in surface.patches.all() if surface.takes_part else ():
                _add(reasons, f"{room}, {surface}", patch, built.get(patch.pk, []), sheet)
    return reasons


def _add(reasons: dict, where: str, patch: Patch, build_ups: list, sheet) -> None:
    if not patch.depth_limit_mm and not build_ups:
        return
    for build_up in build_ups or [None]:
        for verdict in verdicts(patch, build_up, sheet=sheet):
            if verdict.gate:
                text = f"{where}: {verdict.reason}"
                told = reasons.setdefault(verdict.gate, [])
                if text not in told:
                    told.append(text)
