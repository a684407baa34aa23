"""The cheapest set of treatments that meets a target, and the whole front of cost against result, exactly.

For a fixed source spectrum the A-weighted energy in the room is a sum of one number per surface, and so are cost,
floor area lost and added mass: a multiple-choice knapsack. It is solved by a dynamic program over non-dominated
partial sums (Nemhauser and Ullmann 1969; Kellerer, Pferschy and Pisinger, Knapsack Problems, 2004, ch. 11).
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

import numpy as np

from . import parse
from .bands import a_weighted_shares
from .errors import InputError, between, finite, inside, numbers, positive

NOTHING = "nothing"
RESOURCES = ("area_lost_m2", "mass_kg")
MOST_STATES = 400_000


def money(field: str, value: object) -> Decimal:
    """A price of zero or more as a Decimal with at most four places."""
    try:
        amount = Decimal(str(value))
    except InvalidOperation:
        raise InputError(field, "must be an amount such as 1234.50") from None
    if not amount.is_finite() or amount < 0 or amount > Decimal("1e9"):
        raise InputError(field, "must be an amount of zero or more")
    if -int(amount.as_tuple().exponent) > 4:
        raise InputError(field, "must have at most four decimal places")
    return amount


def _by_band(field: str, values: object, low: float, high: float) -> tuple[float, ...]:
    found = numbers(field, values, low, high)
    if len(found) != 21:
        raise InputError(field, f"must have 21 values from 50 to 5000 Hz, has {len(found)}")
    return found


@dataclass(frozen=True, kw_only=True)
class Option:
    """One treatment of a surface: its improvement by band in dB and what it takes up."""

    name: str
    improvement_db: tuple[float, ...]
    cost: Decimal
    area_lost_m2: float = 0.0
    mass_kg: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "improvement_db", _by_band("improvement_db", self.improvement_db, -100.0, 150.0))
        object.__setattr__(self, "cost", money("cost", self.cost))
        for name in RESOURCES:
            between(name, getattr(self, name), 0.0, 1e9)


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A surface, its transmission factors (21,) referred to the separating area, and its options besides nothing."""

    name: str
    transmission: tuple[float, ...]
    options: tuple[Option, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "transmission", _by_band("transmission", self.transmission, 0.0, 1e6))
        object.__setattr__(self, "options", tuple(self.options))
        names = [option.name for option in self.options]
        if len(set(names)) != len(names):
            raise InputError("options", "names an option twice")
        if NOTHING in names:
            raise InputError("options", f"{NOTHING!r} is always an option and needs no entry")


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One option per surface (or "nothing"), what it costs and what it reaches.

    `result_db` is source less receiving level, both A-weighted, standardised to 0.5 s.
    """

    choice: dict[str, str]
    cost: Decimal
    result_db: float
    area_lost_m2: float
    mass_kg: float


@dataclass(frozen=True, kw_only=True)
class Plan:
    """`cheapest` is None where no choice meets the target. `exact` is False only when the deadline cut the search."""

    cheapest: Choice | None
    front: tuple[Choice, ...]
    exact: bool


@dataclass(frozen=True)
class _States:
    """Partial sums as columns: cost in whole units, energy, then each bound resource; and how they came about."""

    cost: np.ndarray
    sums: np.ndarray
    parent: np.ndarray
    option: np.ndarray


def _undominated(cost: np.ndarray, sums: np.ndarray, deadline: float) -> tuple[np.ndarray, bool]:
    """Indices of partial sums that no other beats in every column, cheapest first, and whether all were compared."""
    order = np.lexsort((*sums.T[::-1], cost))
    columns = sums[order]
    if columns.shape[1] == 1:
        energy = columns[:, 0]
        best = np.minimum.accumulate(energy)
        keep = np.ones(len(order), bool)
        keep[1:] = energy[1:] < best[:-1]
        return order[keep], True
    kept = np.empty_like(columns)
    count, chosen = 0, []
    for row, values in zip(order, columns, strict=True):
        # Everything kept so far costs no more, so only the other columns decide.
        if count and np.any(np.all(kept[:count] <= values, axis=1)):
            continue
        kept[count] = values
        count += 1
        chosen.append(row)
        if count % 512 == 0 and time.monotonic() > deadline:
            return np.array(chosen), False
    return np.array(chosen), True


def _thin(states: _States) -> _States:
    """Keep an even sample of too many states, always with the cheapest and the quietest."""
    pick = np.unique(np.linspace(0, len(states.cost) - 1, MOST_STATES // 2).astype(int))
    pick = np.union1d(pick, [int(states.sums[:, 0].argmin())])
    return _States(states.cost[pick], states.sums[pick], states.parent[pick], states.option[pick])


@dataclass(frozen=True)
class _Table:
    """Per surface the columns of its options, "nothing" first: cost (K,), and energy with bound resources (K, C)."""

    cost: np.ndarray
    sums: np.ndarray


def _tables(surfaces: Sequence[Surface], weights: np.ndarray, unit: Decimal, bound: Sequence[str]) -> list[_Table]:
    tables = []
    for surface in surfaces:
        transmission = np.array(surface.transmission)
        energy = [float(transmission @ weights)]
        energy += [
            float((transmission * 10.0 ** (-np.array(o.improvement_db) / 10.0)) @ weights) for o in surface.options
        ]
        columns = [energy] + [[0.0] + [getattr(o, name) for o in surface.options] for name in bound]
        cost = [0] + [int(o.cost / unit) for o in surface.options]
        tables.append(_Table(np.array(cost, np.int64), np.array(columns, float).T))
    return tables


def _advance(
    states: _States, table: _Table, room: np.ndarray, most_cost: int | None, deadline: float
) -> tuple[_States, bool]:
    """All partial sums with one more surface, without those beyond the limits or beaten by another."""
    n, k = len(states.cost), len(table.cost)
    cost = (states.cost[:, None] + table.cost[None, :]).ravel()
    sums = (states.sums[:, None, :] + table.sums[None, :, :]).reshape(n * k, -1)
    fits = np.all(sums[:, 1:] <= room + 1e-9, axis=1)
    if most_cost is not None:
        fits &= cost <= most_cost
    index = np.flatnonzero(fits)
    keep, complete = _undominated(cost[index], sums[index], deadline)
    index = index[keep]
    advanced = _States(cost[index], sums[index], index // k, index % k)
    if len(index) > MOST_STATES:
        return _thin(advanced), False
    return advanced, complete


def plan_treatments(
    *,
    volume_m3: float,
    separating_area_m2: float,
    surfaces: Sequence[Surface],
    fixed_transmission: Sequence[float] | None = None,
    spectrum: str | Sequence[float] = "pink",
    target_db: float | None = None,
    limits: Mapping[str, object] | None = None,
    seconds: float = 5.0,
) -> Plan:
    """Choose one option per surface at least cost, and the front of cost against result under the same limits.

    `limits` may bound cost, area_lost_m2 and mass_kg. Raises InputError naming the field.
    """
    offset = 10.0 * np.log10(
        0.32 * positive("volume_m3", volume_m3, 1e5) / positive("separating_area_m2", separating_area_m2, 1e4)
    )
    weights = a_weighted_shares(spectrum)
    fixed = (
        np.zeros(21)
        if fixed_transmission is None
        else np.array(_by_band("fixed_transmission", fixed_transmission, 0.0, 1e6))
    )
    names = [surface.name for surface in surfaces]
    if len(set(names)) != len(names):
        raise InputError("surfaces", "names a surface twice")
    target = None if target_db is None else finite("target_db", target_db)
    bounds = _limits(limits or {})
    bound = [name for name in RESOURCES if name in bounds]
    costs = [o.cost for s in surfaces for o in s.options] + [Decimal(1)]
    unit = Decimal(1).scaleb(min(int(c.as_tuple().exponent) for c in costs))
    most_cost = None if "cost" not in bounds else int(bounds["cost"] / unit)
    deadline = time.monotonic() + positive("seconds", seconds, 600.0)

    start = np.array([[float(fixed @ weights)] + [0.0] * len(bound)])
    levels = [_States(np.zeros(1, np.int64), start, np.zeros(1, int), np.zeros(1, int))]
    room, exact = np.array([float(bounds[name]) for name in bound]), True
    for table in _tables(surfaces, weights, unit, bound):
        state, complete = _advance(levels[-1], table, room, most_cost, deadline)
        levels.append(state)
        exact = exact and complete
    front = _front(levels, surfaces, unit, offset)
    reaching = (c for c in front if target is None or c.result_db >= target - 1e-9)
    return Plan(cheapest=next(reaching, None) if target is not None else None, front=front, exact=exact)


def _limits(limits: Mapping[str, object]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in limits.items():
        if name not in ("cost", *RESOURCES):
            raise InputError(f"limits.{name}", f"unknown limit; known are cost, {', '.join(RESOURCES)}")
        if value is not None:
            found[name] = money("limits.cost", value) if name == "cost" else between(f"limits.{name}", value, 0.0, 1e12)
    return found


def _front(levels: list[_States], surfaces: Sequence[Surface], unit: Decimal, offset: float) -> tuple[Choice, ...]:
    last = levels[-1]
    order, _ = _undominated(last.cost, last.sums[:, :1], float("inf"))
    energy = last.sums[order, 0]
    return tuple(
        _choice(levels, surfaces, int(i), unit, float(offset - 10.0 * np.log10(max(e, 1e-30))))
        for i, e in zip(order, energy, strict=True)
    )


def _choice(levels: list[_States], surfaces: Sequence[Surface], index: int, unit: Decimal, result_db: float) -> Choice:
    """Follow a final state back through the surfaces."""
    cost = int(levels[-1].cost[index]) * unit
    taken: list[Option | None] = []
    for level, surface in zip(levels[:0:-1], surfaces[::-1], strict=True):
        option = int(level.option[index])
        taken.append(surface.options[option - 1] if option else None)
        index = int(level.parent[index])
    taken.reverse()
    return Choice(
        choice={s.name: o.name if o else NOTHING for s, o in zip(surfaces, taken, strict=True)},
        cost=cost,
        result_db=result_db,
        area_lost_m2=sum(o.area_lost_m2 for o in taken if o),
        mass_kg=sum(o.mass_kg for o in taken if o),
    )


def _option(data: dict[str, Any]) -> Option:
    parse.only(data, {"improvement_db", "cost", *RESOURCES})
    parse.required(data, "name", "improvement_db", "cost")
    return Option(**{k: data[k] for k in ("name", "improvement_db", "cost", *RESOURCES) if data.get(k) is not None})


def _surface(data: dict[str, Any]) -> Surface:
    parse.only(data, {"transmission", "options"})
    parse.required(data, "name", "transmission")
    return Surface(
        name=data["name"], transmission=data["transmission"], options=tuple(parse.each(data, "options", _option))
    )


def _plain(choice: Choice) -> dict[str, Any]:
    return {
        "choice": choice.choice,
        "cost": str(choice.cost),
        "result_db": choice.result_db,
        "area_lost_m2": choice.area_lost_m2,
        "mass_kg": choice.mass_kg,
    }


_KNOWN = {
    "volume_m3",
    "separating_area_m2",
    "spectrum",
    "fixed_transmission",
    "surfaces",
    "target_db",
    "limits",
    "seconds",
    "seed",
}


def plan_from(data: dict[str, Any]) -> dict[str, Any]:
    """The verb ``plan`` of the front door. The search is deterministic, so ``seed`` changes nothing."""
    parse.only(data, _KNOWN)
    parse.required(data, "volume_m3", "separating_area_m2", "surfaces")
    given = {k: data[k] for k in _KNOWN - {"surfaces", "seed", "limits"} if data.get(k) is not None}
    with inside("limits"):
        limits = parse.mapping(data.get("limits") or {})
    plan = plan_treatments(surfaces=parse.each(data, "surfaces", _surface), limits=limits, **given)
    return {
        "cheapest": None if plan.cheapest is None else _plain(plan.cheapest),
        "front": [_plain(choice) for choice in plan.front],
        "exact": plan.exact,
    }
