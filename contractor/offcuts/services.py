"""What changes the offcut store."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import Material
from contractor.jobs.models import Job
from contractor.offcuts.models import Offcut

State = Offcut.State


@dataclass(frozen=True, kw_only=True)
class Left:
    """What is left of one sheet or length of a job, as it goes into the store. `label` is unique within the job."""

    label: str
    material: Material
    length_mm: int
    width_mm: int | None = None
    condition: str = Offcut.Condition.GOOD


class Taken(Exception):
    """Another job has some of these by now; the message names them."""


def store_label(job: Job, label: str) -> str:
    """The label in the store: the job's number before the job's own label, room-sheet-number."""
    return f"{job.number}/{label}"


@transaction.atomic
def keep(*, job: Job, left: Iterable[Left], by: User) -> list[Offcut]:
    """Put what is left of a job into the store; what is there already stays as it is. Returns what is new."""
    kept = []
    for each in left:
        sides = sorted((each.length_mm, each.width_mm or 0))
        offcut, is_new = Offcut.objects.get_or_create(
            label=store_label(job, each.label),
            defaults={
                "from_job": job,
                "material": each.material,
                "length_mm": sides[1],
                "width_mm": sides[0] or None,
                "condition": each.condition,
            },
        )
        if is_new:
            kept.append(offcut)
    if kept:
        record(user=by, action="Offcuts put into store", subject=job, labels=[offcut.label for offcut in kept])
    return kept


@transaction.atomic
def reserve(*, job: Job, offcuts: Iterable[Offcut], by: User) -> None:
    """Reserve exactly these for the job; what it had and is not among them is free again. Raises Taken."""
    wanted = {offcut.pk for offcut in offcuts}
    Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
    locked = list(
        Offcut.objects.select_for_update(of=("self",)).filter(pk__in=wanted, state=State.IN_STORE).order_by("pk")
    )
    theirs = [o.label for o in locked if o.reserved_for_id not in (None, job.pk)]
    if theirs or len(locked) < len(wanted):
        raise Taken(f"Another job has {', '.join(theirs)} by now." if theirs else "Some of these are gone by now.")
    Offcut.objects.filter(reserved_for=job, state=State.IN_STORE).exclude(pk__in=wanted).update(reserved_for=None)
    Offcut.objects.filter(pk__in=wanted).update(reserved_for=job)
    record(user=by, action="Offcuts reserved", subject=job, labels=[offcut.label for offcut in locked])


@transaction.atomic
def release(*, job: Job, by: User | None) -> None:
    """Free what is reserved for the job and not cut up."""
    reserved = Offcut.objects.filter(reserved_for=job, state=State.IN_STORE)
    labels = sorted(reserved.values_list("label", flat=True))
    if labels and reserved.update(reserved_for=None):
        record(user=by, action="Offcuts free again", subject=job, labels=labels)


@transaction.atomic
def give_back(*, job: Job, labels: Iterable[str], by: User) -> None:
    """Free these of what the job has reserved and not cut up: its cut list has no use for them any more."""
    unused = Offcut.objects.filter(reserved_for=job, label__in=list(labels), state=State.IN_STORE)
    freed = sorted(unused.values_list("label", flat=True))
    if freed and unused.update(reserved_for=None):
        record(user=by, action="Offcuts free again", subject=job, labels=freed)


@transaction.atomic
def use(*, job: Job, labels: Iterable[str], by: User) -> None:
    """Say that these, reserved for the job, are cut up."""
    found = Offcut.objects.filter(reserved_for=job, label__in=list(labels), state=State.IN_STORE)
    gone = sorted(found.values_list("label", flat=True))
    if gone and found.update(state=State.USED, gone_at=timezone.now()):
        record(user=by, action="Offcuts used", subject=job, labels=gone)


@transaction.atomic
def discard(*, offcut: Offcut, by: User) -> bool:
    """Throw one away; False where it has gone already."""
    found = Offcut.objects.filter(pk=offcut.pk, state=State.IN_STORE)
    if not found.update(state=State.DISCARDED, reserved_for=None, gone_at=timezone.now()):
        return False
    record(user=by, action="Offcut discarded", subject=offcut, label=offcut.label)
    return True
