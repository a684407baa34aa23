"""Rolls by the drop, batts between supports, wrap round pipes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff.geometry import Field
from acoustics.takeoff.lengths import LengthPiece, LengthPlan, LengthStock, cut_lengths
from acoustics.takeoff.model import Board, BoardRules, Gaps, Surface
from acoustics.takeoff.sheets import SheetPiece, SheetPlan, SheetStock, cut_sheets

JOINT_CLEAR_MM = 100  # a butt joint of the membrane off the joints of the board over it, common practice


@dataclass(frozen=True, kw_only=True)
class RollPlan:
    """Drops side by side: widths from the left, where they meet, and how they come off the rolls."""

    widths_mm: tuple[int, ...]
    joints_mm: tuple[int, ...]
    drop_mm: int
    cut: LengthPlan
    rolls: int


@dataclass(frozen=True, kw_only=True)
class BattPlan:
    """Batts between supports; batts and lower_bound count whole batts before packing."""

    pieces: tuple[SheetPiece, ...]
    cut: SheetPlan
    batts: int
    lower_bound: int
    area_m2: float


def roll_drops(
    run_mm: int,
    height_mm: int,
    *,
    roll_width_mm: int,
    roll_length_mm: int,
    lap_mm: int = 0,
    allowance_mm: int = 0,
    board_joints_mm: Sequence[int] = (),
    roll_price: Decimal = Decimal(1),
    seconds: float = 1.0,
) -> RollPlan:
    """Drops of a membrane across a run, lapped or butted; a butt joint keeps off the board joints.

    allowance_mm is added to each drop for the turn at its ends. A drop longer than the roll is an
    error, never a silent split.
    """
    if run_mm <= 0 or height_mm <= 0:
        raise InputError("run_mm", "The run and the height must be above nought.")
    if lap_mm < 0 or lap_mm >= roll_width_mm:
        raise InputError("lap_mm", "The lap must be from nought to less than the roll's width.")
    drop = height_mm + allowance_mm
    if drop > roll_length_mm:
        raise InputError(
            "roll_length_mm",
            f"A drop of {drop} mm is longer than the roll ({roll_length_mm} mm); lay it the other way.",
        )
    step = roll_width_mm - lap_mm
    count = max(1, math.ceil((run_mm - lap_mm) / step))
    joints = [step * n for n in range(1, count)]
    if not lap_mm and board_joints_mm:
        count, joints = _off_the_joints(count, step, run_mm, board_joints_mm)
    edges = [0, *joints, run_mm]
    widths = tuple(b - a + (lap_mm if b != run_mm else 0) for a, b in itertools.pairwise(edges))
    cut = cut_lengths(
        [LengthStock(length_mm=roll_length_mm, price=roll_price)],
        [LengthPiece(label="drop", length_mm=drop, quantity=count)],
        seconds=seconds,
    )
    return RollPlan(widths_mm=widths, joints_mm=tuple(joints), drop_mm=drop, cut=cut, rolls=cut.count)


def _off_the_joints(count: int, step: int, run: int, board_joints: Sequence[int]) -> tuple[int, list[int]]:
    """The first drop narrowed, with one drop more where it must be, until the butts clear the board's joints."""
    best = None
    for drops in (count, count + 1):
        for shift in range(0, min(drops * step - run, step - 10) + 1, 10):
            joints = [step * n - shift for n in range(1, drops)]
            clear = min((abs(j - b) for j in joints for b in board_joints), default=JOINT_CLEAR_MM)
            if best is None or clear > best[0]:
                best = (clear, drops, joints)
            if clear >= JOINT_CLEAR_MM:
                return drops, joints
    return best[1], best[2]


def batts_between(
    surface: Surface,
    *,
    batt_width_mm: int = 600,
    batt_length_mm: int = 1200,
    support_width_mm: int = 48,
    friction_mm: int = 8,
    seconds: float = 1.0,
    seed: int = 0,
) -> BattPlan:
    """Batts cut to the bays between supports, friction added to each width, pooled over the surface.

    A bay wider than the batt takes the batt across; wider than its length, several side by side.
    """
    plain = Surface(
        name=surface.name,
        outline_mm=surface.outline_mm,
        openings_mm=surface.openings_mm,
        supports=surface.supports,
        gaps_mm=Gaps(sides_mm=0, top_mm=0, bottom_mm=0),
    )
    field = Field(plain, Board(), BoardRules())
    half = support_width_mm // 2
    lines = [field.x0, *field.supports, field.x1]
    pieces, area = [], 0
    for bay, (left, right) in enumerate(itertools.pairwise(lines), start=1):
        # supports at the ends stand inside the surface, so they take their whole width
        a = left + (half if left in field.supports else support_width_mm)
        b = right - (half if right in field.supports else support_width_mm)
        if b - a <= 0:
            continue
        for shape in field.shapes(a, field.y0, b, field.y1):
            area += shape.area
            pieces += _bay_pieces(bay, shape.width + friction_mm, shape.height, batt_width_mm, batt_length_mm)
    cut = cut_sheets([SheetStock(width_mm=batt_width_mm, height_mm=batt_length_mm)], pieces, seconds=seconds, seed=seed)
    return BattPlan(pieces=tuple(pieces), cut=cut, batts=cut.count, lower_bound=cut.lower_bound, area_m2=area / 1e6)


def _bay_pieces(bay: int, width: int, height: int, short: int, long: int) -> list[SheetPiece]:
    if width > long:
        half = -(-width // 2)
        return _bay_pieces(bay, half, height, short, long) + _bay_pieces(bay, width - half, height, short, long)
    step, wide = (long, short) if width <= short else (short, long)
    pieces = []
    whole, rest = divmod(height, step)
    for rise, count in ((step, whole), (rest, 1 if rest else 0)):
        if count:
            size = (width, rise) if wide == short else (rise, width)
            pieces.append(
                SheetPiece(label=f"bay {bay}", width_mm=size[0], height_mm=size[1], quantity=count, may_turn=True)
            )
    return pieces


def pipe_wrap(length_mm: int, *, diameter_mm: int, thickness_mm: int, lap_mm: int = 50) -> tuple[int, int]:
    """(width, length) mm of wrap for one straight pipe: girth at mid-thickness plus the lap."""
    if length_mm <= 0 or diameter_mm <= 0:
        raise InputError("diameter_mm", "The pipe's length and diameter must be above nought.")
    return math.ceil(math.pi * (diameter_mm + thickness_mm)) + lap_mm, length_mm
