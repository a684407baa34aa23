"""Reads of the offcut store."""

from django.db.models import Count, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.http import Http404

from contractor.jobs.models import Job
from contractor.offcuts.models import JOBS_KEPT, Offcut


def in_store() -> QuerySet[Offcut]:
    """Every offcut in the store with its material, job and `jobs_since`: how many other jobs left theirs after it."""
    later = (
        Offcut.objects.filter(kept_at__gt=OuterRef("kept_at"))
        .exclude(from_job=OuterRef("from_job"))
        .order_by()
        .annotate(together=Value(1))
        .values("together")
        .annotate(jobs=Count("from_job", distinct=True))
        .values("jobs")
    )
    return (
        Offcut.objects.filter(state=Offcut.State.IN_STORE)
        .select_related("material", "from_job", "reserved_for")
        .annotate(jobs_since=Coalesce(Subquery(later), 0))
    )


def why_discard(offcut: Offcut) -> str:
    """Why an offcut of `in_store` is not worth keeping, or nothing. Common practice."""
    if offcut.condition != Offcut.Condition.GOOD:
        return offcut.get_condition_display()
    if offcut.jobs_since > JOBS_KEPT:
        return f"Kept through {offcut.jobs_since} jobs since"
    return ""


def reserved_for(job: Job) -> list[Offcut]:
    """What the job's layouts may use: reserved for it, and still worth using."""
    return [offcut for offcut in in_store().filter(reserved_for=job) if not why_discard(offcut)]


def free_for(job: Job) -> list[Offcut]:
    """What could be reserved for the job, and what is."""
    found = in_store().filter(reserved_for=None) | in_store().filter(reserved_for=job)
    return [offcut for offcut in found if not why_discard(offcut)]


def offcut_for(pk: int) -> Offcut:
    try:
        return Offcut.objects.get(pk=pk)
    except Offcut.DoesNotExist:
        raise Http404("There is no such offcut.") from None
