"""What changes the catalogue. Each change is one transaction and one line of the record."""

from collections import deque
from dataclasses import dataclass
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model, ProtectedError
from django.utils import timezone
from django.utils.text import slugify

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import (
    BuildUp,
    BuildUpFixing,
    BuildUpLayer,
    Climate,
    Construction,
    ConstructionLayer,
    HoldPoint,
    LabourAllowance,
    LabourFactor,
    LabourRate,
    Material,
    Supplier,
)
from contractor.catalogue.seeding import DELETED, load_seed
from contractor.catalogue.selectors import bought

__all__ = ["load_seed"]

HOPS_TO_A_PAGE = 4


@dataclass(frozen=True)
class Place:
    """Where something is used: what it is called, and its page."""

    name: str
    url: str


class InUse(ValidationError):
    """Refused because something still uses it; `places` says where."""

    def __init__(self, thing: Model, places: list[Place]) -> None:
        self.places = places
        where = ", ".join(place.name for place in places)
        super().__init__(f"{thing} is in use and stays: {where}.", code="in_use")


@transaction.atomic
def material_save(*, by: User, material: Material | None = None, price_checked: bool = False, **values) -> Material:
    """Add a material or change one. A new price, or the word that the old one was checked, makes it the firm's own,
    as of today."""
    old_price = material.price if material else None
    is_new = material is None
    material = material or Material(key=_free_key(Material, values["name"]))
    is_own = price_checked or values.get("price") != old_price
    _set(material, values)
    if is_own:
        material.price_set_on = timezone.localdate() if material.price is not None else None
        material.price_is_illustrative = False
    _keep(material)
    detail = {"price": str(material.price), "price_before": str(old_price)} if is_own else {}
    record(user=by, action="material added" if is_new else "material changed", subject=material, **detail)
    return material


@transaction.atomic
def prices_set(*, by: User, prices: dict[Material, Decimal | None], checked: set[Material]) -> list[Material]:
    """Set prices of many materials; returns those whose price is new or was checked. What is neither stays as it was."""
    today, changed = timezone.localdate(), []
    for material, price in prices.items():
        if price == material.price and not (material in checked and price is not None):
            continue
        material.price = price
        material.price_set_on = today if price is not None else None
        material.price_is_illustrative = False
        changed.append(material)
    Material.objects.bulk_update(changed, ["price", "price_set_on", "price_is_illustrative"])
    if changed:
        detail = {material.key: str(material.price) for material in changed}
        record(user=by, action="prices set", subject=f"{len(changed)} materials", prices=detail)
    return changed


@transaction.atomic
def material_delete(*, material: Material, by: User) -> None:
    """Raises InUse where a layer or fixing still uses it."""
    _delete(material, by)


@transaction.atomic
def supplier_save(*, by: User, supplier: Supplier | None = None, kinds: list[str] = (), **values) -> Supplier:
    """Add a supplier or change one; what nobody supplies yet of the `kinds` of material is from now on bought there."""
    is_new = supplier is None
    supplier = supplier or Supplier()
    _set(supplier, values)
    _keep(supplier)
    taken = bought().filter(supplier=None, kind__in=kinds).update(supplier=supplier)
    record(user=by, action="supplier added" if is_new else "supplier changed", subject=supplier, materials_taken=taken)
    return supplier


@transaction.atomic
def supplier_delete(*, supplier: Supplier, by: User) -> None:
    """Raises InUse where a material is still bought there."""
    subject = str(supplier)
    try:
        with transaction.atomic():
            supplier.delete()
    except ProtectedError as error:
        raise InUse(supplier, _places(error.protected_objects, supplier)) from error
    record(user=by, action="supplier deleted", subject=subject)


@transaction.atomic
def construction_save(
    *, by: User, layers: list[dict], construction: Construction | None = None, **values
) -> Construction:
    """Add a construction or change one; `layers` are its rows in order and take the place of what was there."""
    is_new = construction is None
    construction = construction or Construction(key=_free_key(Construction, values["name"]))
    _set(construction, values)
    _keep(construction)
    construction.layers.all().delete()
    ConstructionLayer.objects.bulk_create(
        ConstructionLayer(construction=construction, order=order, **row) for order, row in enumerate(layers, start=1)
    )
    action = "construction added" if is_new else "construction changed"
    record(user=by, action=action, subject=construction, layers=len(layers))
    return construction


@transaction.atomic
def construction_delete(*, construction: Construction, by: User) -> None:
    """Raises InUse where a survey still uses it."""
    _delete(construction, by)


@transaction.atomic
def build_up_save(
    *, by: User, layers: list[dict], before_starting: list[str], build_up: BuildUp | None = None, **values
) -> BuildUp:
    """Add a build-up or change one; its depth is the sum of the layers that count.

    `layers` are rows in order, each the fields of a layer with `fixing` (material, per_unit, screw_length_mm; or
    None) and `hold_points` (texts after that layer). `before_starting` are hold points before the first.
    """
    is_new = build_up is None
    build_up = build_up or BuildUp(key=_free_key(BuildUp, values["name"]))
    _set(build_up, values)
    depth_mm = sum((row["thickness_mm"] for row in layers if row["counts_in_depth"]), Decimal(0))
    build_up.depth_mm = depth_mm.quantize(Decimal("0.1"))
    _keep(build_up)
    for old in (build_up.hold_points, build_up.fixings, build_up.layers):
        old.all().delete()
    points = [(None, text) for text in before_starting]
    for order, row in enumerate(layers, start=1):
        fields = {name: value for name, value in row.items() if name not in ("fixing", "hold_points")}
        layer = BuildUpLayer.objects.create(build_up=build_up, order=order, **fields)
        if row["fixing"]:
            BuildUpFixing.objects.create(build_up=build_up, layer=layer, **row["fixing"])
        points += [(layer, text) for text in row["hold_points"]]
    HoldPoint.objects.bulk_create(
        HoldPoint(build_up=build_up, order=order, after_layer=layer, text=text)
        for order, (layer, text) in enumerate(points, start=1)
    )
    action = "build-up added" if is_new else "build-up changed"
    record(user=by, action=action, subject=build_up, layers=len(layers), depth_mm=str(build_up.depth_mm))
    return build_up


@transaction.atomic
def build_up_delete(*, build_up: BuildUp, by: User) -> None:
    """Raises InUse where a treatment still uses it."""
    _delete(build_up, by)


@transaction.atomic
def rate_save(*, by: User, row: LabourRate | None = None, rate_checked: bool = False, **values) -> LabourRate:
    """Add a labour rate or change one; a new or checked rate is the firm's own, as of today."""
    old = row.rate if row else None
    is_own = rate_checked or values["rate"] != old
    row = row or LabourRate(key=_free_key(LabourRate, values["name"]))
    _set(row, values)
    if is_own:
        row.set_on, row.is_illustrative = timezone.localdate(), False
    _keep(row)
    detail = {"rate": str(row.rate), "rate_before": str(old)}
    record(user=by, action="labour rate saved", subject=row, **detail)
    return row


@transaction.atomic
def allowance_save(*, by: User, row: LabourAllowance | None = None, **values) -> LabourAllowance:
    """Add an allowance of hours or change one."""
    return _simple_save(LabourAllowance, row, by, "labour allowance saved", values)


@transaction.atomic
def factor_save(*, by: User, row: LabourFactor | None = None, **values) -> LabourFactor:
    """Add a factor on hours or change one."""
    return _simple_save(LabourFactor, row, by, "labour factor saved", values)


@transaction.atomic
def labour_delete(*, row: LabourRate | LabourAllowance | LabourFactor, by: User) -> None:
    """Raises InUse where a rate still has allowances."""
    _delete(row, by)


@transaction.atomic
def climate_save(*, by: User, row: Climate | None = None, **values) -> Climate:
    """Add a climate or change one; the first is used at once."""
    values.setdefault("is_used", bool(row and row.is_used) or not Climate.objects.filter(is_used=True).exists())
    return _simple_save(Climate, row, by, "climate saved", values)


@transaction.atomic
def climate_use(*, row: Climate, by: User) -> None:
    """Reckon damp with this climate from now on."""
    Climate.objects.filter(is_used=True).update(is_used=False)
    Climate.objects.filter(pk=row.pk).update(is_used=True)
    record(user=by, action="climate chosen", subject=row)


@transaction.atomic
def climate_delete(*, row: Climate, by: User) -> None:
    _delete(row, by)


def _simple_save(model, row, by: User, action: str, values: dict):
    row = row or model(key=_free_key(model, values["name"]))
    _set(row, values)
    _keep(row)
    record(user=by, action=action, subject=row, **{name: str(value) for name, value in values.items()})
    return row


def _set(row: Model, values: dict) -> None:
    for name, value in values.items():
        setattr(row, name, value)


def _keep(row: Model) -> None:
    row.full_clean()
    row.save()


def _free_key(model, name: str) -> str:
    """A readable key from the name that no other row has."""
    longest = model._meta.get_field("key").max_length - 4
    stem = slugify(name)[:longest].strip("-") or model._meta.model_name
    taken = set(model.objects.filter(key__startswith=stem).values_list("key", flat=True))
    return next(key for key in (stem, *(f"{stem}-{n}" for n in range(2, 1000))) if key not in taken)


def _delete(thing: Model, by: User) -> None:
    """Delete, and remember the key so that loading the shipped catalogue does not bring it back."""
    model, key, subject = thing._meta.model_name, thing.key, str(thing)
    try:
        with transaction.atomic():
            thing.delete()
    except ProtectedError as error:
        raise InUse(thing, _places(error.protected_objects, thing)) from error
    record(user=by, action=DELETED, subject=subject, model=model, key=key)


def _places(users, thing: Model) -> list[Place]:
    """The pages on which each use can be seen, each once, in order of name."""
    found = {_page_of(user, thing) for user in users}
    return sorted(found, key=lambda place: place.name)


def _page_of(user: Model, thing: Model) -> Place:
    """The nearest row with a page of its own among what a row belongs to; `thing` itself does not count.

    Walking the foreign keys keeps this floor from knowing the apps above it.
    """
    waiting = deque([(user, 0)])
    while waiting:
        row, hops = waiting.popleft()
        if hasattr(row, "get_absolute_url"):
            return Place(str(row), row.get_absolute_url())
        if hops < HOPS_TO_A_PAGE:
            parents = [getattr(row, f.name) for f in row._meta.concrete_fields if f.many_to_one]
            waiting.extend((parent, hops + 1) for parent in parents if parent is not None and parent != thing)
    return Place(f"{user._meta.verbose_name} {user}", "")
