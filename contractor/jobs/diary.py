"""The household's diary of what they hear: its links, and what they write."""

from datetime import timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.http import Http404
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.common.links import new_token, token_hash
from contractor.jobs.models import DiaryEntry, DiaryLink, Job, NoiseHeard
from contractor.jobs.services import noise_save
from contractor.jobs.week import told_times

OPEN_FOR = timedelta(days=28)
MOST_A_DAY = 40  # through one link; nobody notes more, and a page in the wrong hands fills nothing


@transaction.atomic
def link_new(*, job: Job, by: User) -> tuple[DiaryLink, str]:
    """A link for the household to write with; its token, to be shown once."""
    token = new_token()
    link = DiaryLink.objects.create(
        job=job, token_hash=token_hash(token), created_by=by, expires_at=timezone.now() + OPEN_FOR
    )
    record(user=by, action="Diary link made", subject=job)
    return link, token


@transaction.atomic
def link_revoke(*, link: DiaryLink, by: User) -> None:
    if DiaryLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now()):
        record(user=by, action="Diary link revoked", subject=link.job)


def note_opened(*, link: DiaryLink) -> None:
    DiaryLink.objects.filter(pk=link.pk).update(last_opened_at=timezone.now())


@transaction.atomic
def entry_add(*, link: DiaryLink, **values) -> DiaryEntry:
    """What the household wrote. ValidationError past MOST_A_DAY entries in a day. The same entry sent twice is one."""
    link = DiaryLink.objects.select_for_update().get(pk=link.pk)
    entry = DiaryEntry(job_id=link.job_id, link=link, **values)
    entry.full_clean()
    same = link.entries.filter(heard_on=entry.heard_on, starts_at=entry.starts_at, kind=entry.kind).first()
    if same is not None and (same.minutes, same.loudness, same.note) == (entry.minutes, entry.loudness, entry.note):
        return same
    if link.entries.filter(written_at__gt=timezone.now() - timedelta(days=1)).count() >= MOST_A_DAY:
        raise ValidationError(f"That is {MOST_A_DAY} entries within a day. Go on tomorrow, or ring us.")
    entry.save()
    return entry


@transaction.atomic
def entry_delete(*, entry: DiaryEntry) -> None:
    entry.delete()


@transaction.atomic
def take_over(*, job: Job, kind: str, by: User) -> NoiseHeard:
    """Make the noises of the job say when this kind is heard, by the diary. A kind not yet among them is added.

    Http404 where the diary holds nothing of the kind.
    """
    entries = list(job.diary_entries.filter(kind=kind))
    if not entries:
        raise Http404("The diary holds nothing of that kind.")
    noise = job.noises.filter(kind=kind).first()
    places = [entry.heard_in for entry in entries if entry.heard_in]
    commonest = max(places, key=places.count, default="")
    values = {"kind": kind, "times": told_times(entries), "heard_in": (noise and noise.heard_in) or commonest}
    saved = noise_save(job=job, noise=noise, **values)
    record(user=by, action="Diary taken over", subject=job, noise=saved.get_kind_display(), when=saved.times)
    return saved


def link_for(token: str) -> DiaryLink | None:
    """The link that a token opens, with its job; None for a token that we never gave out."""
    return DiaryLink.objects.select_related("job").filter(token_hash=token_hash(token)).first()


def is_open(link: DiaryLink) -> bool:
    return link.revoked_at is None and link.expires_at > timezone.now()


def links_of(job: Job) -> QuerySet[DiaryLink]:
    return job.diary_links.select_related("created_by").annotate(written=Count("entries"))


def link_by_id(link_id: int) -> DiaryLink:
    """Http404 where there is none."""
    try:
        return DiaryLink.objects.select_related("job").get(pk=link_id)
    except DiaryLink.DoesNotExist:
        raise Http404("There is no such link.") from None


def entries_of(job: Job) -> list[DiaryEntry]:
    return list(job.diary_entries.all())


def written_with(link: DiaryLink) -> QuerySet[DiaryEntry]:
    """What was written through the link, latest day first."""
    return link.entries.order_by("-heard_on", "-starts_at", "-pk")


def entry_for(entry_id: int, *, job: Job | None = None, link: DiaryLink | None = None) -> DiaryEntry:
    """An entry of the job, or one written through the link; Http404 otherwise."""
    mine = Q(job=job) if job is not None else Q(link=link)
    try:
        return DiaryEntry.objects.select_related("job").get(mine, pk=entry_id)
    except DiaryEntry.DoesNotExist:
        raise Http404("There is no such entry.") from None
