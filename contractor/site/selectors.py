"""Reads of what came in from site, and whose job it is to see."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count
from django.http import Http404

from contractor.accounts.models import User
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.site.models import Act, Delivery, Override, SiteNote, SitePhoto, TimeEntry


@dataclass(frozen=True, kw_only=True)
class Log:
    """Everything that was said of a job on site, the newest first."""

    notes: list[SiteNote]
    photos: list[SitePhoto]
    times: list[TimeEntry]
    deliveries: list[Delivery]
    overrides: list[Override]
    trouble: list[Act]

    @property
    def open_snags(self) -> list[SiteNote]:
        return [note for note in self.notes if note.kind == SiteNote.Kind.SNAG and not note.is_done]

    @property
    def hours(self) -> float:
        return sum(entry.minutes for entry in self.times) / 60


def job_on_site(person: User, number: int) -> Job:
    """The job with its home and customer; Http404 for a fitter who has no visit on it."""
    job = job_for(number)
    if not person.works_in_office and not job.visits.filter(people=person).exists():
        raise Http404("There is no such job among yours.")
    return job


def log_of(job: Job) -> Log:
    """Six queries."""
    return Log(
        notes=list(job.site_notes.select_related("by", "act").order_by("-at")),
        photos=list(job.site_photos.select_related("by").order_by("-taken_at")),
        times=list(job.time_entries.select_related("person").order_by("-on_date", "-pk")),
        deliveries=list(job.deliveries.select_related("by").order_by("-at")),
        overrides=list(job.overrides.select_related("by").order_by("-at")),
        trouble=list(
            job.acts.exclude(outcome=Act.Outcome.APPLIED)
            .filter(looked_at=None)
            .select_related("person")
            .order_by("-pk")
        ),
    )


def photo_counts(job: Job) -> dict[str, int]:
    """Photographs by what they are of: those that are here, or that a phone has taken and is still sending."""
    counted = job.site_photos.exclude(about="").values("about").annotate(count=Count("pk"))
    counts = {row["about"]: row["count"] for row in counted.order_by()}
    promised = job.acts.filter(kind="tick", payload__photos__gt=0).values_list("payload__row", "payload__photos")
    for about, count in promised:
        counts[about] = max(counts.get(about, 0), count)
    return counts


def overridden(job: Job) -> dict[str, Override]:
    return {override.row_key: override for override in job.overrides.select_related("by")}


def photo_for(key: UUID) -> SitePhoto:
    try:
        return SitePhoto.objects.select_related("job").get(key=key)
    except SitePhoto.DoesNotExist:
        raise Http404("There is no such photograph.") from None


def act_for(pk: int) -> Act:
    try:
        return Act.objects.select_related("job").get(pk=pk)
    except Act.DoesNotExist:
        raise Http404("There is no such act.") from None
