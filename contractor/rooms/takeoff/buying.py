"""From needs to whole packs: what to buy, what it weighs and costs, and each face's share of the cost."""

import math
from collections import defaultdict
from dataclasses import replace
from decimal import ROUND_DOWN, Decimal

from contractor.catalogue.models import Material
from contractor.rooms.takeoff.needs import Need, Wants

PENNY = Decimal("0.01")
SHEETS_PER_SPARE = 15  # one whole sheet kept spare for damage for every fifteen; common practice


def buy_list(wants: Wants) -> tuple[list[dict], dict[str, list[dict]]]:
    """Lines to buy, and each face's needs with its share of their cost. Shares add up to the lines' cost exactly."""
    lines, shares = [], defaultdict(list)
    for needs in _by_material(wants.needs):
        line = _line(needs, wants)
        lines.append(line)
        for face_key, quantity, cost in _shared(needs, Decimal(line["cost"])):
            shares[face_key].append(
                {
                    "material_key": line["material_key"],
                    "material": line["material"],
                    "needed": f"{quantity:.2f}",
                    "unit": line["needed_unit"],
                    "cost": f"{cost:.2f}",
                }
            )
    return lines, shares


def unpriced(wants: Wants) -> list[str]:
    """Names of the materials that have no price, in order."""
    return sorted({need.material.name for need in wants.needs if need.material.price is None})


def _line(needs: list[Need], wants: Wants) -> dict:
    material, unit = needs[0].material, needs[0].unit
    by_plan = wants.packs.get(material.key, 0) if any(need.is_planned for need in needs) else 0
    loose = [need for need in needs if not need.is_planned]
    by_rate = packs_for(material, sum(need.quantity for need in loose), unit) if loose else 0
    packs = by_plan + by_rate
    spare = packs // SHEETS_PER_SPARE if material.form == Material.Form.SHEET and by_plan else 0
    packs += spare
    needed = sum((need.quantity for need in needs), Decimal(0))
    held = pack_holds(material, unit)
    to_buy = needed - (wants.from_store.get(material.key, Decimal(0)) if by_plan or not loose else 0)
    cost = (material.price or Decimal(0)) * packs
    return {
        "material_key": material.key,
        "material": material.name,
        "kind": material.kind,
        "needed": f"{needed:.2f}",
        "needed_unit": unit,
        "packs": packs,
        "pack_quantity": material.pack_quantity,
        "pack_unit": material.pack_unit,
        "pack_price": f"{material.price or 0:.2f}",
        "cost": f"{cost:.2f}",
        "left_over": f"{max(held * packs - to_buy, Decimal(0)):.2f}" if held else "",
        "mass_kg": f"{pack_mass_kg(material) * packs:.1f}",
        "lead_time_days": material.lead_time_days,
        "price_is_illustrative": material.price_is_illustrative,
        "basis": _basis(material, needs, wants, by_plan, by_rate, spare),
    }


def _by_material(needs: list[Need]) -> list[list[Need]]:
    """Needs of one material together in one unit, in the catalogue's order of kinds; what cannot be turned into that
    unit is bought on a line of its own."""
    units: dict[str, str] = {}
    for need in sorted(needs, key=lambda n: not n.is_planned):
        units.setdefault(need.material.key, need.unit)
    groups: dict[tuple[str, str, str], list[Need]] = defaultdict(list)
    for need in needs:
        same = _converted(need, units[need.material.key])
        groups[same.material.kind, same.material.key, same.unit].append(same)
    return [group for _, group in sorted(groups.items())]


def _converted(need: Need, unit: str) -> Need:
    wanted, held = pack_holds(need.material, unit), pack_holds(need.material, need.unit)
    if need.unit == unit or not wanted or not held:
        return need
    return replace(need, quantity=need.quantity * wanted / held, unit=unit)


def packs_for(material: Material, quantity: Decimal, unit: str) -> int:
    """Whole packs that hold `quantity`."""
    held = pack_holds(material, unit)
    return math.ceil(quantity / held) if held else math.ceil(quantity)


def pack_holds(material: Material, unit: str) -> Decimal | None:
    """How much of `unit` one pack holds, or None where the catalogue does not say."""
    if material.coverage and unit == material.coverage_unit:
        return material.coverage
    if unit == "m" and material.length_mm:
        return Decimal(material.length_mm) / 1000
    if unit == "m2" and material.length_mm and material.width_mm:
        return Decimal(material.length_mm * material.width_mm) / 1_000_000
    if unit in (material.pack_unit, "each", "tube", "bag"):
        return Decimal(material.pack_quantity)
    return None


def pack_mass_kg(material: Material) -> Decimal:
    """What one pack weighs; nought where the catalogue does not say, as for small fixings."""
    if material.mass_kg_each:
        return material.mass_kg_each * material.pack_quantity
    if material.mass_kg_m and material.length_mm:
        return material.mass_kg_m * material.length_mm / 1000
    if material.mass_kg_m2 and material.coverage and material.coverage_unit == "m2":
        return material.mass_kg_m2 * material.coverage
    return Decimal(0)


def _basis(material: Material, needs: list[Need], wants: Wants, by_plan: int, by_rate: int, spare: int) -> str:
    if material.key in wants.basis:
        return wants.basis[material.key]
    if by_plan:
        more = [f"{by_rate} by the rates of the build-up"] if by_rate else []
        more += [f"{spare} spare for damage"] if spare else []
        counted = f"{by_plan} counted" if more else "counted"
        return f"{counted} by the cutting plan" + "".join(f", {words}" for words in more)
    if material.form == Material.Form.BATT and needs[0].unit == material.pack_unit:
        return _slab_basis(material, needs)
    return "by the rates of the build-up"


def _slab_basis(material: Material, needs: list[Need]) -> str:
    """Slabs as cut to the bays, and beside it what buying by area with waste would come to."""
    area = sum((need.area_m2 for need in needs), Decimal(0)) * (1 + material.waste_percent / 100)
    packs = packs_for(material, area, "m2")
    word = "pack" if packs == 1 else "packs"
    return f"slabs cut to the bays; by area with {material.waste_percent.normalize():f} % waste {packs} {word}"


def _shared(needs: list[Need], cost: Decimal) -> list[tuple[str, Decimal, Decimal]]:
    """The cost shared out by quantity in whole pence; the largest remainders get the odd pence."""
    by_face: dict[str, Decimal] = defaultdict(Decimal)
    for need in needs:
        by_face[need.face_key] += need.quantity
    total = sum(by_face.values())
    exact = {key: cost * (q / total if total else Decimal(1) / len(by_face)) for key, q in by_face.items()}
    down = {key: value.quantize(PENNY, rounding=ROUND_DOWN) for key, value in exact.items()}
    odd = int((cost - sum(down.values())) / PENNY)
    for key in sorted(exact, key=lambda k: (down[k] - exact[k], k))[:odd]:
        down[key] += PENNY
    return [(key, by_face[key], down[key]) for key in by_face]
