"""The plan of a room: which treatments to build where, at least cost for a goal, and the whole front, exactly.

Every candidate is known by what the engine says of the room with that one alone. What several do together is the sum
of what each changes on every path; `RoomPlan` is checked against the engine's prediction of its sets in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from .errors import InputError
from .goals import COMMON_VARIANCE, Chance, Goal, LevelGoal, chance_quantile, sharpened
from .knapsack import Found, Score, search
from .paths import Path
from .plan import NOTHING, RESOURCES, Key, limits_of
from .sets import Table


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A treatment of one place: `paths` are all paths of the room with this one alone, `after` being what counts."""

    place: str
    name: str
    paths: Sequence[Path]
    cost: Decimal
    depth_mm: float = 0.0
    uses: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class PlannedSet:
    """One set of treatments: by place what is built, or nothing; `score` is the goal's, at the chance asked for.

    `expected` is the same at even odds. `factors` (P, 21) are what its paths transmit.
    """

    choice: dict[str, str]
    cost: Decimal
    score: float
    expected: float
    depth_mm: float
    surfaces: int
    uses: dict[str, float]
    factors: np.ndarray


@dataclass(frozen=True, kw_only=True)
class RoomPlan:
    """`front`: cheapest first, each better than all that cost no more. `cheapest` is None where none reaches the goal.

    `bound` is the least that any set reaching the goal can cost, known or not: equal to the cost of the cheapest where
    the search ended, which proves it. `count` is how many sets there are.
    """

    front: tuple[PlannedSet, ...]
    cheapest: PlannedSet | None
    bound: Decimal | None
    exact: bool
    count: int

    def best_for(self, budget: Decimal) -> PlannedSet:
        """The best of the front that costs no more; nothing at all costs nothing."""
        return [s for s in self.front if s.cost <= budget][-1]


def plan_room(
    base: Sequence[Path],
    candidates: Sequence[Candidate],
    goal: Goal,
    *,
    chance: float = 0.5,
    spread_factor: float = 1.0,
    limits: Mapping[str, object] | None = None,
    seconds: float = 3.0,
) -> RoomPlan:
    """Plan treatments of a room whose paths untreated are `base`. `limits` may bound cost, area_lost_m2, mass_kg, hours.

    `spread_factor` widens or narrows the room's standard uncertainty, which a `chance` above even odds keeps in hand.
    Raises InputError naming the field.
    """
    by_place: dict[str, list[Candidate]] = {}
    for candidate in candidates:
        if len(candidate.paths) != len(base):
            raise InputError("candidates", f"{candidate.name!r} has other paths than the room")
        by_place.setdefault(candidate.place, []).append(candidate)
    bounds = limits_of(limits or {})
    asked = Chance(goal, spread_factor * chance_quantile(chance) if chance > 0.5 else 0.0)
    model = _Model.of(base, list(by_place.values()), goal, asked)
    problem = _Problem(model, bounds, Key.of([c.cost for c in candidates], bounds.get("cost")))
    found = problem.search(model.asked.score, seconds, None if model.is_monotone else model.hope)
    sets = [model.set_of(found, i, problem.key) for i in range(len(found.score))]
    cheapest = next((s for s in sets if s.score >= goal.target), None)
    bound = problem.least_cost(found, goal.target)
    exact = found.exact or (cheapest is not None and bound == cheapest.cost)
    dearer = [*sets[1:], None]
    front = tuple(s for s, after in zip(sets, dearer, strict=True) if after is None or after.cost > s.cost)
    return RoomPlan(front=front, cheapest=cheapest, bound=bound, exact=exact, count=model.count)


@dataclass(frozen=True)
class _Model:
    """The paths as columns: what the goal counts, and with a chance the energy, own squares and shared sums."""

    base: np.ndarray
    rows: list[list[Candidate]]
    changes: list[np.ndarray]
    start: np.ndarray
    sums: list[np.ndarray]
    goal: Goal
    asked: Chance
    is_monotone: bool

    @classmethod
    def of(cls, base: Sequence[Path], rows: list[list[Candidate]], goal: Goal, asked: Chance) -> _Model:
        before = np.stack([path.after for path in base])
        changes = [np.stack([[p.after for p in c.paths] for c in own]) - before for own in rows]
        nothing = np.zeros((1, *before.shape))
        changes = [np.concatenate([nothing, change]) for change in changes]
        goal = sharpened(goal, before.sum(axis=0), [change.sum(axis=1) for change in changes], _costs(rows))
        start, sums = before.sum(axis=0) @ goal.weights, [change.sum(axis=1) @ goal.weights for change in changes]
        errors = _Errors.of(base, rows, before, changes, goal.sensitivity)
        is_monotone = True
        if asked.quantile:
            start = np.concatenate([start, errors.start])
            sums = [np.concatenate(pair, axis=1) for pair in zip(sums, errors.sums, strict=True)]
            is_monotone = isinstance(goal, LevelGoal) and asked.quantile * errors.steepest_db <= 10.0 / np.log(10.0)
        start, sums = _counted(start, sums)
        asked = Chance(goal, asked.quantile)
        return cls(before, rows, changes, start, sums, goal, asked, is_monotone)

    def hope(self, columns: np.ndarray) -> np.ndarray:
        """No set is surer than what is common to all."""
        width = self.goal.weights.shape[1]
        return self.goal.score(columns[:, :width], self.asked.quantile * COMMON_VARIANCE**0.5)

    @property
    def count(self) -> int:
        return math.prod(len(own) + 1 for own in self.rows)

    def set_of(self, found: Found, place: int, key: Key) -> PlannedSet:
        picked = found.sets.rows[place]
        taken = [own[row - 1] for own, row in zip(self.rows, picked, strict=True) if row]
        factors = self.base + sum((change[row] for change, row in zip(self.changes, picked, strict=True)), 0.0)
        return PlannedSet(
            choice={
                own[0].place: own[row - 1].name if row else NOTHING for own, row in zip(self.rows, picked, strict=True)
            },
            cost=sum((c.cost for c in taken), Decimal(0)),
            score=float(found.score[place]),
            expected=float(self.goal.score(factors.sum(axis=0)[None, :] @ self.goal.weights)[0]),
            depth_mm=sum(c.depth_mm for c in taken),
            surfaces=len(taken),
            uses={name: sum(c.uses.get(name, 0.0) for c in taken) for name in RESOURCES},
            factors=factors,
        )


@dataclass(frozen=True)
class _Errors:
    """Columns of what is not known: see goals.spread_db. Paths that several places share keep their widest spread."""

    start: np.ndarray
    sums: list[np.ndarray]
    steepest_db: float

    @classmethod
    def of(cls, base, rows, before: np.ndarray, changes: list[np.ndarray], sensitivity: np.ndarray) -> _Errors:
        spread = np.array([path.uncertainty_after_db for path in base])
        spreads = [np.stack([spread, *([p.uncertainty_after_db for p in c.paths] for c in own)]) for own in rows]
        touched = np.array([np.any(change != 0.0, axis=(0, 2)) for change in changes]).reshape(-1, len(spread))
        is_shared = touched.sum(axis=0) > 1
        widest = np.max(np.concatenate([spread[None, :], *spreads]), axis=0)
        energy = before @ sensitivity
        own = np.where(is_shared, 0.0, (spread * energy) ** 2)
        shared = np.flatnonzero(is_shared)
        start = np.concatenate([[energy.sum(), own.sum()], widest[shared] * energy[shared]])
        sums = []
        for change, wide in zip(changes, spreads, strict=True):
            gone = change @ sensitivity
            squares = np.where(is_shared, 0.0, (wide * (energy + gone)) ** 2) - own
            # What this place does not touch keeps its spread: its square does not change here.
            squares = np.where(np.any(gone != 0.0, axis=0), squares, 0.0)
            parts = [gone.sum(axis=1)[:, None], squares.sum(axis=1)[:, None], gone[:, shared] * widest[shared]]
            sums.append(np.concatenate(parts, axis=1))
        most = float(np.sqrt(widest.max(initial=0.0) ** 2 + COMMON_VARIANCE))
        return cls(start, sums, most - COMMON_VARIANCE / most)


@dataclass(frozen=True)
class _Problem:
    model: _Model
    bounds: Mapping[str, object]
    key: Key

    def search(self, score: Score, seconds: float, hope: Score | None) -> Found:
        names = [name for name in RESOURCES if name in self.bounds]
        tables = []
        for own, sums in zip(self.model.rows, self.model.sums, strict=True):
            uses = np.zeros((len(own) + 1, len(names)))
            uses[1:] = [[c.uses.get(name, 0.0) for name in names] for c in own]
            spent = np.array([0, *(self.key(c.cost, c.depth_mm) for c in own)], np.int64)
            tables.append(Table(spent, sums, uses))
        room = np.array([float(str(self.bounds[name])) for name in names])
        return search(tables, self.model.start, room, self.key.most, score, seconds, hope)

    def least_cost(self, found: Found, target: float) -> Decimal | None:
        """What a set that reaches the target costs at least, among those known and what was left unsearched."""
        reaching = [*found.sets.key[found.score >= target], *found.open_key[found.open_score >= target]]
        return self.key.cost(min(reaching)) if reaching else None


def _costs(rows: list[list[Candidate]]) -> list[np.ndarray]:
    return [np.array([0.0, *(float(c.cost) for c in own)]) for own in rows]


def _counted(start: np.ndarray, sums: list[np.ndarray]) -> tuple[np.ndarray, list[np.ndarray]]:
    """All numbers of a column as multiples of one small power of two, so that their sums are exact in any order."""
    size = np.abs(start) + sum((np.abs(s).max(axis=0) for s in sums), 0.0)
    unit = 2.0 ** (np.ceil(np.log2(np.maximum(size, 1e-250))) - 51.0)
    return np.round(start / unit) * unit, [np.round(s / unit) * unit for s in sums]
