"""Cutting straight stock: battens, studs, tracks, bars, trims, and rolls by the drop.

Method: column generation for the cutting-stock problem (Gilmore and Gomory, 1961), a bounded knapsack
as pricing, a dive that prices again on what is left, then every maximal pattern whose reduced cost
could still pay, in one whole-number program. When that program is complete its answer is a proof.

A length holds its pieces when trim + pieces + one kerf between neighbours fit. A last kerf is lost
only where something is left behind it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from acoustics.errors import InputError
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.costs import Costs
from acoustics.takeoff.lp import MILP_COLUMN
from acoustics.takeoff.patterns import Relaxed, dive, enumerate_patterns, generate
from acoustics.takeoff.regroup import best_of, lengthen_tails, regroup
from acoustics.takeoff.shop import Shop, Solution, start_solution
from acoustics.takeoff.tails import gather_tails

FEW_PATTERNS, MOST_PATTERNS = 6_000, 12_000
TAILS_SHARE = 0.15  # of the work, kept back for the tails


@dataclass(frozen=True, kw_only=True)
class LengthStock:
    """A length that can be bought, or with `available` set, that lies in the van."""

    length_mm: int
    price: Decimal = Decimal(0)
    available: int | None = None
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class LengthPiece:
    label: str
    length_mm: int
    quantity: int = 1


@dataclass(frozen=True, kw_only=True)
class LengthCut:
    label: str
    length_mm: int


@dataclass(frozen=True, kw_only=True)
class UsedLength:
    """One length and its cuts in order; left_mm is the tail after the last kerf."""

    length_mm: int
    cuts: tuple[LengthCut, ...]
    left_mm: int
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class LengthPlan:
    """cost and lower_bound in money; optimal only where they meet."""

    used: tuple[UsedLength, ...]
    count: int
    cost: Decimal
    lower_bound: Decimal
    optimal: bool


def cut_lengths(
    stock: Sequence[LengthStock],
    pieces: Sequence[LengthPiece],
    *,
    kerf_mm: int = 0,
    trim_mm: int = 0,
    seconds: float = 5.0,
    seed: int = 0,
    keep_mm: int = 600,
) -> LengthPlan:
    """Least cost of stock for the pieces; at that cost the tails of keep_mm and more made large.

    trim_mm is taken off each length once, before the first piece. Where every price is nought the
    metres of stock are kept least. Raises InputError (stock[i].*, pieces[i].*, kerf_mm, trim_mm).
    """
    clock = Deadline(seconds)
    _check(stock, pieces, kerf_mm, trim_mm)
    demand = Counter()
    for piece in pieces:
        demand[piece.length_mm] += piece.quantity
    demand = Counter({length: count for length, count in demand.items() if count})
    if not demand:
        return LengthPlan(used=(), count=0, cost=Decimal(0), lower_bound=Decimal(0), optimal=True)
    prices, scale = whole_prices([s.price for s in stock], [s.length_mm for s in stock])
    sizes = sorted(demand, reverse=True)
    shop = Shop(
        sizes=np.array(sizes) + kerf_mm,
        demand=np.array([demand[size] for size in sizes]),
        capacity=np.array([s.length_mm - trim_mm + kerf_mm for s in stock]),
        price=np.array(prices),
        available=np.array([math.inf if s.available is None else s.available for s in stock], float),
    )
    best, bound = solve_shop(shop, clock.part(1 - TAILS_SHARE), seed)
    if best is None:
        raise InputError("stock", "The stock available is not enough for the pieces; allow more lengths.")
    columns = lengthen_tails(shop, best.columns, kerf_mm, keep_mm, clock, seed)
    bars = [(s, [sizes[t] for t, n in enumerate(pattern) for _ in range(n)]) for s, pattern in columns]
    bars = gather_tails(bars, [s.length_mm - trim_mm for s in stock], kerf_mm, keep_mm)
    used = _with_labels(bars, stock, pieces, kerf_mm, trim_mm)
    money = sum((stock[s].price for s, _ in bars), Decimal(0))
    if scale is None:
        lower = money if best.cost <= bound else Decimal(0)
    else:
        lower = (Decimal(int(bound)) / scale).quantize(Decimal(1) / scale)
    return LengthPlan(used=used, count=len(used), cost=money, lower_bound=min(lower, money), optimal=best.cost <= bound)


def _check(stock, pieces, kerf_mm, trim_mm) -> None:
    if not stock:
        raise InputError("stock", "Give at least one stock length.")
    if kerf_mm < 0:
        raise InputError("kerf_mm", "The kerf cannot be below nought.")
    if trim_mm < 0:
        raise InputError("trim_mm", "The trim cannot be below nought.")
    for index, each in enumerate(stock):
        if each.length_mm <= trim_mm:
            raise InputError(f"stock[{index}].length_mm", "A stock length must be longer than the trim.")
        if each.price < 0:
            raise InputError(f"stock[{index}].price", "A price cannot be below nought.")
    longest = max(each.length_mm for each in stock) - trim_mm
    for index, piece in enumerate(pieces):
        if piece.length_mm <= 0:
            raise InputError(f"pieces[{index}].length_mm", f"Piece {piece.label}: the length must be above nought.")
        if piece.quantity < 0:
            raise InputError(f"pieces[{index}].quantity", f"Piece {piece.label}: the quantity cannot be below nought.")
        if piece.quantity and piece.length_mm > longest:
            raise InputError(
                f"pieces[{index}].length_mm",
                f"Piece {piece.label} of {piece.length_mm} mm is longer than the longest stock ({longest} mm clear); "
                "choose a longer length, or set it in two.",
            )


def whole_prices(prices: Sequence[Decimal], sizes: Sequence[int]) -> tuple[list[int], int | None]:
    """Prices as whole numbers and their scale; without any price, the sizes stand in (scale None)."""
    if not any(prices):
        return list(sizes), None
    places = max(0, *(-price.as_tuple().exponent for price in prices))
    scale = 10**places
    return [int(price * scale) for price in prices], scale


def solve_shop(shop: Shop, clock: Deadline, seed: int) -> tuple[Solution | None, int]:
    """Best solution and a proven lower bound on its cost, both in whole price units."""
    best = start_solution(shop, clock.part(0.3))
    costs = Costs(shop.price, best.cost if best else 0)
    relaxed = generate(shop, best, clock.part(0.6))
    if relaxed is None:
        return best, costs.up(by_length(shop))
    bound = costs.up(max(relaxed.bound, by_length(shop)))
    if best is None or best.cost > bound:
        found, bound = lift(shop, relaxed, best, bound, costs, clock.part(0.4), seed)
        best = cheaper(best, found)
    if best is None or best.cost > bound:
        best = cheaper(best, dive(shop, relaxed, clock.part(0.5)))
    if best is not None and best.cost > bound:
        best = regroup(shop, best, bound, costs, clock.part(0.6), seed)
    if best is not None and best.cost > bound and not clock.over():
        less = costs.below(best.cost)
        patterns, complete = enumerate_patterns(shop, relaxed, less - relaxed.bound, clock, MOST_PATTERNS)
        if complete and len(patterns) * MILP_COLUMN < clock.left():
            found, settled = best_of(shop, patterns, less, clock, seed)
            if found is None and settled:
                bound = best.cost
            best = cheaper(best, _trimmed(shop, found))
    return best, min(bound, best.cost) if best else bound


def _trimmed(shop: Shop, found: list | None) -> Solution | None:
    return None if found is None else Solution.trimmed(shop, found)


def by_length(shop: Shop) -> float:
    """Least cost by length alone: every millimetre at the cheapest rate."""
    return float((shop.sizes @ shop.demand) * (shop.price / shop.capacity).min())


def lift(
    shop: Shop, relaxed: Relaxed, best: Solution | None, bound: int, costs: Costs, clock: Deadline, seed: int
) -> tuple[Solution | None, int]:
    """Try for a solution that costs the bound; where there is proved to be none, lift the bound to the next cost there can be.

    Such a solution can only use patterns whose reduced cost fits between the relaxation and the bound;
    each size is then cut exactly as often as wanted, which settles the program fast.
    """
    while not clock.over() and (best is None or bound < best.cost):
        patterns, complete = enumerate_patterns(
            shop, relaxed, bound - relaxed.bound, clock, FEW_PATTERNS, maximal=False
        )
        if not complete or len(patterns) * MILP_COLUMN > clock.left():
            break
        found, settled = best_of(shop, patterns, bound, clock, seed, exact=True)
        if found is not None:
            return _trimmed(shop, found), bound
        if not settled:
            break
        bound = costs.up(bound + costs.unit)
    return None, bound


def cheaper(one: Solution | None, other: Solution | None) -> Solution | None:
    if one is None or (other is not None and other.cost < one.cost):
        return other
    return one


def _with_labels(bars, stock, pieces, kerf_mm, trim_mm) -> tuple[UsedLength, ...]:
    waiting: dict[int, list[str]] = {}
    for piece in pieces:
        waiting.setdefault(piece.length_mm, []).extend([piece.label] * piece.quantity)
    for labels in waiting.values():
        labels.reverse()
    used = []
    for s, lengths in sorted(
        bars, key=lambda bar: (-stock[bar[0]].length_mm, [-x for x in sorted(bar[1], reverse=True)])
    ):
        lengths = sorted(lengths, reverse=True)
        cuts = tuple(LengthCut(label=waiting[length].pop(), length_mm=length) for length in lengths)
        left = stock[s].length_mm - trim_mm - sum(lengths) - kerf_mm * len(lengths)
        used.append(UsedLength(length_mm=stock[s].length_mm, cuts=cuts, left_mm=max(left, 0), name=stock[s].name))
    return tuple(used)
