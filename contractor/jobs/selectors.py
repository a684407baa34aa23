"""Reads of jobs, with what their pages need loaded along."""

from collections import Counter, defaultdict
from datetime import date, timedelta

from django.db.models import Count, Min, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Replace
from django.http import Http404
from django.utils import timezone

from contractor.customers.models import Property
from contractor.jobs.models import DayOff, Gate, Job, NoiseHeard, Stage, StageChange, Visit


def job_for(number: int) -> Job:
    """The job of that number with its property and customer loaded; Http404 where there is none."""
    try:
        return Job.objects.select_related("property__customer").get(number=number)
    except Job.DoesNotExist:
        raise Http404("There is no job of that number.") from None


def property_for_job(property_id: int) -> Property:
    """The home a new job is for, with its customer; Http404 where there is none."""
    try:
        return Property.objects.select_related("customer").get(pk=property_id)
    except Property.DoesNotExist:
        raise Http404("There is no such home.") from None


def homes_matching(words: str, limit: int = 20) -> list[Property]:
    """Homes found by customer's name, first address line or postcode; the latest when nothing is asked for."""
    homes = Property.objects.select_related("customer").order_by("-pk")
    words = " ".join(words.split())
    if words:
        found = Q(customer__name__icontains=words) | Q(address_line_1__icontains=words) | _postcode_has("", words)
        homes = homes.annotate(postcode_tight=Replace("postcode", Value(" "), Value(""))).filter(found)
    return list(homes[:limit])


def _postcode_has(prefix: str, words: str) -> Q:
    return Q(**{f"{prefix}postcode_tight__contains": words.replace(" ", "").upper()})


def jobs_matching(words: str = "", stage: str = "") -> QuerySet[Job]:
    """Jobs by customer's name, postcode (spaces do not matter) or number, newest first, with the next visit's day."""
    next_visit = (
        Visit.objects.filter(job=OuterRef("pk"), on_date__gte=timezone.localdate())
        .order_by()
        .values("job")
        .annotate(first=Min("on_date"))
        .values("first")
    )
    jobs = Job.objects.select_related("property__customer").annotate(next_visit_on=Subquery(next_visit))
    words = " ".join(words.split())
    if words:
        found = Q(property__customer__name__icontains=words) | _postcode_has("", words)
        if words.isdecimal() and len(words) < 10:
            found |= Q(number=int(words))
        jobs = jobs.alias(postcode_tight=Replace("property__postcode", Value(" "), Value(""))).filter(found)
    return jobs.filter(stage=stage) if stage else jobs


def stage_counts() -> list[tuple[str, str, int]]:
    """(value, label, number of jobs) of each stage in order."""
    counts = dict(Job.objects.order_by().values_list("stage").annotate(Count("pk")))
    return [(value, label, counts.get(value, 0)) for value, label in Stage.choices]


def noises_of(job: Job) -> QuerySet[NoiseHeard]:
    return job.noises.all()


def noise_for(job: Job, noise_id: int) -> NoiseHeard:
    """A noise of this job; Http404 where there is none."""
    try:
        return job.noises.get(pk=noise_id)
    except NoiseHeard.DoesNotExist:
        raise Http404("There is no such noise on this job.") from None


def gates_of(job: Job) -> list[Gate]:
    """The job's gates in the order of their kinds. A kind without a row comes as an unsaved, open one. One query."""
    rows = {g.kind: g for g in job.gates.all()}
    return [rows.get(kind) or Gate(job=job, kind=kind) for kind in Gate.Kind.values]


def open_gates(job: Job) -> list[Gate]:
    """Those that still stop work from being booked."""
    return [g for g in gates_of(job) if g.is_open]


def gate_for(job: Job, kind: str) -> Gate:
    """The job's gate of that kind; Http404 for a kind that does not exist."""
    for gate in gates_of(job):
        if gate.kind == kind:
            return gate
    raise Http404("There is no such caution.")


def history_of(job: Job) -> QuerySet[StageChange]:
    return job.stage_changes.select_related("by").order_by("-pk")


def stage_before_pause(job: Job) -> str | None:
    """Where a job on hold or lost stood before that."""
    paused = (Stage.ON_HOLD, Stage.LOST)
    change = job.stage_changes.filter(to_stage__in=paused).exclude(from_stage__in=paused).order_by("-pk").first()
    return change.from_stage if change else None


def visits_of(job: Job) -> QuerySet[Visit]:
    return job.visits.prefetch_related("people")


def visit_for(job: Job, visit_id: int) -> Visit:
    """A visit of this job with its people; Http404 where there is none."""
    try:
        return visits_of(job).get(pk=visit_id)
    except Visit.DoesNotExist:
        raise Http404("There is no such visit on this job.") from None


def visits_between(first: date, last: date) -> QuerySet[Visit]:
    """Visits from `first` to `last`, both included, with people, job, home and customer."""
    return (
        Visit.objects.filter(on_date__range=(first, last))
        .select_related("job__property__customer")
        .prefetch_related("people")
    )


def days_off(first: date, last: date) -> QuerySet[DayOff]:
    """What touches the days from `first` to `last`, with its person, if any."""
    return DayOff.objects.filter(first_day__lte=last, last_day__gte=first).select_related("person")


def closed_from(first: date) -> frozenset[date]:
    """The days from `first` on when the firm is closed, as far as anybody has entered them."""
    closings = DayOff.objects.filter(person=None, last_day__gte=first)
    return frozenset(day for closing in closings for day in closing.days)


def clashes_of(visit: Visit) -> list[str]:
    """Who is also sent to another job on that day, in words; empty when nobody is. Two queries."""
    others = (
        Visit.objects.filter(on_date=visit.on_date, people__in=visit.people.all())
        .exclude(job=visit.job)
        .select_related("job")
        .prefetch_related("people")
        .distinct()
    )
    mine = {p.pk for p in visit.people.all()}
    return [
        f"{person.display_name} also goes to job {other.job.number} that day, from {other.starts_at:%H:%M}."
        for other in others
        for person in other.people.all()
        if person.pk in mine
    ]


def diary(first: date, days: int = 28) -> list[dict]:
    """Weeks of days from `first`: [{"monday": date, "is_booked": bool, "days": [{"day", "visits", "twice", "off"}]}].

    `twice` holds the ids of people sent to more than one job that day, `off` what is closed or who is away, in words.
    Saturdays and Sundays appear only when booked. Three queries whatever is booked.
    """
    by_day = defaultdict(list)
    for visit in visits_between(first, first + timedelta(days=days - 1)):
        by_day[visit.on_date].append(visit)
    off = defaultdict(list)
    for entry in days_off(first, first + timedelta(days=days - 1)):
        who = f"{entry.person.display_name} is away" if entry.person else "Closed"
        for day in entry.days:
            off[day].append(f"{who}: {entry.reason}")
    weeks: dict[date, list[dict]] = defaultdict(list)
    for offset in range(days):
        day = first + timedelta(days=offset)
        visits = by_day[day]
        if day.weekday() < 5 or visits:
            weeks[day - timedelta(days=day.weekday())].append(
                {"day": day, "visits": visits, "twice": _twice(visits), "off": off[day]}
            )
    return [
        {"monday": monday, "is_booked": any(d["visits"] or d["off"] for d in in_week), "days": in_week}
        for monday, in_week in weeks.items()
    ]


def _twice(visits: list[Visit]) -> set[int]:
    jobs_of = Counter(person_id for person_id, _ in {(p.pk, v.job_id) for v in visits for p in v.people.all()})
    return {person_id for person_id, count in jobs_of.items() if count > 1}
