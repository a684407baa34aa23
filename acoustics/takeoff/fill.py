"""Fast guillotine packing of rectangles: one pass, a few orders, the best kept.

Each free rectangle of an open sheet takes the piece that leaves the shortest strip beside it; what is
left is split by one straight cut so that the larger rest stays whole.

    +--------+-----+
    |  rest       |     the cut above the piece runs right across (split low), or
    +--------+----+
    | piece  |rest|     the cut beside it runs right up (split upright)
    +--------+----+
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

Rect = tuple[int, int]


@dataclass
class Bin:
    """One open sheet: free rectangles [x, y, w, h] and pieces (index, x, y, w, h, turned)."""

    width: int
    height: int
    stock: int = 0
    free: list[list[int]] = field(default_factory=list)
    placed: list[tuple[int, int, int, int, int, bool]] = field(default_factory=list)
    used: int = 0


def open_bin(width: int, height: int, stock: int = 0) -> Bin:
    return Bin(width, height, stock, [[0, 0, width, height]])


def place(box: Bin, slot: int, index: int, w: int, h: int, turned: bool, kerf: int, tall: bool) -> None:
    """Put a piece in the corner of free rectangle `slot` and split the rest by one cut."""
    x, y, fw, fh = box.free.pop(slot)
    box.placed.append((index, x, y, w, h, turned))
    box.used += w * h
    right, above = fw - w - kerf, fh - h - kerf
    if tall:
        beside, over = (x + w + kerf, y, right, fh), (x, y + h + kerf, w, above)
    else:
        beside, over = (x + w + kerf, y, right, h), (x, y + h + kerf, fw, above)
    for rest in (beside, over):
        if rest[2] > 0 and rest[3] > 0:
            box.free.append(list(rest))


def _best_slot(bins: list[Bin], w: int, h: int, turn: bool, first_open: int) -> tuple | None:
    best, where = 1 << 60, None
    for number in range(first_open, len(bins)):
        for slot, (_, _, fw, fh) in enumerate(bins[number].free):
            dw, dh = fw - w, fh - h
            if dw >= 0 and dh >= 0:
                score = dw if dw < dh else dh
                if score < best:
                    best, where = score, (number, slot, False)
            if turn:
                dw, dh = fw - h, fh - w
                if dw >= 0 and dh >= 0:
                    score = dw if dw < dh else dh
                    if score < best:
                        best, where = score, (number, slot, True)
    return where


def _split_tall(mode: int, fw: int, fh: int, w: int, h: int) -> bool:
    if mode == 0:
        return (fw - w) * fh >= (fh - h) * fw
    if mode == 1:
        return fw - w >= fh - h
    return fw - w < fh - h


def fill(
    rects: Sequence[Rect],
    turns: Sequence[bool],
    order: Sequence[int],
    width: int,
    height: int,
    kerf: int,
    mode: int = 0,
    bins: list[Bin] | None = None,
) -> list[Bin]:
    """Pack all pieces in the given order into as few bins as this pass needs; `bins` are open already."""
    bins = [] if bins is None else bins
    for index in order:
        w, h = rects[index]
        where = _best_slot(bins, w, h, turns[index], 0)
        if where is None:
            turned = not (w <= width and h <= height)
            bins.append(open_bin(width, height))
            where = (len(bins) - 1, 0, turned)
        number, slot, turned = where
        if turned:
            w, h = h, w
        _, _, fw, fh = bins[number].free[slot]
        place(bins[number], slot, index, w, h, turned, kerf, _split_tall(mode, fw, fh, w, h))
    return bins


def orders(rects: Sequence[Rect]) -> list[list[int]]:
    """Orders worth trying: by longest side, by area, by height, by width."""
    every = range(len(rects))
    keys = (
        lambda i: (-max(rects[i]), -min(rects[i])),
        lambda i: -rects[i][0] * rects[i][1],
        lambda i: (-rects[i][1], -rects[i][0]),
        lambda i: (-rects[i][0], -rects[i][1]),
    )
    return [sorted(every, key=key) for key in keys]


def score(bins: list[Bin]) -> float:
    """Sheets used, less the room left in the emptiest: falls as a sheet empties."""
    if not bins:
        return 0.0
    return len(bins) - 1 + min(box.used / (box.width * box.height) for box in bins)


def quick_fill(
    rects: Sequence[Rect],
    turns: Sequence[bool],
    width: int,
    height: int,
    kerf: int,
    tries: int = 0,
    rng: random.Random | None = None,
    enough: int = 0,
) -> list[Bin]:
    """Best of the standard orders, then of `tries` shaken ones; stops at `enough` sheets."""
    best, best_score = None, float("inf")
    standard = orders(rects)
    plans = [(order, mode) for order in standard for mode in (0, 1, 2)]
    for turn in range(len(plans) + tries):
        if turn < len(plans):
            order, mode = plans[turn]
        else:
            order, mode = list(rng.choice(standard)), rng.randrange(3)
            for _ in range(rng.randrange(1, 4)):
                a = rng.randrange(len(order))
                order.insert(rng.randrange(a + 1), order.pop(a))
        bins = fill(rects, turns, order, width, height, kerf, mode)
        if (value := score(bins)) < best_score:
            best, best_score = bins, value
            if len(best) <= enough:
                break
    return best or []
