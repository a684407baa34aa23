"""The search behind cut_sheets, and its lower bounds."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from acoustics.takeoff.bounds import area_bound, relaxed_bound, scaled_bound
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.fill import (
    Bin,
    Item,
    Opener,
    Rect,
    fill,
    fill_work,
    first_bins,
    fits,
    gathered,
    one_size,
    open_bin,
    pick_few,
    shaken,
)

FEW_PIECES = 80  # the relaxation closes gaps of small jobs; of large ones it seldom does
BOUND_SHARE, MOST_BOUND_SECONDS = 0.6, 5.0
WARMTH = 0.006  # how much emptier sheets may get in a step, falling to nought as in annealing


MOST_ROUNDS = 10_000_000


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

    @property
    def unit(self) -> int:
        return max(1, math.gcd(*self.prices))

    def cost(self, bins: Sequence[Bin]) -> int:
        return sum(self.prices[box.stock] for box in bins)

    def opener(self, ranks: Sequence[int], taken: Sequence[int]) -> Opener:
        """Opens the first stock of `ranks` that holds the item and is not used up."""

        def opened(item: Item, bins: list[Bin]) -> Bin | None:
            for stock in ranks:
                if fits(item, *self.sizes[stock]):
                    used = taken[stock] + sum(1 for box in bins if box.stock == stock)
                    if used < self.available[stock]:
                        return open_bin(*self.sizes[stock], stock)
            return None

        return opened

    def by_worth(self) -> list[int]:
        """Stock that costs nothing first, then the cheapest for its area."""
        return sorted(
            range(len(self.sizes)),
            key=lambda s: (self.prices[s] > 0, self.prices[s] / (self.sizes[s][0] * self.sizes[s][1])),
        )


def pack_yard(
    yard: Yard, items: Sequence[Item], clock: Deadline, rng: random.Random
) -> tuple[list[Bin] | None, int, int]:
    """(sheets or None, lower bound on their number, lower bound on their cost in whole units)."""
    if not items:
        return [], 0, 0
    count_bound, cost_bound = area_bound(yard, items)
    ranks = yard.by_worth()
    best = None
    for first in range(len(ranks)):
        opener = yard.opener(ranks[first:] + ranks[:first], [0] * len(ranks))
        trial = first_bins(items, opener, yard.kerf, yard.cost, clock)
        if trial is not None and (best is None or yard.cost(trial) < yard.cost(best)):
            best = trial
    if best is None:
        return None, count_bound, cost_bound
    if yard.cost(best) > cost_bound:
        scaled = scaled_bound(yard, items)
        count_bound, cost_bound = max(count_bound, scaled), max(cost_bound, scaled * min(yard.prices))
    by_key = {item[0]: item for item in items}
    best = gather(yard, best, by_key, cost_bound, clock.part(0.25), rng)
    if yard.cost(best) > cost_bound and not clock.over():
        share = BOUND_SHARE if len(items) <= FEW_PIECES else BOUND_SHARE / 3
        count, cost = relaxed_bound(yard, items, best, clock.part(share, MOST_BOUND_SECONDS))
        count_bound, cost_bound = max(count_bound, count), max(cost_bound, cost)
        best = gather(yard, best, by_key, cost_bound, clock, rng)
    return best, count_bound, cost_bound


def gather(yard: Yard, bins: list[Bin], items: dict, enough: int, clock: Deadline, rng: random.Random) -> list[Bin]:
    """Repack a few sheets at a time; keep what costs less, or costs the same with fuller sheets."""
    now = list(bins)
    cost = yard.cost(now)
    ranks = yard.by_worth()
    several = len(yard.sizes) > 1 or yard.available[0] < math.inf
    opener, order = one_size(*yard.sizes[0]), ranks
    total = max(clock.left(), 1e-9)
    warmth = WARMTH
    for turn in range(MOST_ROUNDS):
        if turn % 32 == 0:
            warmth = WARMTH * clock.left() / total
        if cost <= enough or warmth <= 0 or len(now) < 2:
            break
        picked = pick_few(now, rng)
        if several:
            taken = [0] * len(ranks)
            gone = {id(box) for box in picked}
            for box in now:
                taken[box.stock] += id(box) not in gone
            order = rng.sample(ranks, len(ranks)) if rng.random() < 0.5 else ranks
            opener = yard.opener(order, taken)
        loose = shaken([items[p[0]] for box in picked for p in box.placed], rng)
        fresh: list[Bin] = []
        clock.spend(fill_work(len(loose), len(picked)))
        if not fill(loose, opener, yard.kerf, rng.randrange(3), fresh, len(picked) if not several else 1 << 30):
            continue
        change = yard.cost(fresh) - yard.cost(picked)
        slack = warmth * math.log(rng.random() + 1e-9)
        if change < 0 or (change == 0 and gathered(fresh) - gathered(picked) >= slack):
            gone = {id(box) for box in picked}
            now = [box for box in now if id(box) not in gone] + fresh
            cost += change
    return now
