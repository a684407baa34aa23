"""The two steps of the thread that belong to jobs: the enquiry and the programme."""

from contractor.jobs.models import Job, Stage, Visit
from contractor.jobs.selectors import open_gates
from contractor.jobs.thread import Step, add_step

BOOKABLE = (Stage.ACCEPTED, Stage.SCHEDULED, Stage.ON_SITE)
OVER = (Stage.COMPLETE, Stage.CLOSED)


def counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def look_at_enquiry(job: Job) -> tuple[str, str]:
    noises = job.noises.count()
    if noises:
        return "done", f"{counted(noises, 'noise', 'noises')} noted"
    return "now", "Note what is heard"


def look_at_programme(job: Job) -> tuple[str, str]:
    still_open = len(open_gates(job))
    first_day = job.visits.filter(purpose=Visit.Purpose.FITTING).values_list("on_date", flat=True).first()
    if job.stage in OVER:
        return "done", "Work is finished"
    if first_day:
        return "done", f"Fitting from {first_day.day} {first_day:%b}"
    if still_open:
        state = "now" if job.stage in BOOKABLE else "waiting"
        return state, f"{counted(still_open, 'caution', 'cautions')} open"
    return ("now", "Book the days") if job.stage in BOOKABLE else ("waiting", "After acceptance")


def add_steps() -> None:
    add_step(Step(key="enquiry", label="Enquiry", order=10, url_name="jobs:job", look=look_at_enquiry))
    add_step(Step(key="programme", label="Programme", order=50, url_name="jobs:programme", look=look_at_programme))
