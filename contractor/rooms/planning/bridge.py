"""Asks the engine for the plan of a room, and tells its sets in plain values."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

import numpy as np

from acoustics import SOURCES, InputError
from acoustics import roomplan as engine
from acoustics.audibility import audible
from acoustics.goals import Goal, heard_goal, number_goal
from acoustics.paths import Path, named_paths
from acoustics.plan import NOTHING
from acoustics.ratings import weighted_c_ctr_db
from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Room
from contractor.rooms.planning.candidates import Candidate, Limit, only
from contractor.rooms.planning.hindrances import Hindrance, hindrances
from contractor.rooms.prediction.bridge import CannotPredict, receiving_room

NUMBERS = {
    "weighted": "DnT,w",
    "weighted_c": "DnT,w + C, for talk and television",
    "weighted_ctr": "DnT,w + Ctr, for bass and traffic",
}
TIMES = {"night": "at night", "evening": "in the evening", "day": "by day"}
WORDS = {
    f"{kind}:{source.key}": f"{source.label}: {said}"
    for source in SOURCES.values()
    for kind, said in (("inaudible", "not audible"), ("not_understood", "not understood"))
    if kind == "inaudible" or source.speech
}
SOFTER = (
    (2.5, "a little softer"),
    (5.0, "clearly softer"),
    (8.0, "about half as loud"),
    (13.0, "about a third as loud"),
    (17.0, "about a quarter as loud"),
    (25.0, "far softer"),
)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the office asks for: a number in dB or a noise in words, the chance, and limits on the whole set."""

    kind: str
    target_db: float | None = None
    source: str = ""
    background: str = "night"
    chance: float = 0.5
    budget: Decimal | None = None
    area_lost_m2: float | None = None
    hours: float | None = None

    @property
    def limits(self) -> dict[str, object]:
        return {"cost": self.budget, "area_lost_m2": self.area_lost_m2, "hours": self.hours}

    @property
    def is_number(self) -> bool:
        return self.kind in NUMBERS


@dataclass(frozen=True, kw_only=True)
class Priced:
    """A candidate with what the quote would charge for it, VAT and all, and its hours."""

    candidate: Candidate
    cost: Decimal
    hours: float


@dataclass(frozen=True, kw_only=True)
class SetOfTreatments:
    """One set: `built` by place key; numbers of the room with it; `heard` words by noise and time of day."""

    built: dict[str, Priced]
    cost: Decimal
    score: float
    reaches: bool
    weighted_db: int
    c_db: int
    ctr_db: int
    depth_mm: float
    area_lost_m2: float
    mass_kg: float
    hours: float
    heard: dict[str, str]

    @property
    def surfaces(self) -> int:
        return len(self.built)

    @property
    def deepest_mm(self) -> float:
        return max((priced.candidate.depth_mm for priced in self.built.values()), default=0.0)


@dataclass(frozen=True, kw_only=True)
class Plan:
    asked: Asked
    front: list[SetOfTreatments]
    cheapest: SetOfTreatments | None
    bound: Decimal | None
    exact: bool
    count: int
    goal_score: float
    left_by: list[dict] = field(default_factory=list)
    hindrances: list[Hindrance] = field(default_factory=list)

    @property
    def best(self) -> SetOfTreatments:
        return self.front[-1]


def plan_of(
    inputs: Inputs,
    room: Room,
    priced: Sequence[Priced],
    asked: Asked,
    *,
    seconds: float,
    barred: Callable[[], Sequence[tuple[frozenset[Limit], Priced]]] = list,
) -> Plan:
    """The plan of a room. `barred` gives candidates refused for limits on their place alone, with those: asked for only
    where the goal is out of reach, to say which limits stand in the way. Raises CannotPredict."""
    work = _Work(inputs, room, asked)
    found = work.plan(priced, asked.limits, seconds)
    front = [work.told(planned, priced) for planned in found.front]
    cheapest = work.told(found.cheapest, priced) if found.cheapest else None
    best = found.cheapest or found.front[-1]
    return Plan(
        asked=asked,
        front=front,
        cheapest=cheapest,
        bound=found.bound,
        exact=found.exact,
        count=found.count,
        goal_score=work.goal.target,
        left_by=work.left_by(best.factors),
        hindrances=[] if cheapest else hindrances(work, found.front[-1], priced, barred(), seconds),
    )


def gains_of(inputs: Inputs, room: Room, asked: Asked, candidates: Sequence[Candidate]) -> dict[tuple[str, str], float]:
    """By place key and build-up id: what each gains on its own, in the goal's own dB."""
    work = _Work(inputs, room, asked)
    nothing = work.score(work.base)
    return {(c.place.key, c.name): work.score(work.paths_with(c)) - nothing for c in candidates}


class _Work:
    """The room's paths untreated and with each candidate alone, worked out once."""

    def __init__(self, inputs: Inputs, room: Room, asked: Asked) -> None:
        self.inputs, self.room, self.asked = inputs, room, asked
        self.alone: dict[tuple[str, str], list[Path]] = {}
        self.engine_room = receiving_room(_nothing(inputs), room)
        self.base = self._paths(_nothing(inputs))
        self.goal = self._goal()
        self.untreated_db = self._standardized_db(np.stack([path.after for path in self.base]))

    def _goal(self) -> Goal:
        asked = self.asked
        where = {
            "volume_m3": self.engine_room.volume_m3,
            "separating_area_m2": self.engine_room.separating_area_m2,
        }
        if asked.is_number:
            return number_goal(asked.kind, asked.target_db, **where)
        reverberation_s = float(self.room.reverberation_s)
        return heard_goal(
            asked.kind, asked.source, background_dba=asked.background, reverberation_s=reverberation_s, **where
        )

    def _paths(self, inputs: Inputs) -> list[Path]:
        try:
            return named_paths(receiving_room(inputs, self.room))
        except InputError as error:
            raise CannotPredict(f"{self.room.name}: {error.message} ({error.field}).") from error

    def paths_with(self, candidate: Candidate) -> list[Path]:
        key = (candidate.place.key, candidate.name)
        if key not in self.alone:
            self.alone[key] = self._paths(only(self.inputs, candidate.place, candidate.choice))
        return self.alone[key]

    def score(self, paths: Sequence[Path]) -> float:
        return self.score_of(np.sum([path.after for path in paths], axis=0))

    def score_of(self, energy: np.ndarray) -> float:
        return float(self.goal.score(energy[None, :] @ self.goal.weights)[0])

    def plan(self, priced: Sequence[Priced], limits: Mapping[str, object], seconds: float) -> engine.RoomPlan:
        candidates = [
            engine.Candidate(
                place=p.candidate.place.key,
                name=p.candidate.name,
                paths=self.paths_with(p.candidate),
                cost=p.cost,
                depth_mm=p.candidate.depth_mm,
                uses={"area_lost_m2": p.candidate.area_lost_m2, "hours": p.hours},
            )
            for p in priced
        ]
        return engine.plan_room(
            self.base, candidates, self.goal, chance=self.asked.chance,
            spread_factor=float(self.inputs.uncertainty_factor), limits=limits, seconds=seconds,
        )  # fmt: skip

    def told(self, planned: engine.PlannedSet, priced: Sequence[Priced]) -> SetOfTreatments:
        by_name = {(p.candidate.place.key, p.candidate.name): p for p in priced}
        built = {place: by_name[place, name] for place, name in planned.choice.items() if name != NOTHING}
        standardized = self._standardized_db(planned.factors)
        weighted, c, ctr = weighted_c_ctr_db(standardized)
        return SetOfTreatments(
            built=built,
            cost=planned.cost,
            score=planned.score,
            reaches=planned.score >= self.goal.target,
            weighted_db=weighted,
            c_db=c,
            ctr_db=ctr,
            depth_mm=planned.depth_mm,
            area_lost_m2=planned.uses["area_lost_m2"],
            mass_kg=sum(p.candidate.mass_kg for p in built.values()),
            hours=planned.uses["hours"],
            heard=self._heard(standardized),
        )

    def _standardized_db(self, factors: np.ndarray) -> np.ndarray:
        room = self.engine_room
        return 10.0 * np.log10(0.32 * room.volume_m3 / room.separating_area_m2) - 10.0 * np.log10(factors.sum(axis=0))

    def _heard(self, standardized_db: np.ndarray) -> dict[str, str]:
        """Words by noise at the time asked about, and how much softer it is than untreated where it is heard still."""
        now, untreated = self._audible(standardized_db), self._audible(self.untreated_db)
        return {
            after.key: after.words + softer(before.level_dba - after.level_dba, after.words)
            for before, after in zip(untreated, now, strict=True)
        }

    def _audible(self, standardized_db: np.ndarray):
        reverberation_s = float(self.room.reverberation_s)
        return audible(standardized_db, background_dba=self.asked.background, reverberation_s=reverberation_s)

    def left_by(self, factors: np.ndarray) -> list[dict]:
        """By way in, the share of what is still heard with a set, the largest first."""
        energy = factors @ self.goal.sensitivity
        shares: dict[str, float] = {}
        for path, part in zip(self.base, energy / energy.sum(), strict=True):
            shares[path.group] = shares.get(path.group, 0.0) + float(part)
        return [{"name": n, "share": s} for n, s in sorted(shares.items(), key=lambda row: -row[1])]


def _nothing(inputs: Inputs) -> Inputs:
    return replace(inputs, on_patch={}, on_opening={}, on_side_path={})


def softer(drop_db: float, words: str) -> str:
    """Ten decibels less sound half as loud (the sone scale of ISO 532 in its simplest form, from memory)."""
    if words == "not audible" or drop_db < SOFTER[0][0]:
        return ""
    return ", " + [said for least_db, said in SOFTER if drop_db >= least_db][-1]


def choices_of_set(built: Mapping[str, Priced]) -> dict[str, dict[int, Choice]]:
    """What a set builds, as the fields of Inputs and as a scheme is saved."""
    found: dict[str, dict[int, Choice]] = {"on_patch": {}, "on_opening": {}, "on_side_path": {}}
    for priced in built.values():
        place, choice = priced.candidate.place, priced.candidate.choice
        for field_name, thing in zip(found, (place.patch, place.opening, place.side_path), strict=True):
            if thing is not None:
                found[field_name][thing.pk] = choice
    return found
