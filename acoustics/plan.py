"""The cheapest set of treatments that meets a target, and the whole front of cost against result, exactly.

For a fixed source spectrum the A-weighted energy in the room is a sum of one number per surface, and so are cost,
floor area lost, added mass and hours: a multiple-choice knapsack (knapsack.py).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

import numpy as np

from . import parse
from .bands import a_weighted_shares
from .errors import InputError, between, finite, inside, numbers, positive
from .knapsack import search
from .sets import Table

NOTHING = "nothing"
RESOURCES = ("area_lost_m2", "mass_kg", "hours")
COST_BITS, COUNT_BITS = 28, 8  # below the cost stand depth in tenths of mm and the number of surfaces


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


def _text(field: str, value: object) -> None:
    if not isinstance(value, str):
        raise InputError(field, "must be text")


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
    hours: float = 0.0
    depth_mm: float = 0.0

    def __post_init__(self) -> None:
        _text("name", self.name)
        object.__setattr__(self, "improvement_db", _by_band("improvement_db", self.improvement_db, -100.0, 150.0))
        object.__setattr__(self, "cost", money("cost", self.cost))
        for name in RESOURCES:
            between(name, getattr(self, name), 0.0, 1e9)
        between("depth_mm", self.depth_mm, 0.0, 1e4)


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A surface, its transmission factors (21,) referred to the separating area, and its options besides nothing."""

    name: str
    transmission: tuple[float, ...]
    options: tuple[Option, ...] = ()

    def __post_init__(self) -> None:
        _text("name", self.name)
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
    """`cheapest` is None where no choice meets the target; of equal cost it takes the least depth, then surfaces. `exact` is False only when the deadline cut the search."""

    cheapest: Choice | None
    front: tuple[Choice, ...]
    exact: bool


@dataclass(frozen=True)
class Key:
    """Cost, then depth, then the number of surfaces, in one whole number that adds up: ties are broken in that order."""

    unit: Decimal
    most: int

    @classmethod
    def of(cls, costs: Sequence[Decimal], budget: object = None) -> Key:
        """For these costs; `budget` is the most that may be spent in all."""
        unit = Decimal(1).scaleb(min((int(c.as_tuple().exponent) for c in costs), default=0))
        if sum(costs, Decimal(0)) / unit >= 2**34:
            raise InputError("cost", "the costs add up to more than can be told apart")
        most = 2**63 - 1 if budget is None else (int(Decimal(str(budget)) / unit) + 1 << COST_BITS) - 1
        return cls(unit, min(most, 2**63 - 1))

    def __call__(self, cost: Decimal, depth_mm: float = 0.0) -> int:
        return (int(cost / self.unit) << COST_BITS) + (round(10.0 * depth_mm) << COUNT_BITS) + 1

    def cost(self, key: int) -> Decimal:
        return (int(key) >> COST_BITS) * self.unit


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
    bounds = limits_of(limits or {})
    bound = [name for name in RESOURCES if name in bounds]
    key = Key.of([o.cost for s in surfaces for o in s.options], bounds.get("cost"))
    tables = [_table(surface, weights, key, bound) for surface in surfaces]
    start = fixed @ weights + sum(float(np.array(s.transmission) @ weights) for s in surfaces)
    room = np.array([float(bounds[name]) for name in bound])
    found = search(tables, np.array([start]), room, key.most, lambda sums: _level_db(sums, offset), _seconds(seconds))
    sets = [_choice(surfaces, rows, float(db)) for rows, db in zip(found.sets.rows, found.score, strict=True)]
    cheapest = next((c for c in sets if target is not None and c.result_db >= target - 1e-9), None)
    front = tuple(c for c, after in zip(sets, [*sets[1:], None], strict=True) if after is None or after.cost > c.cost)
    return Plan(cheapest=cheapest, front=front, exact=found.exact)


def _seconds(seconds: float) -> float:
    return positive("seconds", seconds, 600.0)


def _level_db(sums: np.ndarray, offset_db: float) -> np.ndarray:
    return offset_db - 10.0 * np.log10(np.maximum(sums[:, 0], 1e-30))


def _table(surface: Surface, weights: np.ndarray, key: Key, bound: Sequence[str]) -> Table:
    energy = np.array(surface.transmission) * weights
    gains = np.array([[0.0] * 21, *(o.improvement_db for o in surface.options)])
    sums = (energy * (10.0 ** (-gains / 10.0) - 1.0)).sum(axis=1, keepdims=True)
    uses = np.zeros((len(gains), len(bound)))
    uses[1:] = [[getattr(o, name) for name in bound] for o in surface.options] if surface.options else uses[1:]
    return Table(np.array([0, *(key(o.cost, o.depth_mm) for o in surface.options)], np.int64), sums, uses)


def _choice(surfaces: Sequence[Surface], rows: np.ndarray, result_db: float) -> Choice:
    taken = [s.options[row - 1] if row else None for s, row in zip(surfaces, rows, strict=True)]
    chosen = [option for option in taken if option]
    return Choice(
        choice={s.name: o.name if o else NOTHING for s, o in zip(surfaces, taken, strict=True)},
        cost=sum((o.cost for o in chosen), Decimal(0)),
        result_db=result_db,
        area_lost_m2=sum(o.area_lost_m2 for o in chosen),
        mass_kg=sum(o.mass_kg for o in chosen),
    )


def limits_of(limits: Mapping[str, object]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in limits.items():
        if name not in ("cost", *RESOURCES):
            raise InputError(f"limits.{name}", f"unknown limit; known are cost, {', '.join(RESOURCES)}")
        if value is not None:
            found[name] = money("limits.cost", value) if name == "cost" else between(f"limits.{name}", value, 0.0, 1e12)
    return found


def _option(data: dict[str, Any]) -> Option:
    parse.only(data, {"improvement_db", "cost", "depth_mm", *RESOURCES})
    parse.required(data, "name", "improvement_db", "cost")
    return Option(
        **{k: data[k] for k in ("name", "improvement_db", "cost", "depth_mm", *RESOURCES) if data.get(k) is not None}
    )


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
