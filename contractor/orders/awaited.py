"""What of a job's material is still to come, for those who lay out its days."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.utils import timezone

from contractor.jobs.models import Job
from contractor.orders.models import FromVan, MoreNeeded
from contractor.orders.selectors import MOST_OPTIONS, Placed, placed_of_jobs
from contractor.quotes.models import Decision
from contractor.rooms.models import Calculation


@dataclass(frozen=True, kw_only=True)
class Awaited:
    """`unordered` materials by name with their lead time in working days; `placed` orders of which something is
    outstanding; whether anything was ordered at all."""

    today: date
    unordered: dict[str, int] = field(default_factory=dict)
    placed: list[Placed] = field(default_factory=list)
    has_orders: bool = False

    @property
    def slowest_days(self) -> int:
        """Of what is still to order."""
        return max(self.unordered.values(), default=0)

    @property
    def latest_due(self) -> date | None:
        return max((each.order.due_on for each in self.placed if each.order.due_on), default=None)

    def against(self, on_date: date) -> list[str]:
        """What stands in the way of fitting on that day, in sentences: orders that come later, or are late already."""
        return [told for each in self.placed if on_date >= self.today and (told := self._told(each, on_date))]

    def _told(self, placed: Placed, on_date: date) -> str:
        order, due = placed.order, placed.order.due_on
        named = f"{order} from {order.from_whom}"
        lines = f"{len(placed.outstanding)} of {len(placed.lines)} lines outstanding"
        if due is None:
            return f"No day is known for {named}: {lines}."
        if due < self.today:
            return f"{named} was due on {due.day} {due:%b} and is not all here: {lines}."
        return f"{named} is due on {due.day} {due:%b}: {lines}." if due >= on_date else ""


def awaited_of(jobs: Iterable[Job]) -> dict[int, Awaited]:
    """By job id, of jobs whose quote was accepted. A fixed number of queries.

    Of the accepted take-off what is neither ordered nor in the van is to order; what site changed of it since is told on
    the job's page of orders alone.
    """
    jobs = {job.pk: job for job in jobs}
    wanted = _wanted(jobs)
    got: dict[int, dict[str, int]] = {pk: {} for pk in jobs}
    placed: dict[int, list[Placed]] = {}
    for each in placed_of_jobs(jobs):
        if each.order.cancelled_at:
            continue
        placed.setdefault(each.order.job_id, []).append(each)
        for line in each.lines:
            _add(got[each.order.job_id], line.material_key, line.packs)
    van = FromVan.objects.filter(job__in=jobs).values_list("job_id", "material__key", "packs")
    for job_id, key, packs in van:
        _add(got[job_id], key, packs)
    return {
        pk: Awaited(
            today=timezone.localdate(),
            unordered={name: days for key, (name, packs, days) in rows.items() if packs > got[pk].get(key, 0)},
            placed=[each for each in placed.get(pk, []) if each.outstanding],
            has_orders=pk in placed,
        )
        for pk, rows in wanted.items()
    }


def _wanted(jobs: dict[int, Job]) -> dict[int, dict[str, tuple[str, int, int]]]:
    """(name, packs, lead time) by material key, by job."""
    names = [f"revision__internal__options__{n}__name" for n in range(MOST_OPTIONS)]
    decisions = Decision.objects.filter(revision__job__in=jobs, answer=Decision.Answer.ACCEPTED).order_by("at", "pk")
    chosen = {}
    for pk, job_id, option, scheme_id, *options in decisions.values_list(
        "pk", "revision__job_id", "option", "scheme_id", *names
    ):
        chosen[job_id] = (pk, scheme_id, options.index(option) if option in options else None)
    places = sorted({place for _, _, place in chosen.values() if place is not None})
    paths = [f"revision__internal__options__{n}__takeoff__buy" for n in places]
    frozen = {
        pk: dict(zip(places, bought, strict=True))
        for pk, *bought in decisions.filter(pk__in=[pk for pk, _, _ in chosen.values()]).values_list("pk", *paths)
    }
    lists = {job_id: frozen[pk].get(place) for job_id, (pk, _, place) in chosen.items()}
    schemes = {scheme: job for job, (_, scheme, _) in chosen.items() if scheme and not lists[job]}
    for scheme, takeoff in Calculation.objects.filter(scheme__in=schemes).values_list("scheme_id", "takeoff"):
        lists[schemes[scheme]] = takeoff["buy"]
    wanted = {job_id: _rows(bought or []) for job_id, bought in lists.items()}
    for more in MoreNeeded.objects.filter(job__in=jobs).select_related("material", "variation"):
        if more.counts and more.job_id in wanted:
            material = more.material
            _, packs, _ = wanted[more.job_id].get(material.key, ("", 0, 0))
            wanted[more.job_id][material.key] = (material.name, packs + more.packs, material.lead_time_days)
    return wanted


def _rows(bought: list[dict]) -> dict[str, tuple[str, int, int]]:
    rows: dict[str, tuple[str, int, int]] = {}
    for row in bought:
        _, packs, _ = rows.get(row["material_key"], ("", 0, 0))
        if packs + row["packs"]:
            days = row.get("lead_time_days") or 0
            rows[row["material_key"]] = (row["material"], packs + row["packs"], days)
    return rows


def _add(counts: dict[str, int], key: str, packs: int) -> None:
    counts[key] = counts.get(key, 0) + packs
