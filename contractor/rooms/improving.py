"""A better take-off than the preview, worked out in the background; and how far it is.

One row per scheme says for which inputs somebody is at it. Two workers at once do not both take it; one that died is
followed by another when a page asks next. What comes out is kept only while the inputs are still the same.
"""

import logging
from datetime import timedelta
from decimal import Decimal

from django.conf import settings
from django.db.models import Q, QuerySet
from django.utils import timezone

from contractor.common.background import later
from contractor.rooms.inputs import Inputs, fingerprint, gather
from contractor.rooms.models import Calculation, Improvement, Scheme
from contractor.rooms.prediction.bridge import ENGINE_VERSION
from contractor.rooms.takeoff.document import take_off
from contractor.rooms.takeoff.effort import Effort, full_effort

log = logging.getLogger(__name__)
GRACE = timedelta(seconds=120)  # beyond its time: then whoever was at it is taken for dead


def ask(scheme: Scheme, mark: str) -> bool:
    """Have the take-off of these inputs improved, unless that is under way or failed; True when newly asked for."""
    from contractor.rooms.tasks import improve_takeoff  # the task calls this module

    row, _ = Improvement.objects.get_or_create(scheme=scheme)
    under_way = Q(ended_at__isnull=True, asked_at__gt=timezone.now() - _longest())
    asked = Improvement.objects.filter(pk=row.pk).exclude(Q(fingerprint=mark) & (under_way | ~Q(problem="")))
    fresh = {"fingerprint": mark, "asked_at": timezone.now(), "started_at": None, "ended_at": None, "problem": ""}
    if not asked.update(**fresh, step=""):
        return False
    later(improve_takeoff, scheme.pk)
    return True


def ask_again(scheme: Scheme) -> None:
    """After a failure: forget it, so that the next page asks anew."""
    Improvement.objects.filter(scheme=scheme, ended_at__isnull=False).delete()


def is_preview(scheme: Scheme) -> bool:
    """Whether the take-off that is kept is a preview."""
    return Calculation.objects.filter(scheme=scheme, takeoff__is_preview=True).exists()


def improvement_of(scheme: Scheme) -> Improvement | None:
    return Improvement.objects.filter(scheme=scheme).first()


def improve(scheme_id: int) -> None:
    """Work out the better take-off of a scheme whose take-off is a preview, and keep it. Takes up to its seconds."""
    scheme = Scheme.objects.select_related("job__property__customer").get(pk=scheme_id)
    inputs = gather(scheme)
    mark = fingerprint(inputs, ENGINE_VERSION)
    kept = Calculation.objects.filter(scheme=scheme, fingerprint=mark).first()
    if kept is None or not kept.takeoff.get("is_preview"):
        return
    effort = full_effort(_board_layers(kept.takeoff), settings.TAKEOFF_SECONDS)
    mine = _claim(scheme, mark, effort)
    if mine is None:
        return
    try:
        found = take_off(inputs, effort, lambda step: mine.update(step=step), kept.takeoff)
    except Exception:
        log.exception("The take-off of “%s” could not be improved", scheme)
        mine.update(ended_at=timezone.now(), problem="It could not be worked out further; the preview stands.")
        return
    found["problems"] = _unpredicted(inputs, kept) + found["problems"]
    better = min((found, kept.takeoff | {"is_preview": False}), key=_worth)
    Calculation.objects.filter(pk=kept.pk, fingerprint=mark).update(takeoff=better, made_at=timezone.now())
    mine.update(ended_at=timezone.now())


def _claim(scheme: Scheme, mark: str, effort: Effort) -> QuerySet[Improvement] | None:
    """The row of these inputs, now ours; None where another is at it."""
    row, _ = Improvement.objects.get_or_create(scheme=scheme)
    now = timezone.now()
    taken = Q(fingerprint=mark, started_at__gt=now - _longest(), ended_at__isnull=True)
    seconds = effort.boards_s + effort.lengths_s
    claimed = Improvement.objects.filter(pk=row.pk).exclude(taken)
    if not claimed.update(fingerprint=mark, started_at=now, ended_at=None, seconds=seconds, problem=""):
        return None
    return Improvement.objects.filter(pk=row.pk, fingerprint=mark)


def _board_layers(takeoff: dict) -> int:
    return sum(bool(layer["pieces"]) for face in takeoff["faces"] for layer in face["layers"])


def _longest() -> timedelta:
    return timedelta(seconds=settings.TAKEOFF_SECONDS * 1.25) + GRACE


def _unpredicted(inputs: Inputs, kept: Calculation) -> list[dict]:
    """Problems of the rooms without a prediction, which were told beside the take-off's own."""
    rooms = {room.name for room in inputs.rooms if str(room.pk) not in kept.predictions}
    return [problem for problem in kept.takeoff["problems"] if problem["face"] in rooms]


def _worth(takeoff: dict) -> tuple[int, Decimal, int]:
    """Less is better: faces left out, then cost, then sheets."""
    totals = takeoff["totals"]
    return len(takeoff["problems"]), Decimal(totals["materials_cost"]), totals["sheet_count"]
