"""Reads for the orders of a job: what it needs, what is ordered, what came of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Max, Prefetch, Sum
from django.http import Http404

from contractor.catalogue.models import Material
from contractor.fitting.models import WorkPack
from contractor.jobs.models import Job, Visit
from contractor.orders.counts import Counted, Goods, counted, goods_of
from contractor.orders.models import CheckOff, FromVan, MoreNeeded, Order, OrderedLine, UsedMaterial
from contractor.orders.needs import Change, changed_on_site, together
from contractor.quotes.models import Decision
from contractor.rooms.models import Scheme
from contractor.site.models import SitePhoto

MOST_OPTIONS = 6  # of a quote, whose names are read


@dataclass(frozen=True, kw_only=True)
class Options:
    """The options of a job, and the one that a preview is made for."""

    all: list[Scheme]
    chosen: Scheme | None


def options_of(job: Job, asked: str = "") -> Options:
    """The option asked for by its id, else the first. Http404 for an option of another job."""
    schemes = list(job.schemes.order_by("position", "pk"))
    for scheme in schemes:
        scheme.job = job
    by_id = {str(scheme.pk): scheme for scheme in schemes}
    if asked and asked not in by_id:
        raise Http404("This job has no such option.")
    return Options(all=schemes, chosen=by_id.get(asked) or next(iter(schemes), None))


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """What the customer accepted: the option's name, and its take-off as it was frozen when the quote was sent; None
    where the quote kept none."""

    decision: Decision
    takeoff: dict | None

    @property
    def option(self) -> str:
        return self.decision.option


def accepted_of(job: Job) -> Accepted | None:
    """Two queries; of the frozen letter only the option's take-off is read."""
    names = [f"revision__internal__options__{n}__name" for n in range(MOST_OPTIONS)]
    decisions = Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED).order_by("-at", "-pk")
    decision = decisions.select_related("scheme").defer("extras").first()
    if decision is None:
        return None
    options = list(decisions.filter(pk=decision.pk).values_list(*names).get())
    takeoff = None
    if decision.option in options:
        path = f"revision__internal__options__{options.index(decision.option)}__takeoff"
        takeoff = decisions.filter(pk=decision.pk).values_list(path, flat=True).get()
    return Accepted(decision=decision, takeoff=takeoff)


def changes_since(job: Job, takeoff: dict) -> dict[str, list[Change]]:
    """By material key, what is needed more or fewer than the accepted take-off says. Two queries."""
    document = WorkPack.objects.filter(job=job).values_list("document", flat=True).first()
    by_hand: dict[str, list[Change]] = {}
    for more in more_needed(job):
        if more.counts:
            reference = f"{more.variation.reference}: " if more.variation else ""
            change = Change(packs=more.packs, why=f"{reference}{more.why}")
            by_hand.setdefault(more.material.key, []).append(change)
    return together(changed_on_site(takeoff, document) if document else {}, by_hand)


def more_needed(job: Job) -> list[MoreNeeded]:
    return list(MoreNeeded.objects.filter(job=job).select_related("material", "variation", "made_by"))


def more_for(job: Job, pk: int) -> MoreNeeded:
    try:
        return MoreNeeded.objects.select_related("material").get(job=job, pk=pk)
    except MoreNeeded.DoesNotExist:
        raise Http404("This is not on the list any more.") from None


def materials_to_buy():
    """What may be ordered besides a take-off."""
    return Material.objects.exclude(form=Material.Form.NONE).order_by("name")


def first_fitting_day(job: Job) -> date | None:
    visits = job.visits.filter(purpose=Visit.Purpose.FITTING)
    return visits.order_by("on_date").values_list("on_date", flat=True).first()


def materials_for(keys: Iterable[str]) -> dict[str, Material]:
    """Materials by key, each with its supplier."""
    found = Material.objects.filter(key__in=set(keys)).select_related("supplier")
    return {material.key: material for material in found}


def from_van(job: Job) -> dict[int, int]:
    """Packs taken from the van, by material id."""
    return dict(FromVan.objects.filter(job=job).values_list("material_id", "packs"))


def ordered_packs(job: Job) -> dict[str, int]:
    """Packs in orders that stand, by material key."""
    lines = OrderedLine.objects.filter(order__job=job, order__cancelled_at=None).order_by()
    return dict(lines.values_list("material_key").annotate(packs=Sum("packs")).values_list("material_key", "packs"))


def last_number(job: Job) -> int:
    """Of the job's orders; it tells a page made before an order from one made after it."""
    return Order.objects.filter(job=job).aggregate(last=Max("number"))["last"] or 0


@dataclass(frozen=True, kw_only=True)
class Placed:
    """An order with what was counted of each of its lines."""

    order: Order
    lines: list[Counted]

    @property
    def outstanding(self) -> list[Counted]:
        return [line for line in self.lines if line.missing] if not self.order.cancelled_at else []

    @property
    def uncounted(self) -> list[Counted]:
        return [line for line in self.lines if not line.standing]

    @property
    def is_counted(self) -> bool:
        return any(line.standing for line in self.lines)


def _with_counts():
    counts = CheckOff.objects.select_related("by", "act")
    lines = OrderedLine.objects.prefetch_related(Prefetch("check_offs", queryset=counts))
    return Order.objects.select_related("made_by", "supplier").prefetch_related(Prefetch("lines", queryset=lines))


def placed_of(job: Job) -> list[Placed]:
    """Every order of the job, the cancelled among them. Three queries."""
    return [_placed(order, job) for order in _with_counts().filter(job=job)]


def placed_of_jobs(jobs: Mapping[int, Job]) -> list[Placed]:
    """Every order of these jobs. Three queries."""
    return [_placed(order, jobs[order.job_id]) for order in _with_counts().filter(job__in=jobs)]


def _placed(order: Order, job: Job) -> Placed:
    order.job = job  # loaded already
    return Placed(order=order, lines=[counted(line, line.check_offs.all()) for line in order.lines.all()])


def placed_for(job: Job, number: int) -> Placed:
    found = _with_counts().filter(job=job, number=number).first()
    if found is None:
        raise Http404("This job has no such order.")
    return _placed(found, job)


def van_of(job: Job) -> list[Counted]:
    """What comes out of the van, with what was counted of it. Two queries."""
    return _van_rows({job.pk: job})[job.pk]


def _van_rows(jobs: Mapping[int, Job]) -> dict[int, list[Counted]]:
    counts: dict[tuple[int, str], list[CheckOff]] = {}
    for count in CheckOff.objects.filter(job__in=jobs, line=None).select_related("by", "act"):
        counts.setdefault((count.job_id, count.material_key), []).append(count)
    found: dict[int, list[Counted]] = {pk: [] for pk in jobs}
    for row in FromVan.objects.filter(job__in=jobs).select_related("material").order_by("material__name"):
        found[row.job_id].append(counted(row, counts.get((row.job_id, row.material.key), [])))
    return found


def counted_line(job: Job, line: str) -> Counted | None:
    """What a phone names: the id of an ordered line, or "van-" and the id of a row out of the van."""
    kind, _, pk = line.rpartition("-")
    if not pk.isdecimal() or kind not in ("", "van"):
        return None
    if kind == "van":
        return next((each for each in van_of(job) if each.row.pk == int(pk)), None)
    found = OrderedLine.objects.select_related("order").filter(order__job=job, pk=pk).first()
    return counted(found, found.check_offs.select_related("by", "act")) if found else None


def material_of(job: Job) -> list[Goods]:
    """Every material that was ordered or taken from the van, with what became of it. Six queries."""
    return material_of_jobs({job.pk: job})[0][1]


def material_of_jobs(jobs: Mapping[int, Job]) -> list[tuple[Job, list[Goods]]]:
    """The same of many jobs, in as many queries."""
    lines = _van_rows(jobs)
    for placed in placed_of_jobs(jobs):
        if not placed.order.cancelled_at:
            lines[placed.order.job_id] += placed.lines
    said: dict[int, dict[str, UsedMaterial]] = {pk: {} for pk in jobs}
    for used in UsedMaterial.objects.filter(job__in=jobs).select_related("by"):
        said[used.job_id][used.material_key] = used  # the last of each stands
    return [(job, goods_of(lines[pk], said[pk])) for pk, job in jobs.items()]


def photos_of(job: Job, lines: Iterable[Counted]) -> list[SitePhoto]:
    """Photographs that were taken with the counts of these lines."""
    keys = [str(count.act.key) for line in lines for count in line.counts]
    return list(SitePhoto.objects.filter(job=job, about__in=keys).select_related("by"))
