"""What reads the catalogue, with everything loaded that its pages show."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Case, Count, Model, Q, QuerySet, When
from django.shortcuts import get_object_or_404
from django.utils import timezone

from contractor.catalogue.models import (
    BuildUp,
    Climate,
    Construction,
    LabourAllowance,
    LabourFactor,
    LabourRate,
    Material,
    PriceList,
    Supplier,
)

STALE_AFTER_DAYS = 90  # common practice: suppliers hold a price for a month or a quarter
SHOWN_ON = {  # the construction on which a build-up is shown unless the reader chooses another
    BuildUp.Surface.CEILING: "timber-floor-board-ceiling",
    BuildUp.Surface.FLOOR: "timber-floor-board-ceiling",
    BuildUp.Surface.WINDOW: "window-single",
}
SHOWN_ON_OTHERWISE = "one-brick-plastered"
SHOWN_ON_HOLLOW = "stud-partition"
KIND_FOR_SURFACE = {
    BuildUp.Surface.CEILING: [Construction.Kind.FLOOR, Construction.Kind.ROOF],
    BuildUp.Surface.FLOOR: [Construction.Kind.FLOOR],
    BuildUp.Surface.WINDOW: [Construction.Kind.WINDOW],
    BuildUp.Surface.DOOR: [Construction.Kind.DOOR],
}


@dataclass(frozen=True, kw_only=True)
class PriceState:
    """How far the prices are the firm's own. Illustrative prices are not counted as stale as well."""

    bought: int
    illustrative: int
    stale: int
    missing: int
    illustrative_rates: int


def _as_listed(field: str, values: list[str]) -> Case:
    """Orders rows as the choices are listed, not by the letters of their values."""
    return Case(*(When(**{field: value}, then=place) for place, value in enumerate(values)), default=len(values))


# What is bought first, what is only found last.
BY_KIND = _as_listed("kind", sorted(Material.Kind.values, key=lambda kind: kind == Material.Kind.FABRIC))
BY_CONSTRUCTION_KIND = _as_listed("kind", Construction.Kind.values)
BY_SURFACE = _as_listed("surface", BuildUp.Surface.values)


def stale_before() -> date:
    return timezone.localdate() - timedelta(days=STALE_AFTER_DAYS)


def bought() -> QuerySet[Material]:
    return Material.objects.exclude(kind=Material.Kind.FABRIC)


def price_state() -> PriceState:
    """Counts for the overview, in two queries."""
    own = Q(price_is_illustrative=False, price__isnull=False)
    counts = bought().aggregate(
        bought=Count("pk"),
        illustrative=Count("pk", filter=Q(price_is_illustrative=True)),
        stale=Count("pk", filter=own & (Q(price_set_on__lt=stale_before()) | Q(price_set_on__isnull=True))),
        missing=Count("pk", filter=Q(price__isnull=True)),
    )
    return PriceState(illustrative_rates=LabourRate.objects.filter(is_illustrative=True).count(), **counts)


def catalogue_counts() -> dict[str, int]:
    return {
        "materials": Material.objects.count(),
        "constructions": Construction.objects.filter(is_active=True).count(),
        "build_ups": BuildUp.objects.filter(is_active=True).count(),
    }


def materials_matching(words: str = "", kind: str = "", price: str = "") -> QuerySet[Material]:
    """Materials whose name or note holds every word, of one kind, with illustrative, stale or missing prices only."""
    found = Material.objects.all()
    for word in words.split():
        found = found.filter(Q(name__icontains=word) | Q(note__icontains=word))
    if kind:
        found = found.filter(kind=kind)
    if price == "illustrative":
        found = found.filter(price_is_illustrative=True)
    elif price == "missing":
        found = found.filter(price__isnull=True).exclude(kind=Material.Kind.FABRIC)
    elif price == "stale":
        own = found.exclude(kind=Material.Kind.FABRIC).filter(price_is_illustrative=False, price__isnull=False)
        found = own.filter(Q(price_set_on__lt=stale_before()) | Q(price_set_on__isnull=True))
    return found.order_by(BY_KIND, "name")


def material_for(material_id: int) -> Material:
    return get_object_or_404(Material, pk=material_id)


def materials_by_name() -> dict[str, Material]:
    """Every material by its name, in the order of the lists."""
    return {material.name: material for material in Material.objects.all()}


def priced_of_kind(kind: str) -> QuerySet[Material]:
    """What is bought of one kind, in order of name."""
    return bought().filter(kind=kind).order_by("name")


def kinds_bought() -> list[tuple[str, str]]:
    """(value, label) of the kinds that hold something to buy, in the order of the lists."""
    held = set(bought().values_list("kind", flat=True).distinct())
    return [(value, label) for value, label in Material.Kind.choices if value in held]


def suppliers() -> QuerySet[Supplier]:
    """Every supplier with the number of materials bought there, as `bought_there`."""
    return Supplier.objects.annotate(bought_there=Count("materials"))


def supplier_for(supplier_id: int) -> Supplier:
    return get_object_or_404(Supplier, pk=supplier_id)


def price_list_for(list_id: int) -> PriceList:
    return get_object_or_404(PriceList.objects.select_related("supplier"), pk=list_id)


def priced_at(supplier: Supplier) -> QuerySet[Material]:
    """What is bought from a supplier or from nobody named yet: what a price list of theirs may set."""
    return bought().filter(Q(supplier=supplier) | Q(supplier=None)).order_by(BY_KIND, "name")


def unsupplied_kinds() -> list[tuple[str, str]]:
    """(value, "Boards (4)") of the kinds with materials that nobody supplies yet, and how many."""
    counts = dict(bought().filter(supplier=None).order_by().values_list("kind").annotate(Count("pk")))
    return [(value, f"{label} ({counts[value]})") for value, label in Material.Kind.choices if value in counts]


def uses_of(material: Material) -> list[Construction | BuildUp]:
    """The constructions and build-ups that hold a material."""
    constructions = Construction.objects.filter(layers__material=material).distinct()
    build_ups = BuildUp.objects.filter(Q(layers__material=material) | Q(fixings__material=material)).distinct()
    return [*constructions, *build_ups]


def constructions_matching(words: str = "", kind: str = "") -> QuerySet[Construction]:
    found = Construction.objects.prefetch_related("layers__material").order_by(BY_CONSTRUCTION_KIND, "name")
    for word in words.split():
        found = found.filter(name__icontains=word)
    return found.filter(kind=kind) if kind else found


def construction_for(construction_id: int) -> Construction:
    return get_object_or_404(Construction.objects.prefetch_related("layers__material"), pk=construction_id)


def build_ups_matching(words: str = "", surface: str = "") -> QuerySet[BuildUp]:
    found = BuildUp.objects.order_by(BY_SURFACE, "depth_mm", "name")
    for word in words.split():
        found = found.filter(Q(name__icontains=word) | Q(use_when__icontains=word))
    return found.filter(surface=surface) if surface else found


def build_up_for(build_up_id: int) -> BuildUp:
    loaded = BuildUp.objects.prefetch_related(
        "layers__material", "layers__fixings__material", "layers__hold_points", "hold_points", "fixings__material"
    )
    return get_object_or_404(loaded, pk=build_up_id)


def bases_for(build_up: BuildUp) -> list[Construction]:
    """The constructions that a build-up could be shown on, layers loaded."""
    kinds = KIND_FOR_SURFACE.get(build_up.surface, [Construction.Kind.WALL])
    return list(Construction.objects.filter(kind__in=kinds, is_active=True).prefetch_related("layers__material"))


def usual_base(build_up: BuildUp, bases: list[Construction]) -> Construction | None:
    """The construction that a build-up is shown on at first."""
    key = SHOWN_ON.get(build_up.surface, SHOWN_ON_OTHERWISE)
    if build_up.replaces_face and build_up.surface == BuildUp.Surface.WALL:
        key = SHOWN_ON_HOLLOW
    return next((base for base in bases if base.key == key), bases[0] if bases else None)


def labour() -> dict[str, QuerySet[Model]]:
    return {
        "rates": LabourRate.objects.all(),
        "allowances": LabourAllowance.objects.select_related("rate"),
        "factors": LabourFactor.objects.all(),
    }


def rate_for(rate_id: int) -> LabourRate:
    return get_object_or_404(LabourRate, pk=rate_id)


def allowance_for(allowance_id: int) -> LabourAllowance:
    return get_object_or_404(LabourAllowance.objects.select_related("rate"), pk=allowance_id)


def factor_for(factor_id: int) -> LabourFactor:
    return get_object_or_404(LabourFactor, pk=factor_id)


def climates() -> QuerySet[Climate]:
    return Climate.objects.all()


def climate_for(climate_id: int) -> Climate:
    return get_object_or_404(Climate, pk=climate_id)


def climate_used() -> Climate | None:
    """The firm's climate; None where none is chosen."""
    return Climate.objects.filter(is_used=True).first()
