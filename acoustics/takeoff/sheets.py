"""Rectangles cut from sheets by edge-to-edge cuts."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.cuts import cut_order, offcuts_of
from acoustics.takeoff.fill import Bin
from acoustics.takeoff.model import CutSheet, Placed
from acoustics.takeoff.packing import Yard, pack_yard


@dataclass(frozen=True, kw_only=True)
class SheetStock:
    """A sheet that can be bought, or with `available` set, one or more lying in the van."""

    width_mm: int
    height_mm: int
    price: Decimal = Decimal(0)
    available: int | None = None
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class SheetPiece:
    label: str
    width_mm: int
    height_mm: int
    quantity: int = 1
    may_turn: bool = True


@dataclass(frozen=True, kw_only=True)
class SheetPlan:
    """lower_bound: least number of sheets (one kind of stock) or least cost over its price (several)."""

    sheets: tuple[CutSheet, ...]
    count: int
    cost: Decimal
    lower_bound: int
    lower_bound_cost: Decimal
    optimal: bool


def cut_sheets(
    stock: Sequence[SheetStock],
    pieces: Sequence[SheetPiece],
    *,
    kerf_mm: int = 0,
    seconds: float = 5.0,
    seed: int = 0,
    keep_short_mm: int = 300,
    keep_long_mm: int = 600,
) -> SheetPlan:
    """Least cost of sheets for the pieces (least number where no price is given).

    Raises InputError (stock[i].*, pieces[i].*, kerf_mm).
    """
    _check(stock, pieces, kerf_mm)
    clock = Deadline(seconds)
    labels, items = [], []
    for piece in pieces:
        for _ in range(piece.quantity):
            items.append((len(items), piece.width_mm, piece.height_mm, piece.may_turn))
            labels.append(piece.label)
    yard = Yard.of(
        [(s.width_mm, s.height_mm) for s in stock], [s.price for s in stock], [s.available for s in stock], kerf_mm
    )
    bins, bound_count, bound_cost = pack_yard(yard, items, clock, random.Random(seed))
    if bins is None:
        raise InputError("stock", "The sheets available are not enough for the pieces; allow more.")
    sheets = tuple(
        _sheet(number, box, stock, labels, kerf_mm, keep_short_mm, keep_long_mm)
        for number, box in enumerate(bins, start=1)
    )
    cost = sum((stock[box.stock].price for box in bins), Decimal(0))
    lowest_cost = Decimal(0)
    if yard.scale:
        lowest_cost = min((Decimal(bound_cost) / yard.scale).quantize(Decimal(1) / yard.scale), cost)
    optimal = cost <= lowest_cost if yard.scale else len(sheets) == bound_count
    return SheetPlan(
        sheets=sheets,
        count=len(sheets),
        cost=cost,
        lower_bound=min(bound_count, len(sheets)),
        lower_bound_cost=lowest_cost,
        optimal=optimal,
    )


def _check(stock, pieces, kerf_mm) -> None:
    if not stock:
        raise InputError("stock", "Give at least one sheet size.")
    if kerf_mm < 0:
        raise InputError("kerf_mm", "The kerf cannot be below nought.")
    for index, each in enumerate(stock):
        for name in ("width_mm", "height_mm"):
            if getattr(each, name) <= 0:
                raise InputError(f"stock[{index}].{name}", "A sheet's sides must be above nought.")
        if each.price < 0:
            raise InputError(f"stock[{index}].price", "A price cannot be below nought.")
    for index, piece in enumerate(pieces):
        for name in ("width_mm", "height_mm"):
            if getattr(piece, name) <= 0:
                raise InputError(f"pieces[{index}].{name}", f"Piece {piece.label}: sides must be above nought.")
        if piece.quantity < 0:
            raise InputError(f"pieces[{index}].quantity", f"Piece {piece.label}: the quantity cannot be below nought.")
        if not any(_fits(piece, each) for each in stock):
            raise InputError(
                f"pieces[{index}].width_mm",
                f"Piece {piece.label} of {piece.width_mm} x {piece.height_mm} mm is larger than every sheet"
                f"{'' if piece.may_turn else ' the way round it must lie'}; choose a larger sheet, or set it in two.",
            )


def _fits(piece: SheetPiece, stock: SheetStock) -> bool:
    straight = piece.width_mm <= stock.width_mm and piece.height_mm <= stock.height_mm
    turned = piece.height_mm <= stock.width_mm and piece.width_mm <= stock.height_mm
    return straight or (piece.may_turn and turned)


def _sheet(number: int, box: Bin, stock, labels, kerf_mm, keep_short_mm, keep_long_mm) -> CutSheet:
    placed = tuple(
        Placed(label=labels[i], x_mm=x, y_mm=y, width_mm=w, height_mm=h, turned=turned)
        for i, x, y, w, h, turned in sorted(box.placed, key=lambda p: (p[1], p[2]))
    )
    cuts, parts = cut_order(box.width, box.height, placed, kerf_mm)
    return CutSheet(
        number=number,
        board=stock[box.stock].name,
        width_mm=box.width,
        height_mm=box.height,
        placed=placed,
        cuts=cuts,
        offcuts=offcuts_of(number, parts, keep_short_mm, keep_long_mm),
    )
