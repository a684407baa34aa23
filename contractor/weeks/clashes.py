"""What stands against a visit as it is booked. Pure: rows in, sentences out."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from contractor.accounts.models import User
from contractor.jobs.dates import next_working_day
from contractor.jobs.models import DayOff, Job, Stage, Visit
from contractor.orders.awaited import Awaited

ON_THE_WAY = timedelta(minutes=30)
"""Least time between two homes in one town (common practice); nobody is on the way in less."""
BEFORE_WORK = (Stage.ENQUIRY, Stage.SURVEY_BOOKED, Stage.SURVEYED, Stage.SENT)


@dataclass(frozen=True, kw_only=True)
class Facts:
    """Of one job: open cautions by name, until when the customer may cancel (None where they asked for an early start
    or that time does not run), when the slowest of what is not ordered yet can be there at the earliest, the orders of
    which something is to come, the first day of fitting."""

    open_cautions: list[str] = field(default_factory=list)
    cancel_until: date | None = None
    unordered_from: date | None = None
    material_days: int = 0
    awaited: Awaited | None = None
    first_fitting: date | None = None

    @property
    def material_from(self) -> date | None:
        """The first day on which everything can be there: what is not ordered if it is ordered today, the rest as due."""
        due = self.awaited.latest_due if self.awaited else None
        days = [self.unordered_from, next_working_day(due) if due else None]
        return max((day for day in days if day), default=None)


def clashes(
    visits: Iterable[Visit], facts: Mapping[int, Facts], days_off: Iterable[DayOff], day_hours: Decimal
) -> dict[int, list[str]]:
    """Sentences by visit id. `visits` have people and job loaded, and hold everything booked on their days, as
    `days_off` do; a day of fitting takes `day_hours` unless its visit says otherwise."""
    visits = list(visits)
    off = {(entry.person_id, day): entry.reason for entry in days_off for day in entry.days}
    by_person_and_day: dict[tuple[int, date], list[Visit]] = {}
    for visit in visits:
        for person in visit.people.all():
            by_person_and_day.setdefault((person.pk, visit.on_date), []).append(visit)
    found: dict[int, list[str]] = {visit.pk: [] for visit in visits}
    for visit in visits:
        for person in visit.people.all():
            others = [v for v in by_person_and_day[person.pk, visit.on_date] if v.job_id != visit.job_id]
            found[visit.pk] += [told for v in others if (told := _twice(person, visit, v, day_hours))]
            if away := off.get((person.pk, visit.on_date)):
                found[visit.pk].append(f"{person.display_name} is away: {away}.")
        if closed := off.get((None, visit.on_date)):
            found[visit.pk].append(f"The firm is closed: {closed}.")
        found[visit.pk] += _of_fitting(visit, facts.get(visit.job_id, Facts()))
        if not visit.people.all():
            found[visit.pk].append("Nobody is sent yet.")
    return {pk: sentences for pk, sentences in found.items() if sentences}


def _twice(person: User, visit: Visit, other: Visit, day_hours: Decimal) -> str:
    """What a person's other visit of the day has against this one; "" where there is time for both."""
    begins, ends = visit.span(day_hours)
    other_begins, other_ends = other.span(day_hours)
    if begins < other_ends and other_begins < ends:
        span = f"{other_begins:%H:%M} to {other_ends:%H:%M}"
        return f"{person.display_name} is at job {other.job.number} from {span}."
    between = max(begins - other_ends, other_begins - ends)
    if between < ON_THE_WAY:
        minutes = between // timedelta(minutes=1)
        return f"{person.display_name} has {minutes} minutes between this and job {other.job.number}."
    return ""


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
    awaited = facts.awaited
    if awaited and awaited.has_orders:
        matters, what = visit.on_date >= awaited.today, f"Not ordered yet: {', '.join(awaited.unordered)}"
    else:
        matters, what = visit.on_date == facts.first_fitting, "Material cannot be there"
    if matters and facts.unordered_from and visit.on_date < facts.unordered_from:
        told.append(
            f"{what}: the slowest takes {facts.material_days} working days,"
            f" to {_day(facts.unordered_from)} if it is ordered today."
        )
    return told + (awaited.against(visit.on_date) if awaited else [])


def earliest_with_material(today: date, lead_days: int, closed: Collection[date] = ()) -> date:
    """The first working day after goods ordered today have come; they are there the working day before."""
    day = today
    for _ in range(lead_days + 1):
        day = next_working_day(day, closed)
    return day


def earliest_first_day(today: date, facts: Facts, closed: Collection[date] = ()) -> date:
    """The first working day from tomorrow on when the material can be there and the time to cancel is over."""
    days = [next_working_day(today, closed)]
    if facts.material_from:
        days.append(facts.material_from)
    if facts.cancel_until:
        days.append(next_working_day(facts.cancel_until, closed))
    return max(days)


def is_at_work(job: Job) -> bool:
    """Whether its material has come already, since work has begun."""
    return job.stage in (Stage.ON_SITE, Stage.COMPLETE, Stage.CLOSED)


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
