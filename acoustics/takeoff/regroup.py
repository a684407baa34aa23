"""Improve a plan of straight lengths by cutting a few of its lengths anew, each time to the proven best.

A few lengths are drawn, their pieces pooled. Where the relaxation of that small job shows that it may
cost less, every pattern that could pay goes into a whole-number program. Once the cost is settled, the
same with the tails for a goal: at no more cost, the squares of the tails worth keeping grow.
"""

from __future__ import annotations

import random

import numpy as np

from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.costs import Costs
from acoustics.takeoff.lp import solve_cover
from acoustics.takeoff.patterns import enumerate_patterns, generate
from acoustics.takeoff.shop import Column, Shop, Solution
from acoustics.takeoff.tails import gather_tails

SIZES = (5, 8, 4, 12, 6, 10)  # lengths drawn at a time, in turn
TAIL_SIZES = (3, 4, 5)
SUB_PATTERNS, TAIL_PATTERNS = 3_000, 1_500
FRUITLESS, FRUITLESS_TAILS = 400, 40  # draws without gain before it stops
SUB_WORK = 0.3  # most work for one program, seconds
# Work in seconds, measured: of a draw, beside what its steps report; of gathering what is left, for each pair
DRAW_WORK, GATHER_WORK = 2.5e-3, 4e-6


def regroup(shop: Shop, best: Solution, bound: int, costs: Costs, clock: Deadline, seed: int) -> Solution:
    rng = random.Random(seed)
    columns = _gathered(shop, best.columns, clock)
    cost = Solution.trimmed(shop, columns).cost
    fruitless = turn = 0
    while cost > bound and fruitless < FRUITLESS and not clock.over():
        fruitless, turn = fruitless + 1, turn + 1
        picked = _drawn(shop, columns, SIZES[turn % len(SIZES)], rng)
        clock.spend(DRAW_WORK)
        small, places = _small_shop(shop, columns, picked)
        have = [(columns[i][0], columns[i][1][places]) for i in sorted(picked)]
        found = _cheaper_than(small, have, costs, clock, seed)
        if found is not None:
            columns = [c for i, c in enumerate(columns) if i not in picked] + _widened(found, places, shop)
            columns = _gathered(shop, Solution.trimmed(shop, columns).columns, clock)
            cost, fruitless = sum(int(shop.price[s]) for s, _ in columns), 0
    return Solution.trimmed(shop, columns)


def _gathered(shop: Shop, columns: list[Column], clock: Deadline) -> list[Column]:
    """What is left of the lengths gathered in few of them, and each of those cut from the cheapest that holds it."""
    sizes = shop.sizes.tolist()
    place = {size: t for t, size in enumerate(sizes)}
    bars = [(s, [size for size, n in zip(sizes, p.tolist(), strict=True) for _ in range(n)]) for s, p in columns]
    clock.spend(GATHER_WORK * len(bars) ** 2)
    left = shop.available.copy()
    for s, _ in bars:
        left[s] -= 1
    gathered = []
    for s, pieces in gather_tails(bars, shop.capacity.tolist(), 0, 1):
        load = sum(pieces)
        fits = [o for o in range(len(shop.price)) if shop.capacity[o] >= load and (o == s or left[o] >= 1)]
        stock = min(fits, key=lambda o: (shop.price[o], o != s))
        left[s] += 1
        left[stock] -= 1
        pattern = np.zeros(len(sizes), int)
        for size in pieces:
            pattern[place[size]] += 1
        gathered.append((stock, pattern))
    return gathered


def _drawn(shop: Shop, columns: list[Column], wanted: int, rng: random.Random) -> set[int]:
    """Lengths to cut anew: in half of the draws two that leave much among them."""
    everyone = range(len(columns))
    picked = set(rng.sample(everyone, min(wanted, len(columns))))
    if rng.random() < 0.5:
        left = [int(shop.capacity[s] - pattern @ shop.sizes) for s, pattern in columns]
        wasteful = sorted(everyone, key=lambda i: -left[i] * rng.random())[:2]
        picked = set(wasteful) | set(sorted(picked)[: max(0, wanted - 2)])
    return picked


def _small_shop(shop: Shop, columns: list[Column], picked: set[int]) -> tuple[Shop, np.ndarray]:
    demand = sum(columns[i][1] for i in picked)
    places = np.nonzero(demand)[0]
    available = shop.available.copy()
    for i, (s, _) in enumerate(columns):
        available[s] -= i not in picked
    return Shop(shop.sizes[places], demand[places], shop.capacity, shop.price, available), places


def _widened(columns: list[Column], places: np.ndarray, shop: Shop) -> list[Column]:
    wide = []
    for s, pattern in columns:
        full = np.zeros(len(shop.sizes), int)
        full[places] = pattern
        wide.append((s, full))
    return wide


def _cheaper_than(shop: Shop, have: list[Column], costs: Costs, clock: Deadline, seed: int) -> list[Column] | None:
    cost = sum(int(shop.price[s]) for s, _ in have)
    relaxed = generate(shop, Solution(cost, have), clock)
    by_length = float((shop.sizes @ shop.demand) * (shop.price / shop.capacity).min())
    if relaxed is None or costs.up(max(relaxed.bound, by_length)) >= cost:
        return None
    less = costs.below(cost)
    patterns, complete = enumerate_patterns(shop, relaxed, less - relaxed.bound, clock, SUB_PATTERNS)
    if not complete or not patterns:
        return None
    return best_of(shop, patterns, less, clock.part(1.0, SUB_WORK), seed)[0]


def best_of(
    shop: Shop,
    columns: list[Column],
    cutoff: float,
    clock: Deadline,
    seed: int,
    exact: bool = False,
    worth: np.ndarray | None = None,
) -> tuple[list[Column] | None, bool]:
    """(lengths or None, settled): least cost, no dearer than the cutoff; or with `worth`, most worth."""
    if not columns:
        return None, True
    costs = np.array([shop.price[s] for s, _ in columns], float)
    lower = shop.demand.astype(float)
    upper = lower if exact else np.full(len(shop.demand), np.inf)
    rows = [np.array([pattern for _, pattern in columns]).T]
    for s in np.nonzero(np.isfinite(shop.available))[0]:
        rows.append(np.array([[1 if column[0] == s else 0 for column in columns]]))
        lower, upper = np.append(lower, 0.0), np.append(upper, shop.available[s])
    rows.append(costs[None, :])
    lower, upper = np.append(lower, -np.inf), np.append(upper, cutoff + 1e-6)
    answer = solve_cover(costs if worth is None else -worth, np.vstack(rows), lower, upper, clock, seed=seed)
    if answer is None:
        return None, False
    if answer.amounts is None:
        return None, True
    return [columns[i] for i, n in enumerate(answer.amounts) for _ in range(n)], answer.proved


def lengthen_tails(shop: Shop, columns: list[Column], kerf_mm: int, keep_mm: int, clock: Deadline, seed: int) -> list:
    """The same pieces at no more cost with longer tails of keep_mm and more."""
    rng = random.Random(seed)
    columns = list(columns)
    fruitless = turn = 0
    enough = 1 if len(columns) <= max(TAIL_SIZES) else min(FRUITLESS_TAILS, 2 * len(columns))
    while fruitless < enough and len(columns) > 1 and not clock.over():
        fruitless, turn = fruitless + 1, turn + 1
        few = len(columns) if enough == 1 else TAIL_SIZES[turn % len(TAIL_SIZES)]
        picked = set(rng.sample(range(len(columns)), few))
        tails = [_tail_mm(shop, columns[i], kerf_mm) for i in picked]
        if sum(tails) < keep_mm or sum(tails) == max(tails):
            continue  # too little to keep, or all of it in one tail already
        small, places = _small_shop(shop, columns, picked)
        patterns = _every_pattern(small)
        if patterns is None:
            continue
        clock.spend(DRAW_WORK + len(patterns) * 1e-5)
        have = [(columns[i][0], columns[i][1][places]) for i in sorted(picked)]
        worth = np.array([_worth(small, c, kerf_mm, keep_mm) for c in patterns])
        cost = sum(int(shop.price[s]) for s, _ in have)
        found, _ = best_of(small, patterns, cost, clock.part(1.0, SUB_WORK), seed, exact=True, worth=worth)
        gain = 0.0 if found is None else sum(_worth(small, c, kerf_mm, keep_mm) for c in found)
        if gain > sum(_worth(small, c, kerf_mm, keep_mm) for c in have) + 1e-6:
            columns = [c for i, c in enumerate(columns) if i not in picked] + _widened(found, places, shop)
            fruitless = 0
    return columns


def _worth(shop: Shop, column: Column, kerf_mm: int, keep_mm: int) -> float:
    tail = _tail_mm(shop, column, kerf_mm)
    return (tail / 1000) ** 2 if tail >= keep_mm else 0.0


def _tail_mm(shop: Shop, column: Column, kerf_mm: int) -> int:
    s, pattern = column
    return max(0, int(shop.capacity[s] - pattern @ shop.sizes) - kerf_mm)


def _every_pattern(shop: Shop) -> list[Column] | None:
    """All patterns of a small job, or None where there are too many."""
    fills: list[tuple[int, tuple[int, ...]]] = [(0, ())]
    longest = int(shop.capacity.max())
    for size, most in zip(shop.sizes.tolist(), shop.demand.tolist(), strict=True):
        fills = [
            (load + n * size, (*taken, n))
            for load, taken in fills
            for n in range(min(most, (longest - load) // size) + 1)
        ]
        if len(fills) > TAIL_PATTERNS:
            return None
    return [
        (s, np.array(taken))
        for load, taken in fills
        if load
        for s in range(len(shop.price))
        if load <= shop.capacity[s] and shop.available[s] >= 1
    ]
