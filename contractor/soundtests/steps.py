"""The step of proof in the thread of a job."""

from contractor.jobs.models import Job, Stage
from contractor.jobs.thread import Step, add_step
from contractor.soundtests.models import SoundTest


def look_at_tests(job: Job) -> tuple[str, str]:
    """One query."""
    moments = set(SoundTest.objects.filter(job=job).values_list("moment", flat=True))
    if SoundTest.Moment.AFTER in moments:
        return "done", "Measured after the work"
    if SoundTest.Moment.BEFORE in moments:
        return "now", "Measured before; after to come"
    if job.stage in (Stage.ON_SITE, Stage.COMPLETE, Stage.CLOSED):
        return "now", "Nothing measured yet"
    return "waiting", "After the work"


def add_steps() -> None:
    add_step(Step(key="sound", label="Sound test", order=80, url_name="sound:tests", look=look_at_tests))
