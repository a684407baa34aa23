"""The last step in the thread of a job."""

from contractor.handover.models import CompletionPack
from contractor.jobs.models import Job, Stage
from contractor.jobs.thread import Step, add_step


def look_at_completion(job: Job) -> tuple[str, str]:
    """One query, none before the work."""
    if job.stage not in (Stage.ON_SITE, Stage.COMPLETE, Stage.CLOSED):
        return "waiting", "After the work"
    number = CompletionPack.objects.filter(job=job).order_by("-number").values_list("number", flat=True).first()
    return ("done", f"Pack {number} made") if number else ("now", "Pack not made yet")


def add_steps() -> None:
    add_step(
        Step(key="completion", label="Completion", order=90, url_name="handover:completion", look=look_at_completion)
    )
