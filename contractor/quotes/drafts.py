"""The draft of a quote: what the office last looked at, so that nothing which changes afterwards goes out in silence."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.selectors import the_firm
from contractor.accounts.services import record
from contractor.jobs.models import Job
from contractor.quotes.differences import Differences, differences
from contractor.quotes.document import fingerprint, today_in_short
from contractor.quotes.models import Draft
from contractor.quotes.options import Option, options_of


class Moved(Exception):
    """The quote changed again since it was looked at."""


def draft_of(job: Job) -> Draft | None:
    return Draft.objects.select_related("kept_by").filter(job=job).first()


def changed_since(draft: Draft | None, today: dict) -> Differences | None:
    """What is otherwise today than in the draft; None where nothing is, or nothing was kept."""
    found = differences(draft.document, today) if draft else None
    return found or None


def first_look(*, job: Job, options: Sequence[Option], today: dict, user: User) -> Draft | None:
    """The job's draft, laid down at the first look at prices that are not about to be improved."""
    found = draft_of(job)
    if found is None and options and not any(option.is_preview for option in options):
        found, _ = Draft.objects.get_or_create(job=job, defaults={"document": today, "kept_by": user})
    return found


def bring_up_to_date(*, job: Job, seen: str, user: User) -> None:
    """Make the draft what the office has just looked at, by its fingerprint; raises Moved if it is another by now."""
    today = today_in_short(job, the_firm(), options_of(job))
    if fingerprint(today) != seen:
        raise Moved
    _keep(job, today, user)


@contextmanager
def edited_by_hand(*, job: Job, user: User) -> Iterator[None]:
    """Around what the office itself changes: a draft that was up to date stays so. One that was not still waits."""
    draft = draft_of(job)
    was_up_to_date = draft and not changed_since(draft, today_in_short(job, the_firm(), options_of(job)))
    yield
    if was_up_to_date:
        _keep(job, today_in_short(job, the_firm(), options_of(job)), user)


@transaction.atomic
def _keep(job: Job, today: dict, user: User) -> None:
    Draft.objects.update_or_create(job=job, defaults={"document": today, "kept_by": user})
    record(user=user, action="Draft of the quote brought up to date", subject=job)
