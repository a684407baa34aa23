"""The search behind cut_sheets: quick fills now, bounds by area and by pieces that cannot share."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from acoustics.takeoff.fill import Bin, Rect, fill, orders, score
from acoustics.takeoff.lp import Deadline

ROUNDS_PER_SECOND = 120


@dataclass(frozen=True)
class Yard:
    """Sheets to cut from; prices in whole units (1 each where none is given: scale None)."""

    sizes: tuple[Rect, ...]
    prices: tuple[int, ...]
    available: tuple[float, ...]
    kerf: int
    scale: int | None

    @staticmethod
    def of(sizes, prices: Sequence[Decimal], available, kerf: int) -> Yard:
        scale, whole = None, [1] * len(sizes)
        if any(prices):
            scale = 10 ** max(0, *(-p.as_tuple().exponent for p in prices))
            whole = [int(p * scale) for p in prices]
        limits = tuple(math.inf if a is None else a for a in available)
        return Yard(tuple(sizes), tuple(whole), limits, kerf, scale)

    def cost(self, bins: list[Bin]) -> int:
        return sum(self.prices[box.stock] for box in bins)


def pack_yard(
    yard: Yard, rects: Sequence[Rect], turns: Sequence[bool], clock: Deadline, rng: random.Random
) -> tuple[list[Bin] | None, int, int]:
    """(sheets or None, lower bound on their number, lower bound on their cost in whole units)."""
    if not rects:
        return [], 0, 0
    count_bound, cost_bound = simple_bounds(yard, rects, turns)
    best, best_key = None, (math.inf, math.inf)
    standard = orders(rects)
    rounds = int(max(clock.left(), 0.1) * ROUNDS_PER_SECOND)
    for turn in range(12 + rounds):
        if turn >= 12 and clock.over():
            break
        order = list(standard[turn % 4])
        if turn >= 12:
            for _ in range(rng.randrange(1, 5)):
                a = rng.randrange(len(order))
                order.insert(rng.randrange(a + 1), order.pop(a))
        bins = _fill_yard(yard, rects, turns, order, turn % 3, turn)
        if bins is None:
            continue
        key = (yard.cost(bins), score(bins))
        if key < best_key:
            best, best_key = bins, key
            if key[0] <= cost_bound:
                break
    return best, count_bound, cost_bound


def _fill_yard(yard: Yard, rects, turns, order, mode: int, turn: int) -> list[Bin] | None:
    """One pass; stored sheets (price nought) are opened first, then the cheapest for its area."""
    ranks = sorted(
        range(len(yard.sizes)),
        key=lambda s: (yard.prices[s] > 0, yard.prices[s] / (yard.sizes[s][0] * yard.sizes[s][1])),
    )
    if len(ranks) > 1 and turn % 2:
        paid = [s for s in ranks if yard.prices[s] > 0]
        ranks = [s for s in ranks if yard.prices[s] == 0] + paid[1:] + paid[:1]
    bins: list[Bin] = []
    used = [0] * len(yard.sizes)
    for index in order:
        before = len(bins)
        w, h = rects[index]
        stock = next(
            (
                s
                for s in ranks
                if used[s] < yard.available[s]
                and (
                    (w <= yard.sizes[s][0] and h <= yard.sizes[s][1])
                    or (turns[index] and h <= yard.sizes[s][0] and w <= yard.sizes[s][1])
                )
            ),
            None,
        )
        width, height = yard.sizes[stock] if stock is not None else (0, 0)
        fill(rects, turns, [index], width, height, yard.kerf, mode, bins)
        if len(bins) > before:
            if stock is None:
                return None
            bins[-1].stock = stock
            used[stock] += 1
    return bins


def simple_bounds(yard: Yard, rects, turns) -> tuple[int, int]:
    """Lower bounds on count and cost: area with kerf, and pieces no two of which share a sheet."""
    k = yard.kerf
    total = sum((w + k) * (h + k) for w, h in rects)
    areas = [(w + k) * (h + k) for w, h in yard.sizes]
    by_area = math.ceil(total / max(areas) - 1e-9)
    alone = 0
    if len(yard.sizes) == 1:
        alone = sum(_needs_own(rect, turn, yard.sizes[0], k) for rect, turn in zip(rects, turns, strict=True))
    # the cheapest area first, each kind only as far as it is available: the fractional least cost
    left, cost = float(total), 0.0
    kinds = zip(yard.prices, areas, yard.available, strict=True)
    for price, area, most in sorted(kinds, key=lambda kind: kind[0] / kind[1]):
        take = min(left, area * most)
        cost += price * take / area
        left -= take
        if left <= 0:
            break
    unit = max(1, math.gcd(*yard.prices))
    least = math.ceil(cost / unit - 1e-9) * unit
    return max(by_area, alone), max(least, alone * yard.prices[0])


def _needs_own(rect: Rect, turn: bool, sheet: Rect, kerf: int) -> bool:
    """Whether two such pieces can never share a sheet, whichever way they lie."""
    (w, h), (width, height) = rect, sheet
    ways = [(w, h)] if w <= width and h <= height else []
    if turn and h <= width and w <= height:
        ways.append((h, w))
    least_w, least_h = min(a for a, _ in ways), min(b for _, b in ways)
    return 2 * least_w + kerf > width and 2 * least_h + kerf > height
