"""The step of money in the thread of a job."""

from django.db.models import OuterRef, Subquery, Sum

from contractor.billing.models import Invoice, Payment, Variation
from contractor.jobs.models import Job, Stage
from contractor.jobs.thread import Step, add_step

BEFORE = {Stage.ENQUIRY, Stage.SURVEY_BOOKED, Stage.SURVEYED, Stage.SENT}


def _sum(rows, of: str, job: str) -> Subquery:
    """The sum over all rows of the invoice's job."""
    return Subquery(rows.filter(**{job: OuterRef("job")}).order_by().values(job).annotate(sum=Sum(of)).values("sum"))


ASKED = _sum(Invoice.objects, "total", "job")
PAID = _sum(Payment.objects, "amount", "invoice__job")


def look_at_money(job: Job) -> tuple[str, str]:
    """Two queries, none before acceptance."""
    if job.stage in BEFORE:
        return "waiting", "After acceptance"
    waits = Variation.objects.filter(job=job, status=Variation.Status.SENT).count()
    if waits:
        return "now", f"{waits} variation{'s' if waits > 1 else ''} unanswered"
    newest = Invoice.objects.filter(job=job).annotate(asked=ASKED, paid=PAID).order_by("-number").first()
    if newest is None:
        return ("now" if job.stage != Stage.LOST else "waiting"), "Nothing invoiced"
    owed = newest.asked - (newest.paid or 0)
    if owed:
        return "now", f"£{owed:,.2f} open" if owed > 0 else f"£{-owed:,.2f} over"
    return ("done", "All paid") if newest.upto_percent == 100 else ("now", "Paid so far")


def add_steps() -> None:
    add_step(Step(key="money", label="Money", order=70, url_name="billing:money", look=look_at_money))
