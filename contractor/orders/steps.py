"""The step of ordering in the thread of a job. It asks the database nothing."""

from contractor.jobs.models import Job, Stage
from contractor.jobs.thread import Step, add_step


def look_at_orders(job: Job) -> tuple[str, str]:
    if job.stage in (Stage.COMPLETE, Stage.CLOSED):
        return "done", "Work is finished"
    if job.stage in (Stage.ACCEPTED, Stage.SCHEDULED, Stage.ON_SITE):
        return "now", "Lists by supplier"
    return "waiting", "After acceptance"


def add_steps() -> None:
    add_step(Step(key="orders", label="Orders", order=55, url_name="orders:orders", look=look_at_orders))
