"""Counts by rule: sealant, screws, coverage by area, whole packs, weights and lifts.

Rates and centres are common practice in the trade unless a source is named; each is an argument or a
named constant, so that the office can set its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff.model import Surface

# Screws per m2 and layer against support spacing s (m): a + b / s. Through 11 at 600 and 14 at 400 on
# walls, 18 at 400 on ceilings (common practice); other spacings lie on the same line.
SCREWS_PER_M2 = {"wall": (5.0, 3.6), "ceiling": (9.0, 3.6), "floor": (5.0, 3.6)}
BOX_SEALANT_MM = 300  # run of sealant round one electrical box, common practice
ONE_PERSON_KG, TWO_PEOPLE_KG = 20.0, 40.0  # common practice; local manual-handling rules decide


@dataclass(frozen=True, kw_only=True)
class SealantRun:
    length_mm: int
    gap_mm: float
    depth_mm: float


@dataclass(frozen=True, kw_only=True)
class SealantCount:
    length_m: float
    volume_l: float
    with_waste_l: float
    tubes: int
    left_l: float


@dataclass(frozen=True, kw_only=True)
class PackCount:
    """Whole packs for a need; left is what stays over, in the unit of the need."""

    need: float
    packs: int
    bought: float
    left: float
    mass_kg: float
    cost: Decimal


def perimeter_runs(
    surface: Surface, depths_mm: Sequence[float], *, boxes: int = 0, opening_gap_mm: int = 5
) -> tuple[SealantRun, ...]:
    """Runs of sealant round one surface and its openings, once per layer of the given depths."""
    gaps = surface.gaps_mm
    by_gap: dict[float, float] = {}
    corners = surface.outline_mm
    turning = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True))
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        run = (x2 - x1) if turning > 0 else (x1 - x2)
        gap = gaps.bottom_mm if run > 0 else gaps.top_mm if run < 0 else gaps.sides_mm
        by_gap[gap] = by_gap.get(gap, 0.0) + math.hypot(x2 - x1, y2 - y1)
    around = sum(
        math.hypot(x2 - x1, y2 - y1)
        for ring in surface.openings_mm
        for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True)
    )
    by_gap[opening_gap_mm] = by_gap.get(opening_gap_mm, 0.0) + around + BOX_SEALANT_MM * boxes
    return tuple(
        SealantRun(length_mm=round(length), gap_mm=gap, depth_mm=depth)
        for depth in depths_mm
        for gap, length in sorted(by_gap.items())
        if gap > 0 and length > 0
    )


def sealant_tubes(runs: Sequence[SealantRun], *, tube_ml: float = 900, waste_percent: float = 12) -> SealantCount:
    """Tubes for the runs: length x gap x depth, plus waste, up to the whole tube."""
    if tube_ml <= 0:
        raise InputError("tube_ml", "The tube must hold more than nothing.")
    litres = sum(run.length_mm * run.gap_mm * run.depth_mm for run in runs) / 1e6
    wanted = litres * (1 + waste_percent / 100)
    tubes = _up(wanted * 1000 / tube_ml)
    return SealantCount(
        length_m=sum(run.length_mm for run in runs) / 1000,
        volume_l=litres,
        with_waste_l=wanted,
        tubes=tubes,
        left_l=tubes * tube_ml / 1000 - wanted,
    )


def screws(
    area_m2: float, *, spacing_mm: int = 600, kind: str = "wall", layers: int = 1, waste_percent: float = 10
) -> int:
    """Screws for `layers` layers of board over `area_m2` with supports at `spacing_mm`."""
    if kind not in SCREWS_PER_M2:
        raise InputError("kind", f"Screws are counted for {', '.join(SCREWS_PER_M2)}; not for {kind}.")
    if spacing_mm <= 0:
        raise InputError("spacing_mm", "Support spacing must be above nought.")
    base, slope = SCREWS_PER_M2[kind]
    per_m2 = base + slope * 1000 / spacing_mm
    return layers * _up(area_m2 * per_m2 * (1 + waste_percent / 100))


def spread(area_m2: float, *, per_m2: float, waste_percent: float = 5) -> float:
    """Amount of something laid by area (compound, adhesive, pads) with its waste."""
    return area_m2 * per_m2 * (1 + waste_percent / 100)


def packs(
    need: float,
    *,
    per_pack: float,
    pack_mass_kg: float = 0.0,
    pack_price: Decimal = Decimal(0),
    in_van: float = 0.0,
) -> PackCount:
    """Whole packs to buy for `need`, after what is in the van."""
    if per_pack <= 0:
        raise InputError("per_pack", "A pack must hold more than nothing.")
    if need < 0:
        raise InputError("need", "The need cannot be below nought.")
    short = max(0.0, need - in_van)
    count = _up(short / per_pack)
    bought = count * per_pack
    return PackCount(
        need=need,
        packs=count,
        bought=bought,
        left=bought + in_van - need if need < bought + in_van else 0.0,
        mass_kg=count * pack_mass_kg,
        cost=count * pack_price,
    )


def spare_sheets(count: int, *, one_in: int = 15) -> int:
    """Spare whole sheets for damage: one in 15 begun (common practice), none where none are needed."""
    return _up(count / one_in) if count else 0


def lift(mass_kg: float, *, ceiling: bool = False) -> int:
    """People for one piece: 1 or 2; above 40 kg 2 and a board lift. Ceilings always 2."""
    return 2 if ceiling or mass_kg >= ONE_PERSON_KG else 1


def stack_load(sheets: int, mass_kg_m2: float) -> float:
    """Load of a flat stack on the floor it lies on, kg/m2. Whether the floor bears it is for an engineer."""
    return sheets * mass_kg_m2


def _up(value: float) -> int:
    return math.ceil(value - 1e-9)
