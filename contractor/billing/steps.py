"""The step of money in the thread of a job."""

from contractor.billing.models import Invoice, Variation
from contractor.jobs.models import Job, Stage
from contractor.jobs.thread import Step, add_step

BEFORE = {Stage.ENQUIRY, Stage.SURVEY_BOOKED, Stage.SURVEYED, Stage.SENT}


def look_at_money(job: Job) -> tuple[str, str]:
    """Two queries, none before acceptance."""
    if job.stage in BEFORE:
        return "waiting", "After acceptance"
    waits = Variation.objects.filter(job=job, status=Variation.Status.SENT).count()
    if waits:
        return "now", f"{waits} variation{'s' if waits > 1 else ''} unanswered"
    newest = Invoice.objects.filter(job=job).order_by("-number").values_list("number", "upto_percent").first()
    if newest is None:
        return ("now" if job.stage != Stage.LOST else "waiting"), "Nothing invoiced"
    return ("done" if newest[1] == 100 else "now"), f"Invoice {newest[0]} is the last"


def add_steps() -> None:
    add_step(Step(key="money", label="Money", order=70, url_name="billing:money", look=look_at_money))
