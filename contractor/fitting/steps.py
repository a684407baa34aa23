"""The site's step in the thread of a job."""

from contractor.fitting.selectors import progress_of
from contractor.jobs.models import Job, Stage
from contractor.jobs.thread import Step, add_step

WORK_AHEAD = (Stage.ACCEPTED, Stage.SCHEDULED, Stage.ON_SITE)


def look_at_site(job: Job) -> tuple[str, str]:
    progress = progress_of([job]).get(job.pk)
    if progress is None:
        return ("now", "No work pack yet") if job.stage in WORK_AHEAD else ("waiting", "After acceptance")
    if progress.is_complete or job.stage in (Stage.COMPLETE, Stage.CLOSED):
        return "done", f"{progress.done} of {progress.total} steps done"
    state = "now" if job.stage in WORK_AHEAD else "waiting"
    return state, f"{progress.done} of {progress.total} steps done"


def add_steps() -> None:
    add_step(Step(key="site", label="On site", order=60, url_name="fitting:pack", look=look_at_site))
