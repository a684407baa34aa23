"""Reads for the week, the laying out of a job's days, and the calendar feeds."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Min
from django.http import Http404
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.selectors import active_people, the_firm
from contractor.common.links import token_hash
from contractor.jobs.models import DayOff, Gate, Job, Visit
from contractor.jobs.selectors import closed_from, days_off, visits_between
from contractor.orders.awaited import Awaited, awaited_of
from contractor.quotes.cancelling import last_day_to_cancel
from contractor.quotes.models import Decision
from contractor.rooms.models import Calculation
from contractor.weeks.clashes import Facts, clashes, earliest_with_material, is_at_work
from contractor.weeks.models import CalendarLink

FEED_PAST, FEED_AHEAD = timedelta(days=60), timedelta(days=400)


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A person's visits of a day, each with what stands against it, and why they are away, if they are."""

    day: date
    visits: list[tuple[Visit, list[str]]]
    away: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """A person, or nobody, and their days of the week, Monday first."""

    person: User | None
    days: list[Cell]

    @property
    def key(self) -> str:
        return str(self.person.pk) if self.person else "0"


@dataclass(frozen=True, kw_only=True)
class Week:
    monday: date
    days: list[tuple[date, str]]
    rows: list[Row]
    clash_count: int


def week_of(monday: date) -> Week:
    """The week with everybody who is booked in it or may be, and what stands against each visit. The number of queries
    does not grow with what is booked."""
    days = [monday + timedelta(days=n) for n in range(7)]
    visits = list(visits_between(days[0], days[-1]))
    away = list(days_off(days[0], days[-1]))
    found = clashes(visits, facts_of({visit.job for visit in visits}), away, the_firm().day_hours)
    if all(day.weekday() < 5 for day in {visit.on_date for visit in visits}):
        days = days[:5]
    people = {person.pk: person for person in active_people()}
    people |= {person.pk: person for visit in visits for person in visit.people.all()}
    off = {(entry.person_id, day): entry.reason for entry in away for day in entry.days}
    rows = [_row(person, days, visits, found, off) for person in people.values()]
    if any(not visit.people.all() for visit in visits):
        rows.append(_row(None, days, visits, found, {}))
    named = [(day, off.get((None, day), "")) for day in days]
    return Week(monday=monday, days=named, rows=rows, clash_count=len(found))


def _row(person: User | None, days: list[date], visits: list[Visit], found: dict[int, list[str]], off: dict) -> Row:
    def is_mine(visit: Visit) -> bool:
        sent = [one.pk for one in visit.people.all()]
        return person.pk in sent if person else not sent

    mine = [visit for visit in visits if is_mine(visit)]
    return Row(
        person=person,
        days=[
            Cell(
                day=day,
                visits=[(v, found.get(v.pk, [])) for v in mine if v.on_date == day],
                away=off.get((person.pk, day), "") if person else "",
            )
            for day in days
        ],
    )


def facts_of(jobs: Iterable[Job]) -> dict[int, Facts]:
    """What clashes are looked for with, by job id. A fixed number of queries."""
    jobs = list(jobs)
    ids = [job.pk for job in jobs]
    cautions: dict[int, list[str]] = {}
    for gate in Gate.objects.filter(job__in=ids).order_by("pk"):
        if gate.is_open:
            cautions.setdefault(gate.job_id, []).append(gate.get_kind_display().lower())
    decisions = {
        d.revision.job_id: d
        for d in Decision.objects.filter(revision__job__in=ids, answer=Decision.Answer.ACCEPTED)
        .select_related("revision")
        .defer("revision__document", "revision__internal")
        .order_by("at")
    }
    awaited = awaited_of(jobs)
    first = dict(
        Visit.objects.filter(job__in=ids, purpose=Visit.Purpose.FITTING)
        .values_list("job")
        .annotate(first=Min("on_date"))
        .values_list("job", "first")
    )
    closed = closed_from(timezone.localdate())
    return {job.pk: _facts(job, cautions, decisions.get(job.pk), awaited.get(job.pk), first, closed) for job in jobs}


def _facts(job: Job, cautions, decision: Decision | None, awaited: Awaited | None, first: dict, closed) -> Facts:
    cancel_until = unordered_from = None
    lead_days = 0
    if decision is not None:
        if not decision.early_start:
            cancel_until = last_day_to_cancel(timezone.localdate(decision.at))
        lead_days = awaited.slowest_days if awaited else 0
        if lead_days and (awaited.has_orders or not is_at_work(job)):
            unordered_from = earliest_with_material(timezone.localdate(), lead_days, closed)
    return Facts(
        open_cautions=cautions.get(job.pk, []),
        cancel_until=cancel_until,
        unordered_from=unordered_from,
        material_days=lead_days,
        awaited=awaited,
        first_fitting=first.get(job.pk),
    )


def days_off_to_come() -> list[DayOff]:
    """From today on, and what began before and goes on."""
    return list(DayOff.objects.filter(last_day__gte=timezone.localdate()).select_related("person"))


def day_off_for(day_off_id: int) -> DayOff:
    try:
        return DayOff.objects.select_related("person").get(pk=day_off_id)
    except DayOff.DoesNotExist:
        raise Http404("These days off are not kept any more.") from None


def against_people(people: Iterable[User], days: Iterable[date]) -> dict[date, list[str]]:
    """Who of these people is away or booked already, by day, in sentences. Two queries and one for the people sent."""
    days, people = set(days), {person.pk: person for person in people}
    told: dict[date, list[str]] = {}
    if not (days and people):
        return told
    for entry in days_off(min(days), max(days)).filter(person__in=people):
        for day in days.intersection(entry.days):
            told.setdefault(day, []).append(f"{people[entry.person_id].display_name} is away: {entry.reason}.")
    for visit in visits_between(min(days), max(days)).filter(people__in=people).distinct():
        for person in visit.people.all():
            if visit.on_date in days and person.pk in people:
                told.setdefault(visit.on_date, []).append(f"{person.display_name} goes to job {visit.job.number}.")
    return told


def visit_by_id(pk: int) -> Visit:
    try:
        return Visit.objects.select_related("job").prefetch_related("people").get(pk=pk)
    except Visit.DoesNotExist:
        raise Http404("There is no such visit any more.") from None


def accepted_calculation(job: Job) -> Calculation | None:
    """Of the option that was accepted; None before that, or where the option was deleted since."""
    decision = Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED).order_by("-at").first()
    if decision is None or decision.scheme_id is None:
        return None
    return Calculation.objects.filter(scheme=decision.scheme_id).first()


def live_link(person: User) -> CalendarLink | None:
    return CalendarLink.objects.filter(person=person, revoked_at=None).first()


def link_behind(token: str) -> CalendarLink | None:
    """The live feed that a token opens, with a person who may still sign in."""
    return (
        CalendarLink.objects.select_related("person")
        .filter(token_hash=token_hash(token), revoked_at=None, person__is_active=True)
        .first()
    )


def visits_for_feed(person: User) -> list[Visit]:
    today = timezone.localdate()
    return list(
        Visit.objects.filter(people=person, on_date__range=(today - FEED_PAST, today + FEED_AHEAD))
        .select_related("job__property__customer")
        .order_by("on_date", "starts_at", "pk")
    )
