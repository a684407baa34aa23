"""The quote's step in the thread of a job."""

from contractor.jobs.models import Job
from contractor.jobs.thread import Step, add_step
from contractor.quotes.following import reminders_of
from contractor.quotes.models import Revision
from contractor.quotes.paper import is_lapsed
from contractor.quotes.selectors import latest_revision


def look_at_quote(job: Job) -> tuple[str, str]:
    revision = latest_revision(job)
    if revision is None:
        return ("now", "Price it and send it") if job.schemes.exists() else ("waiting", "Needs an option")
    name = f"Quote {revision.number}"
    if revision.open_questions:
        return "now", f"{name}: a question waits"
    if is_lapsed(revision):
        return "now", f"{name}: price has run out"
    if revision.status == Revision.Status.DECLINED:
        return "now", f"{name} declined"
    if revision.status == Revision.Status.ACCEPTED:
        count = len(revision.decision.extras)
        return "done", f"{name} accepted" + (f" with {count} extra{'s' if count > 1 else ''}" if count else "")
    due = next((reminder for reminder in reminders_of(revision) if reminder.is_due), None)
    if due:
        return "now", f"{name}. {due.what}"
    return "done", f"{name} {'opened' if revision.times_opened else 'sent'}, no answer yet"


def add_steps() -> None:
    add_step(Step(key="quote", label="Quote", order=40, url_name="quotes:quote", look=look_at_quote))
