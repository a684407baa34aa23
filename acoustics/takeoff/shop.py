"""Straight stock and the pieces wanted of it: the knapsack that fills one length, and quick first plans."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from acoustics.takeoff.clock import Deadline

Column = tuple[int, np.ndarray]  # stock number, pieces of each size
TINY = 1e-7
# Work in seconds, measured: a part of a knapsack and one of its cells; a piece fitted and a length looked at for it
KNAPSACK_PART, KNAPSACK_CELL, FIT_PIECE, FIT_STEP = 4e-6, 1.05e-9, 4e-6, 2e-8


@dataclass(frozen=True)
class Shop:
    """sizes (kerf included, longest first), demand per size, and the stock to cut from."""

    sizes: np.ndarray
    demand: np.ndarray
    capacity: np.ndarray
    price: np.ndarray
    available: np.ndarray


@dataclass
class Solution:
    cost: int
    columns: list[Column]

    @staticmethod
    def trimmed(shop: Shop, columns: list[Column]) -> Solution:
        """Drop pieces cut beyond the demand, and lengths left empty by that."""
        surplus = sum((p for _, p in columns), np.zeros_like(shop.demand)) - shop.demand
        kept = []
        for s, pattern in sorted(columns, key=lambda c: int(c[1].sum())):
            spare = np.minimum(pattern, np.maximum(surplus, 0))
            surplus = surplus - spare
            if (pattern - spare).any():
                kept.append((s, pattern - spare))
        return Solution(int(sum(shop.price[s] for s, _ in kept)), kept)


def knapsack(shop: Shop, values: np.ndarray, most: np.ndarray, clock: Deadline) -> tuple[np.ndarray, list]:
    """Best value of each capacity up to the largest, by binary parts of each size; and the choices."""
    top = int(shop.capacity.max())
    table = np.zeros(top + 1)
    chosen = []
    for t in np.nonzero((values > TINY) & (most > 0))[0]:
        size, left, part = int(shop.sizes[t]), int(min(most[t], top // shop.sizes[t])), 1
        while left > 0:
            take = min(part, left)
            weight = size * take
            if weight > top:
                break
            offer = table[: top + 1 - weight] + values[t] * take
            better = offer > table[weight:]
            np.copyto(table[weight:], offer, where=better)
            chosen.append((t, take, weight, better))
            left -= take
            part *= 2
    clock.spend(len(chosen) * (KNAPSACK_PART + KNAPSACK_CELL * top))
    return table, chosen


def trace(shop: Shop, chosen: list, capacity: int) -> np.ndarray:
    pattern = np.zeros(len(shop.sizes), int)
    for t, take, weight, better in reversed(chosen):
        if capacity >= weight and better[capacity - weight]:
            pattern[t] += take
            capacity -= weight
    return pattern


def first_fit(shop: Shop, clock: Deadline) -> Solution | None:
    """Longest first into the first length with room, once per way of choosing the stock."""
    best = None
    by_value = sorted(range(len(shop.price)), key=lambda s: (shop.price[s] / shop.capacity[s], -shop.capacity[s]))
    ways = [[s, *(o for o in by_value if o != s)] for s in by_value]
    for way in ways:
        solution = _fit_way(shop, way, clock)
        if solution is not None and (best is None or solution.cost < best.cost):
            best = solution
    return best


def knapsack_fill(shop: Shop, clock: Deadline) -> Solution | None:
    """One best-filled length after another, long pieces worth a little more than their length."""
    demand, available = shop.demand.copy(), shop.available.copy()
    values = shop.sizes.astype(float) ** 1.03
    taken: list[Column] = []
    while demand.any():
        if clock.over():
            return None
        table, chosen = knapsack(shop, values, demand, clock)
        worth = [
            table[shop.capacity[s]] / max(shop.price[s], TINY) if available[s] >= 1 else 0.0
            for s in range(len(shop.price))
        ]
        s = int(np.argmax(worth))
        pattern = trace(shop, chosen, int(shop.capacity[s])) if worth[s] > 0 else np.zeros_like(demand)
        if not pattern.any():
            return None
        used = pattern > 0
        times = int(min((demand[used] // pattern[used]).min(), available[s]))
        taken += [(s, pattern)] * times
        available[s] -= times
        demand = demand - times * pattern
    bars = [[s, 0, pattern] for s, pattern in taken]
    return Solution.trimmed(shop, _smaller_stock(shop, bars, available))


def start_solution(shop: Shop, clock: Deadline) -> Solution | None:
    """The cheaper of first fit and, for more than a few pieces, the knapsack fill."""
    best = first_fit(shop, clock)
    if shop.demand.sum() > 20 and not clock.over():
        filled = knapsack_fill(shop, clock)
        if best is None or (filled is not None and filled.cost < best.cost):
            best = filled
    return best


def _fit_way(shop: Shop, way: list[int], clock: Deadline) -> Solution | None:
    open_bars: list[list] = []
    stock_left = shop.available.copy()
    for t, size in enumerate(shop.sizes):
        for _ in range(int(shop.demand[t])):
            for bar in open_bars:
                if bar[1] >= size:
                    break
            else:
                s = next((s for s in way if stock_left[s] > 0 and shop.capacity[s] >= size), None)
                if s is None:
                    return None
                stock_left[s] -= 1
                bar = [s, int(shop.capacity[s]), np.zeros(len(shop.sizes), int)]
                open_bars.append(bar)
            bar[1] -= size
            bar[2][t] += 1
    clock.spend(int(shop.demand.sum()) * (FIT_PIECE + FIT_STEP * len(open_bars)))
    return Solution.trimmed(shop, _smaller_stock(shop, open_bars, stock_left))


def _smaller_stock(shop: Shop, bars: list[list], stock_left: np.ndarray) -> list[Column]:
    """Move each filled length to the cheapest stock that still holds it."""
    columns = []
    for s, _, pattern in bars:
        load = int(pattern @ shop.sizes)
        options = [o for o in range(len(shop.price)) if shop.capacity[o] >= load and (stock_left[o] > 0 or o == s)]
        o = min(options, key=lambda o: (shop.price[o], shop.capacity[o]))
        stock_left[s] += 1
        stock_left[o] -= 1
        columns.append((o, pattern))
    return columns
