"""What to buy for a job, split by supplier: after what is in the van and ordered already, with weights and the last day
to order."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from contractor.catalogue.models import Material, Supplier
from contractor.common.packs import FLOOR_BEARS_KG_M2, ONE_PERSON_KG, lift_words, pack_words
from contractor.jobs.dates import next_working_day, working_day_before
from contractor.orders.needs import Change
from contractor.rooms.takeoff.buying import pack_mass_kg


@dataclass(frozen=True, kw_only=True)
class OrderLine:
    """One material. `accepted` (in the take-off), `needed` (with the `changes` since), `from_van`, `ordered` and `packs`
    (to order) count packs; `material` is None where the catalogue holds it no more; money is ex VAT."""

    material: Material | None
    key: str
    name: str
    accepted: int
    changes: Sequence[Change]
    from_van: int
    ordered: int
    pack_quantity: int
    pack_unit: str
    pack_price: Decimal
    has_price: bool
    is_illustrative: bool
    pack_mass_kg: Decimal
    lead_time_days: int
    order_by: date | None

    @property
    def needed(self) -> int:
        return max(self.accepted + sum(change.packs for change in self.changes), 0)

    @property
    def packs(self) -> int:
        return max(self.needed - self.from_van - self.ordered, 0)

    @property
    def too_many(self) -> int:
        """Packs ordered that nothing needs any more."""
        return min(max(self.ordered + self.from_van - self.needed, 0), self.ordered)

    @property
    def cost(self) -> Decimal:
        return self.pack_price * self.packs

    @property
    def mass_kg(self) -> Decimal:
        return self.pack_mass_kg * self.packs

    @property
    def words(self) -> str:
        return self._counted(self.packs)

    @property
    def needed_words(self) -> str:
        return self._counted(self.needed)

    @property
    def ordered_words(self) -> str:
        return self._counted(self.ordered)

    @property
    def lift(self) -> str:
        """Who lifts one pack, where one person does not."""
        return lift_words(self.pack_mass_kg) if self.pack_mass_kg >= ONE_PERSON_KG else ""

    @property
    def sheet_m2(self) -> Decimal | None:
        """The area of one sheet; None of what is no sheet."""
        material = self.material
        if material is None or material.form != Material.Form.SHEET or not material.length_mm or not material.width_mm:
            return None
        return Decimal(material.length_mm * material.width_mm) / 1_000_000

    def _counted(self, packs: int) -> str:
        return pack_words({"packs": packs, "pack_unit": self.pack_unit, "pack_quantity": self.pack_quantity})


@dataclass(frozen=True, kw_only=True)
class Stack:
    """Sheets of one kind that a delivery brings, laid flat: what one stack puts on the floor, and how to spread it."""

    name: str
    count: int
    sheet_kg_m2: Decimal

    @property
    def kg_m2(self) -> Decimal:
        """Of all of them in one stack."""
        return self.count * self.sheet_kg_m2

    @property
    def most(self) -> int:
        """How many may lie in one stack."""
        return max(int(FLOOR_BEARS_KG_M2 / self.sheet_kg_m2), 1)

    @property
    def is_too_heavy(self) -> bool:
        return self.kg_m2 > FLOOR_BEARS_KG_M2

    @property
    def stacks(self) -> int:
        return -(-self.count // self.most)


@dataclass(frozen=True, kw_only=True)
class OrderList:
    """The lines of one supplier, or of nobody named yet; `today` decides what is late."""

    supplier: Supplier | None
    lines: list[OrderLine]
    today: date

    @property
    def key(self) -> str:
        return str(self.supplier.pk) if self.supplier else "none"

    @property
    def name(self) -> str:
        return self.supplier.name if self.supplier else "No supplier named yet"

    @property
    def to_order(self) -> list[OrderLine]:
        return [line for line in self.lines if line.packs]

    @property
    def cost(self) -> Decimal:
        return sum((line.cost for line in self.lines), Decimal(0))

    @property
    def mass_kg(self) -> Decimal:
        """What the delivery weighs, as far as the catalogue knows."""
        return sum((line.mass_kg for line in self.lines), Decimal(0))

    @property
    def stacks(self) -> list[Stack]:
        """What its sheets put on the floor, the heaviest first."""
        found = [
            Stack(name=line.name, count=line.packs, sheet_kg_m2=line.pack_mass_kg / line.sheet_m2)
            for line in self.to_order
            if line.sheet_m2 and line.pack_mass_kg
        ]
        return sorted(found, key=lambda stack: -stack.kg_m2)

    @property
    def order_by(self) -> date | None:
        """The last day on which the whole list can be ordered; None where no fitting day is booked."""
        return min((line.order_by for line in self.to_order if line.order_by), default=None)

    @property
    def is_late(self) -> bool:
        return self.order_by is not None and self.order_by < self.today


def order_lists(
    bought: list[dict],
    materials: dict[str, Material],
    from_van: dict[int, int],
    first_day: date | None,
    today: date,
    *,
    changes: Mapping[str, Sequence[Change]] | None = None,
    ordered: Mapping[str, int] | None = None,
    closed: Collection[date] = (),
) -> list[OrderList]:
    """The lines of `Calculation.takeoff["buy"]` by supplier in order of name, those of nobody last.

    `materials`, `changes` since acceptance and packs `ordered` by key, `from_van` packs by material id, `first_day` the
    first day of fitting, `closed` days that are no working days. A material that is only among the changes must be among `materials`.
    """
    changes, ordered = changes or {}, ordered or {}
    rows_by_key = _by_key(bought)
    for key in [key for key in changes if key not in rows_by_key and key in materials]:
        rows_by_key[key] = [_row_of(materials[key])]
    by_supplier: dict[Supplier | None, list[OrderLine]] = {}
    for key, rows in rows_by_key.items():
        material = materials.get(key)
        supplier = material.supplier if material else None
        order_by = last_day_to_order(first_day, rows[0]["lead_time_days"], closed) if first_day else None
        line = _line(rows, material, from_van, order_by, changes.get(key, ()), ordered.get(key, 0))
        by_supplier.setdefault(supplier, []).append(line)
    found = sorted(by_supplier.items(), key=lambda pair: (pair[0] is None, str(pair[0]).lower()))
    return [OrderList(supplier=supplier, lines=lines, today=today) for supplier, lines in found]


def last_day_to_order(first_day: date, lead_time_days: int, closed: Collection[date] = ()) -> date:
    """The day on which to order so that goods lie there the working day before `first_day`."""
    return working_day_before(first_day, lead_time_days + 1, closed)


def working_days_after(day: date, count: int, closed: Collection[date] = ()) -> date:
    for _ in range(count):
        day = next_working_day(day, closed)
    return day


def _by_key(bought: list[dict]) -> dict[str, list[dict]]:
    """Two rows of one material, needed in units that cannot be added, are bought as one."""
    by_key: dict[str, list[dict]] = {}
    for row in bought:
        if row["packs"]:
            by_key.setdefault(row["material_key"], []).append(row)
    return by_key


def _row_of(material: Material) -> dict:
    """As a take-off would list a material that it does not need."""
    return {
        "material_key": material.key,
        "material": material.name,
        "packs": 0,
        "pack_quantity": material.pack_quantity,
        "pack_unit": material.pack_unit,
        "pack_price": material.price or 0,
        "mass_kg": "0",
        "lead_time_days": material.lead_time_days,
        "price_is_illustrative": material.price_is_illustrative,
    }


def _line(
    rows: list[dict],
    material: Material | None,
    from_van: dict[int, int],
    order_by: date | None,
    changes: Sequence[Change],
    ordered: int,
) -> OrderLine:
    first, accepted = rows[0], sum(row["packs"] for row in rows)
    mass_kg = sum(Decimal(row["mass_kg"]) for row in rows)
    return OrderLine(
        material=material,
        key=first["material_key"],
        name=first["material"],
        accepted=accepted,
        changes=changes,
        from_van=from_van.get(material.pk, 0) if material else 0,
        ordered=ordered,
        pack_quantity=first["pack_quantity"],
        pack_unit=first["pack_unit"],
        pack_price=Decimal(first["pack_price"]),
        has_price=material is None or material.price is not None,
        is_illustrative=first["price_is_illustrative"],
        pack_mass_kg=mass_kg / accepted if accepted else pack_mass_kg(material),
        lead_time_days=first["lead_time_days"],
        order_by=order_by,
    )
