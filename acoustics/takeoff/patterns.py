"""Cutting patterns for straight stock: column generation, the dive, the enumeration."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.lp import CoverLp
from acoustics.takeoff.shop import TINY, Column, Shop, Solution, knapsack, start_solution, trace

# Work in seconds, measured: a step back through a knapsack, a step of the enumeration
TRACE_STEP, ENUMERATION_STEP = 1.2e-7, 1.6e-6
SMOOTHING = 0.7  # share of the best duals in those priced (after Wentges, 1997): fewer rounds


@dataclass
class Relaxed:
    """bound is what duals and stock_duals prove; columns and amounts are the last relaxed solution."""

    bound: float
    duals: np.ndarray
    stock_duals: np.ndarray
    columns: list[Column]
    amounts: np.ndarray


def generate(shop: Shop, start: Solution | None, clock: Deadline, columns: list[Column] = ()) -> Relaxed | None:
    """Column generation to the optimum of the relaxation, or to the best proven bound in time."""
    sizes = len(shop.sizes)
    limited = [s for s in range(len(shop.price)) if math.isfinite(shop.available[s])]
    lower = np.concatenate([shop.demand.astype(float), np.full(len(limited), -np.inf)])
    upper = np.concatenate([np.full(sizes, np.inf), shop.available[limited]])
    master = CoverLp(lower, upper)
    kept: list[Column] = []
    seen: set[tuple[int, bytes]] = set()
    huge = float(shop.price.sum() + 1) * 1000
    for t in range(sizes):
        master.add(huge, np.eye(sizes + len(limited))[t])

    def add(s: int, pattern: np.ndarray) -> bool:
        mark = (s, pattern.tobytes())
        if mark in seen:
            return False
        seen.add(mark)
        rows = np.concatenate([pattern, [1 if s == o else 0 for o in limited]])
        master.add(float(shop.price[s]), rows)
        kept.append((s, pattern))
        return True

    for s, pattern in [*(start.columns if start else ()), *columns]:
        add(int(s), pattern)
    answer, best = None, (-1.0, np.zeros(sizes), np.zeros(len(shop.price)))
    while True:
        fresh_answer = master.solve(clock)
        if fresh_answer is None:
            break
        answer = fresh_answer
        duals = np.maximum(answer.duals[:sizes], 0.0)
        stock_duals = np.zeros(len(shop.price))
        stock_duals[limited] = np.minimum(answer.duals[sizes:], 0.0)
        found = False
        if best[0] > 0:
            held = [
                SMOOTHING * old + (1 - SMOOTHING) * new for old, new in zip(best[1:], (duals, stock_duals), strict=True)
            ]
            best, patterns = _priced(shop, *held, limited, best, clock)
            found = _add_paying(shop, patterns, duals, stock_duals, add)
        if not found:
            best, patterns = _priced(shop, duals, stock_duals, limited, best, clock)
            found = _add_paying(shop, patterns, duals, stock_duals, add)
        if not found or clock.over() or answer.value - best[0] < 1e-7:
            break
    if answer is None:
        return None
    amounts = np.zeros(len(kept))
    amounts[: len(answer.amounts) - sizes] = answer.amounts[sizes:][: len(kept)]
    return Relaxed(max(best[0], 0.0), best[1], best[2], kept, amounts)


def _priced(shop: Shop, duals, stock_duals, limited: list[int], best: tuple, clock: Deadline) -> tuple:
    """The better of `best` and what these duals prove; and for each stock the pattern they value most.

    Duals divided by the worst ratio keep every pattern's reduced cost from falling below nought, so they
    prove a bound even before the generation ends (after Farley, 1990).
    """
    table, chosen = knapsack(shop, duals, shop.demand, clock)
    net = np.maximum(shop.price - stock_duals, TINY)
    ratio = max(1.0, float(np.max(table[shop.capacity] / net)))
    proven = float(duals @ shop.demand) / ratio + float(sum(stock_duals[s] * shop.available[s] for s in limited))
    if proven > best[0]:
        best = (proven, duals / ratio, stock_duals)
    clock.spend(len(chosen) * len(shop.capacity) * TRACE_STEP)
    return best, [trace(shop, chosen, int(capacity)) for capacity in shop.capacity]


def _add_paying(shop: Shop, patterns: list[np.ndarray], duals, stock_duals, add) -> bool:
    paying = [
        add(s, pattern) for s, pattern in enumerate(patterns) if pattern @ duals > shop.price[s] - stock_duals[s] + 1e-6
    ]
    return any(paying)


def dive(shop: Shop, relaxed: Relaxed, clock: Deadline) -> Solution | None:
    """Fix whole lengths, price again on what is left, until nothing is left."""
    taken: list[Column] = []
    rest, now = shop, relaxed
    available = shop.available.copy()
    while True:
        whole = [(i, int(n + 1e-6)) for i, n in enumerate(now.amounts) if n >= 1 - 1e-6]
        if not whole:
            whole = [(int(np.argmax(now.amounts - np.floor(now.amounts))), 1)]
        demand = rest.demand.copy()
        for i, n in whole:
            s, pattern = now.columns[i]
            for _ in range(n):
                use = np.minimum(pattern, demand)
                if not use.any() or available[s] < 1:
                    break
                demand = demand - use
                available[s] -= 1
                taken.append((s, use))
        if not demand.any():
            return Solution.trimmed(shop, taken)
        if (demand == rest.demand).all():
            return None
        rest = Shop(shop.sizes, demand, shop.capacity, shop.price, available)
        start = start_solution(rest, clock)
        if start is None:
            return None
        if clock.over():
            return Solution.trimmed(shop, taken + start.columns)
        usable = [(s, np.minimum(p, demand)) for s, p in now.columns]
        now = generate(rest, start, clock, [c for c in usable if c[1].any()])
        if now is None:
            return Solution.trimmed(shop, taken + start.columns)


def enumerate_patterns(
    shop: Shop, relaxed: Relaxed, room: float, clock: Deadline, most_patterns: int, maximal: bool = True
) -> tuple[list[Column], bool]:
    """Every pattern (every maximal one) with reduced cost up to `room`; and whether the list is complete."""
    most = np.minimum(shop.demand, shop.capacity.max() // shop.sizes)
    suffix = _suffix_values(shop, relaxed.duals, most)
    found: list[Column] = []
    steps = 0
    values, sizes = relaxed.duals.tolist(), shop.sizes.tolist()
    smallest_from = np.minimum.accumulate(shop.sizes[::-1])[::-1].tolist()
    count = len(sizes)
    limit = most.tolist()
    for s in range(len(shop.price)):
        need = float(shop.price[s] - relaxed.stock_duals[s]) - room - 1e-6
        stack = [(0, int(shop.capacity[s]), 0.0, ())]
        while stack:
            t, left, value, taken = stack.pop()
            steps += 1
            if steps % 1024 == 0:
                clock.spend(1024 * ENUMERATION_STEP)
            if len(found) >= most_patterns or (steps % 1024 == 0 and clock.left() < 0.02):
                return found, False
            if t == count or left < smallest_from[t]:
                if value >= need and taken and (not maximal or _maximal(taken, left, sizes, limit)):
                    pattern = np.zeros(count, int)
                    for size, n in taken:
                        pattern[size] = n
                    found.append((s, pattern))
                continue
            if value + suffix[t][left] < need:
                continue
            for n in range(min(limit[t], left // sizes[t]) + 1):
                rest = left - n * sizes[t]
                worth = value + n * values[t]
                if worth + suffix[t + 1][rest] >= need:
                    stack.append((t + 1, rest, worth, (*taken, (t, n)) if n else taken))
    return found, True


def _maximal(taken: tuple, left: int, sizes: list[int], limit: list[int]) -> bool:
    """No further piece fits: only such patterns are needed where more than the demand may be cut."""
    counts = dict(taken)
    for t in range(len(sizes) - 1, -1, -1):
        if sizes[t] > left:
            return True
        if counts.get(t, 0) < limit[t]:
            return False
    return True


def _suffix_values(shop: Shop, values: np.ndarray, most: np.ndarray) -> list:
    """Row t: most value of sizes t, t+1, ... in each capacity."""
    top = int(shop.capacity.max())
    rows = [np.zeros(top + 1)]
    for t in range(len(shop.sizes) - 1, -1, -1):
        table = rows[-1].copy()
        size, left, part = int(shop.sizes[t]), int(most[t]), 1
        while left > 0 and values[t] > TINY:
            take = min(part, left)
            weight = size * take
            if weight > top:
                break
            np.maximum(table[weight:], table[: top + 1 - weight] + values[t] * take, out=table[weight:])
            left -= take
            part *= 2
        rows.append(table)
    return [row.tolist() for row in reversed(rows)]
