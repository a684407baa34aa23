"""Lower bounds for cutting rectangles from sheets: each holds for any edge-to-edge cutting plan.

area_bound: area with kerf, and pieces no two of which can share a sheet.
scaled_bound: dual feasible functions on width and height (Fekete and Schepers, 2004).
relaxed_bound: the relaxation over all guillotine patterns of pieces rounded down to a grid, priced by a
dynamic program over the grid; rounding down keeps every true plan feasible, so the value is a bound.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.fill import Bin, Item, Rect
from acoustics.takeoff.lp import CoverLp

CELLS = (120, 240)  # grid cells along the longest sheet, coarse first
TABLE_ROW, TABLE_CELL = 1e-5, 1.2e-9  # work of a pass for each row, and for each cell and cut; seconds, measured


def area_bound(yard, items: Sequence[Item]) -> tuple[int, int]:
    """(sheets, cost) by area, and by pieces that each need a sheet of their own."""
    k = yard.kerf
    total = sum((w + k) * (h + k) for _, w, h, _ in items)
    areas = [(w + k) * (h + k) for w, h in yard.sizes]
    by_area = math.ceil(total / max(areas) - 1e-9)
    alone = 0
    if len(yard.sizes) == 1:
        alone = sum(_needs_own(item, yard.sizes[0], k) for item in items)
    # the cheapest area first, each kind only as far as it is available: the fractional least cost
    left, cost = float(total), 0.0
    kinds = zip(yard.prices, areas, yard.available, strict=True)
    for price, area, most in sorted(kinds, key=lambda kind: kind[0] / kind[1]):
        take = min(left, area * most)
        cost += price * take / area
        left -= take
        if left <= 0:
            break
    return max(by_area, alone), max(_up(cost, yard.unit), alone * yard.prices[0])


def _up(value: float, unit: int) -> int:
    return math.ceil(value / unit - 1e-6) * unit


def _ways(item: Item, sheet: Rect) -> list[Rect]:
    _, w, h, turn = item
    ways = [(w, h)] if w <= sheet[0] and h <= sheet[1] else []
    if turn and h <= sheet[0] and w <= sheet[1]:
        ways.append((h, w))
    return ways


def _needs_own(item: Item, sheet: Rect, kerf: int) -> bool:
    ways = _ways(item, sheet)
    return 2 * min(w for w, _ in ways) + kerf > sheet[0] and 2 * min(h for _, h in ways) + kerf > sheet[1]


def scaled_bound(yard, items: Sequence[Item]) -> int:
    """Sheets needed at least, by scaled sizes; one kind of sheet only (otherwise nought)."""
    if len(yard.sizes) != 1:
        return 0
    k = yard.kerf
    width, height = yard.sizes[0][0] + k, yard.sizes[0][1] + k
    ways = [_ways(item, yard.sizes[0]) for item in items]
    wide = _scalings({w + k for each in ways for w, _ in each}, width)
    tall = _scalings({h + k for each in ways for _, h in each}, height)
    # each item by its first and its last way round, which is the same one where it may not turn
    widths = [np.array([[f[each[i][0] + k] for each in ways] for f in wide]) for i in (0, -1)]
    heights = [np.array([[g[each[i][1] + k] for each in ways] for g in tall]) for i in (0, -1)]
    best = max(
        float(np.minimum(widths[0][f] * heights[0], widths[1][f] * heights[1]).sum(axis=1).max())
        for f in range(len(wide))
    )
    return math.ceil(best - 1e-6)


def _scalings(sizes: set[int], whole: int) -> list[dict[int, float]]:
    """Functions f with sum f(s) <= 1 whenever sum s <= whole."""
    found = [{s: s / whole for s in sizes}]
    for k in range(1, 5):
        found.append({s: _stepped(s, k, whole) for s in sizes})
    small = sorted({s for s in sizes if 2 * s <= whole} | {whole - s for s in sizes if 2 * s > whole})
    for least in small[:: max(1, len(small) // 12)]:
        if least > 0:
            # pieces under `least` count nothing, those over whole - least count as the whole
            found.append({s: 1.0 if s > whole - least else 0.0 if s < least else s / whole for s in sizes})
    return found


def _stepped(size: int, k: int, whole: int) -> float:
    scaled = size * (k + 1)
    return size / whole if scaled % whole == 0 else (scaled // whole) / k


def relaxed_bound(yard, items: Sequence[Item], bins: Sequence[Bin], clock: Deadline) -> tuple[int, int]:
    """(sheets, cost) by the relaxation over guillotine patterns, coarse grid first."""
    count, cost = 0, 0
    have = yard.cost(bins)
    longest = max(max(size) for size in yard.sizes) + yard.kerf
    for grid in (max(1, -(-longest // cells)) for cells in CELLS):
        if clock.over():
            break
        value = _relaxation(yard, items, bins, grid, clock, cost, have)
        cost = max(cost, _up(value, yard.unit))
        if len(yard.sizes) == 1:
            count = cost // yard.prices[0] if yard.prices[0] else 0
        if cost >= have:
            break
    return count, cost


def _relaxation(yard, items, bins, grid: int, clock: Deadline, known: int, have: int) -> float:
    k = yard.kerf
    # a piece thinner than the grid would round to nothing, so it is left out of the count
    items = [item for item in items if min(item[1], item[2]) + k >= grid]
    if not items:
        return 0.0
    kinds = Counter((w, h, turn) for _, w, h, turn in items)
    types = list(kinds)
    cells = [((w + k) // grid, (h + k) // grid, turn) for w, h, turn in types]
    sheets = [((w + k) // grid, (h + k) // grid) for w, h in yard.sizes]
    demand = np.array([kinds[t] for t in types], float)
    master = CoverLp(demand, np.full(len(types), np.inf))
    index = {t: i for i, t in enumerate(types)}
    of_key = {item[0]: index[item[1:]] for item in items}
    seen = set()

    def add(stock: int, column: np.ndarray) -> bool:
        mark = (stock, column.tobytes())
        if mark in seen:
            return False
        seen.add(mark)
        master.add(float(yard.prices[stock]), column)
        return True

    for box in bins:
        column = np.zeros(len(types))
        for placed in box.placed:
            if placed[0] in of_key:
                column[of_key[placed[0]]] += 1
        if column.any():
            add(box.stock, column)
    best = 0.0
    paid = list(range(len(yard.sizes)))
    for _ in range(400):
        answer = master.solve(clock)
        if answer is None:
            break
        duals = np.maximum(answer.duals, 0.0)
        table = GuillotineTable(cells, duals, max(w for w, _ in sheets), max(h for _, h in sheets))
        clock.spend(table.work)
        if any(yard.prices[s] == 0 and table.value[sheets[s]] > 1e-9 for s in paid):
            return best
        ratio = max(1.0, *(table.value[sheets[s]] / yard.prices[s] for s in paid if yard.prices[s]))
        best = max(best, float(duals @ demand) / ratio)
        if _up(best, yard.unit) >= min(have, _up(answer.value, yard.unit)) or clock.over():
            break
        fresh = False
        for s in paid:
            if table.value[sheets[s]] > yard.prices[s] + 1e-6:
                fresh |= add(s, table.pattern(*sheets[s], len(types)))
        if not fresh:
            break
    return best


class GuillotineTable:
    """Most value in every whole-cell rectangle, pieces without limit (Gilmore and Gomory, 1966).

    Passes of upright cuts and of level cuts alternate until neither gains.
    """

    def __init__(self, cells: Sequence[tuple[int, int, bool]], values: np.ndarray, width: int, height: int) -> None:
        self.cells, self.values = cells, values
        table = np.zeros((width + 1, height + 1))
        for (w, h, turn), value in zip(cells, values, strict=True):
            if value <= 0:
                continue
            for a, b in ((w, h), (h, w)) if turn else ((w, h),):
                if a <= width and b <= height:
                    np.maximum(table[max(a, 0) :, max(b, 0) :], value, out=table[max(a, 0) :, max(b, 0) :])
        self.value, self.work = table, len(cells) * TABLE_CELL * table.size
        while True:
            before = table.sum()
            _across(table)
            _across(table.T)
            self.work += TABLE_ROW * sum(table.shape) + TABLE_CELL * table.size * sum(table.shape) / 4
            if table.sum() <= before + 1e-9:
                break

    def pattern(self, width: int, height: int, types: int) -> np.ndarray:
        """Pieces of each type in a best filling of one rectangle."""
        column = np.zeros(types)
        waiting = [(width, height)]
        while waiting:
            w, h = waiting.pop()
            worth = self.value[w, h]
            if worth <= 1e-9:
                continue
            piece = self._piece(w, h, worth)
            if piece is not None:
                column[piece] += 1
                continue
            waiting += self._halves(w, h, worth)
        return column

    def _piece(self, w: int, h: int, worth: float) -> int | None:
        for t, (a, b, turn) in enumerate(self.cells):
            if self.values[t] >= worth - 1e-9 and ((a <= w and b <= h) or (turn and b <= w and a <= h)):
                return t
        return None

    def _halves(self, w: int, h: int, worth: float) -> list[Rect]:
        if w > 1:
            sums = self.value[1 : w // 2 + 1, h] + self.value[w - 1 : w - w // 2 - 1 : -1, h]
            at = int(np.argmax(sums))
            if sums[at] >= worth - 1e-9:
                return [(at + 1, h), (w - at - 1, h)]
        sums = self.value[w, 1 : h // 2 + 1] + self.value[w, h - 1 : h - h // 2 - 1 : -1]
        at = int(np.argmax(sums))
        return [(w, at + 1), (w, h - at - 1)]


def _across(table: np.ndarray) -> None:
    """Close the table under upright cuts: row w is the best of rows a and w - a."""
    for w in range(2, table.shape[0]):
        half = w // 2
        sums = table[1 : half + 1] + table[w - 1 : w - half - 1 : -1]
        np.maximum(table[w], sums.max(axis=0), out=table[w])
