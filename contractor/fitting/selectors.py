"""Reads for the site: whose job it is to see, the day, the pack with its ticks."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import Count, Q, QuerySet
from django.http import Http404
from django.utils import timezone

from contractor.accounts.models import User
from contractor.fitting.left import left_over
from contractor.fitting.models import Tick, WorkPack
from contractor.jobs.models import Job, Visit
from contractor.jobs.selectors import job_for
from contractor.offcuts.models import Offcut
from contractor.offcuts.services import store_label
from contractor.quotes.models import Decision

DAYS_AHEAD = 2


@dataclass(frozen=True, kw_only=True)
class Progress:
    done: int
    total: int

    @property
    def is_complete(self) -> bool:
        return self.total > 0 and self.done >= self.total


@dataclass(frozen=True, kw_only=True)
class Day:
    on_date: date
    visits: list[Visit]


def job_on_site(user: User, number: int) -> Job:
    """The job with its home and customer; Http404 for a fitter who has no visit on it."""
    job = job_for(number)
    if not user.works_in_office and not job.visits.filter(people=user).exists():
        raise Http404("There is no such job among yours.")
    return job


def pack_of(job: Job) -> WorkPack | None:
    return WorkPack.objects.filter(job=job).select_related("revision").defer("revision__internal").first()


def ticks_of(pack: WorkPack) -> dict[str, Tick]:
    """The pack's ticks by key, with who set them."""
    return {tick.key: tick for tick in pack.ticks.select_related("by")}


def parts_left(pack: WorkPack, ticks: dict[str, Tick]) -> tuple[list[dict], list[Offcut]]:
    """(parts of cut sheets and lengths that are not in the store yet, what of this job is there)."""
    kept = list(pack.job.offcuts_left.select_related("material"))
    there = {offcut.label for offcut in kept}
    rows = left_over(pack.document, {key for key, tick in ticks.items() if tick.is_done})
    waiting = [row for row in rows if store_label(pack.job, row["label"]) not in there]
    return waiting, [offcut for offcut in kept if offcut.state == Offcut.State.IN_STORE]


def accepted_decision(job: Job) -> Decision | None:
    """What the homeowner accepted, with its revision and scheme."""
    return (
        Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED)
        .select_related("revision", "scheme")
        .order_by("-at")
        .first()
    )


def _own_visits(user: User) -> QuerySet[Visit]:
    return Visit.objects.filter(people=user)


def days_of(user: User) -> list[Day]:
    """Today, be it empty, and the next days on which the person is sent anywhere. A fixed number of queries."""
    today = timezone.localdate()
    later = _own_visits(user).filter(on_date__gt=today).order_by("on_date").values_list("on_date", flat=True)
    dates = [today, *later.distinct()[:DAYS_AHEAD]]
    visits = (
        Visit.objects.filter(pk__in=_own_visits(user).filter(on_date__in=dates).values("pk"))
        .select_related("job__property__customer")
        .prefetch_related("people", "job__gates")
    )
    by_date = {day: list(found) for day, found in groupby(visits, key=lambda visit: visit.on_date)}
    return [Day(on_date=day, visits=by_date.get(day, [])) for day in dates]


def progress_of(jobs: list[Job]) -> dict[int, Progress]:
    """Steps done of each job that has a pack, by the job's id. One query."""
    done = Count("ticks", filter=Q(ticks__is_done=True, ticks__key__startswith="step:"))
    packs = WorkPack.objects.filter(job__in=jobs).annotate(done=done).values_list("job_id", "done", "step_count")
    return {job_id: Progress(done=done, total=total) for job_id, done, total in packs}
