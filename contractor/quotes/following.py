"""What the office should do next about a proposal, and when: rules on when it was sent, opened and asked about."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from contractor.quotes.cancelling import last_day_to_cancel
from contractor.quotes.models import Revision
from contractor.quotes.paper import is_lapsed

# Common practice: ring while it is fresh, and before the price runs out.
RING_UNOPENED, RING_OPENED, BEFORE_END = timedelta(days=3), timedelta(days=7), timedelta(days=5)


@dataclass(frozen=True, kw_only=True, order=True)
class Reminder:
    """`is_due` from the day `on` onwards."""

    on: date
    what: str
    is_due: bool = False


def reminders_of(revision: Revision, today: date | None = None) -> list[Reminder]:
    """The earliest first. `revision` comes from selectors.followed, which knows of its links and questions."""
    today = today or timezone.localdate()
    found = [Reminder(on=on, what=what, is_due=on <= today) for on, what in _rules(revision, today)]
    return sorted(found)


def _rules(revision: Revision, today: date) -> list[tuple[date, str]]:
    found = []
    if revision.open_questions:
        asked = timezone.localdate(revision.first_asked_at)
        found.append((asked, "Answer the question" if revision.open_questions == 1 else "Answer the questions"))
    if revision.status == Revision.Status.SENT:
        if is_lapsed(revision, today):
            found.append(
                (revision.valid_until + timedelta(days=1), "The price has run out: send it again, or close the job")
            )
        else:
            found += _while_it_waits(revision)
    if revision.status == Revision.Status.ACCEPTED:
        day = last_day_to_cancel(timezone.localdate(revision.decision.at))
        if day >= today and not revision.decision.early_start:
            found.append((day + timedelta(days=1), "Their time to cancel is over: work may begin"))
    return found


def _while_it_waits(revision: Revision) -> list[tuple[date, str]]:
    ends = (revision.valid_until - BEFORE_END, "Ring: the price runs out soon")
    if revision.first_opened_at is None:
        return [(timezone.localdate(revision.sent_at) + RING_UNOPENED, "Ring: not opened yet"), ends]
    return [(timezone.localdate(revision.first_opened_at) + RING_OPENED, "Ring: opened, no answer yet"), ends]
