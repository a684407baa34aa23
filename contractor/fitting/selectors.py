"""Reads for the site: whose job it is to see, the day, the pack with its ticks."""

import re
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import Count, Q, QuerySet
from django.http import Http404
from django.utils import timezone

from contractor.accounts.models import User
from contractor.fitting.left import left_over
from contractor.fitting.locks import GOES_WRONG, Evidence, asked_of, locks_of
from contractor.fitting.models import Tick, WorkPack
from contractor.jobs.models import Job, Visit
from contractor.offcuts.models import Offcut
from contractor.offcuts.services import store_label
from contractor.quotes.models import Decision
from contractor.rooms.models import Patch, Photo
from contractor.site import selectors as site
from contractor.site.selectors import job_on_site

__all__ = ["job_on_site"]
DAYS_AHEAD = 2
PATCH_KEY = re.compile(r"p(\d+)-")  # a face is named after the patch of the survey that it covers


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


def pack_of(job: Job) -> WorkPack | None:
    found = WorkPack.objects.filter(job=job).select_related("revision").defer("revision__internal").first()
    if found is not None:
        found.job = job  # loaded already, with its home and customer
    return found


def ticks_of(pack: WorkPack) -> dict[str, Tick]:
    """The pack's ticks by key, with who set them."""
    return {tick.key: tick for tick in pack.ticks.select_related("by")}


@dataclass(frozen=True, kw_only=True)
class Holds:
    """What is closed, by row key with the hold point that closes it; photographs asked for and there by hold point."""

    locks: dict[str, dict]
    asked: dict[str, int]
    evidence: Evidence
    passed: dict
    list: tuple[str, ...] = GOES_WRONG


def holds_of(pack: WorkPack, ticks: dict[str, Tick]) -> Holds:
    """Three queries."""
    passed = site.overridden(pack.job)
    evidence = Evidence(photos=site.photo_counts(pack.job), passed=frozenset(passed))
    done = {key for key, tick in ticks.items() if tick.is_done}
    return Holds(
        locks=locks_of(pack.document, done, evidence),
        asked={key: count for face in pack.document["faces"] for key, count in asked_of(face).items()},
        evidence=evidence,
        passed=passed,
    )


def parts_left(pack: WorkPack, ticks: dict[str, Tick]) -> tuple[list[dict], list[Offcut]]:
    """(parts of cut sheets and lengths that are not in the store yet, what of this job is there)."""
    kept = list(pack.job.offcuts_left.select_related("material"))
    there = {offcut.label for offcut in kept}
    rows = left_over(pack.document, {key for key, tick in ticks.items() if tick.is_done})
    waiting = [row for row in rows if store_label(pack.job, row["label"]) not in there]
    return waiting, [offcut for offcut in kept if offcut.state == Offcut.State.IN_STORE]


def survey_photos(pack: WorkPack) -> dict[str, list[Photo]]:
    """What the survey photographed of each face's surface, by the face's key; what is of another patch of it is left
    out. Two queries."""
    patches = {face["key"]: int(found[1]) for face in pack.document["faces"] if (found := PATCH_KEY.match(face["key"]))}
    on = Patch.objects.filter(pk__in=patches.values(), surface__room__job=pack.job_id).values_list("pk", "surface_id")
    surfaces = dict(on)
    photos = Photo.objects.filter(surface__in=surfaces.values()).select_related("room", "surface", "patch")
    taken = list(photos) if surfaces else []
    return {
        key: [photo for photo in taken if photo.surface_id == surfaces.get(patch) and photo.patch_id in (None, patch)]
        for key, patch in patches.items()
    }


def survey_photo_for(job: Job, photo_id: int) -> Photo:
    """A photograph of this job's survey; Http404 for any other."""
    found = Photo.objects.filter(pk=photo_id, room__job=job).first()
    if found is None:
        raise Http404("There is no such photograph.")
    return found


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
