"""What stands against a visit as it is booked. Pure: rows in, sentences out."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from contractor.jobs.dates import next_working_day
from contractor.jobs.models import Job, Stage, Visit

BEFORE_WORK = (Stage.ENQUIRY, Stage.SURVEY_BOOKED, Stage.SURVEYED, Stage.SENT)


@dataclass(frozen=True, kw_only=True)
class Facts:
    """Of one job: open cautions by name, until when the customer may cancel (None where they asked for an early start
    or that time does not run), when the slowest material can be there at the earliest, the first day of fitting."""

    open_cautions: list[str] = field(default_factory=list)
    cancel_until: date | None = None
    material_from: date | None = None
    material_days: int = 0
    first_fitting: date | None = None


def clashes(visits: Iterable[Visit], facts: Mapping[int, Facts]) -> dict[int, list[str]]:
    """Sentences by visit id. `visits` have people and job loaded, and hold everything booked on their days."""
    visits = list(visits)
    by_person_and_day: dict[tuple[int, date], list[Visit]] = {}
    for visit in visits:
        for person in visit.people.all():
            by_person_and_day.setdefault((person.pk, visit.on_date), []).append(visit)
    found: dict[int, list[str]] = {visit.pk: [] for visit in visits}
    for visit in visits:
        for person in visit.people.all():
            others = {v.job_id: v.job for v in by_person_and_day[person.pk, visit.on_date] if v.job_id != visit.job_id}
            for job in others.values():
                found[visit.pk].append(f"{person.display_name} also goes to job {job.number} that day.")
        found[visit.pk] += _of_fitting(visit, facts.get(visit.job_id, Facts()))
        if not visit.people.all():
            found[visit.pk].append("Nobody is sent yet.")
    return {pk: sentences for pk, sentences in found.items() if sentences}


def _of_fitting(visit: Visit, facts: Facts) -> list[str]:
    if visit.purpose != Visit.Purpose.FITTING:
        return []
    told = []
    if visit.job.stage in BEFORE_WORK:
        told.append("No quote is accepted yet.")
    if facts.open_cautions:
        told.append(f"Not cleared: {', '.join(facts.open_cautions)}.")
    if facts.cancel_until and visit.on_date <= facts.cancel_until:
        told.append(f"The customer may cancel until {_day(facts.cancel_until)} and did not ask for an early start.")
    is_first = visit.on_date == facts.first_fitting
    if is_first and facts.material_from and visit.on_date < facts.material_from:
        told.append(
            f"Material cannot be there: the slowest takes {facts.material_days} working days,"
            f" to {_day(facts.material_from)} if it is ordered today."
        )
    return told


def earliest_with_material(today: date, lead_days: int) -> date:
    """The first working day after goods ordered today have come; they are there the working day before."""
    day = today
    for _ in range(lead_days + 1):
        day = next_working_day(day)
    return day


def earliest_first_day(today: date, facts: Facts) -> date:
    """The first working day from tomorrow on when the material can be there and the time to cancel is over."""
    days = [next_working_day(today)]
    if facts.material_from:
        days.append(facts.material_from)
    if facts.cancel_until:
        days.append(next_working_day(facts.cancel_until))
    return max(days)


def is_at_work(job: Job) -> bool:
    """Whether its material has come already, since work has begun."""
    return job.stage in (Stage.ON_SITE, Stage.COMPLETE, Stage.CLOSED)


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
