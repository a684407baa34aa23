"""Measured less predicted: bias and spread by group, and what they make of the stated uncertainty. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt
from statistics import mean, stdev

FEWEST = 3  # cases; of fewer nothing is said
OUR_WEIGHT = 10  # cases that the model's own uncertainty counts as
LEAST, MOST = Decimal("0.80"), Decimal("2.00")
STEP = Decimal("0.05")


@dataclass(frozen=True, kw_only=True)
class Case:
    """One test beside what was promised of it. `uncertainty_db` is the model's own standard uncertainty."""

    job_number: int
    room_id: int
    room: str
    source_room: str
    moment: str
    measured_db: int
    predicted_db: int
    uncertainty_db: float
    construction: str
    build_up: str

    @property
    def difference_db(self) -> int:
        return self.measured_db - self.predicted_db

    @property
    def in_uncertainties(self) -> float:
        return self.difference_db / self.uncertainty_db


@dataclass(frozen=True, kw_only=True)
class Group:
    """Cases of one kind. Bias is their mean difference, spread its standard deviation; None of too few."""

    name: str
    cases: Sequence[Case]

    @property
    def count(self) -> int:
        return len(self.cases)

    @property
    def bias_db(self) -> float | None:
        return round(mean(c.difference_db for c in self.cases), 1) if self.count >= FEWEST else None

    @property
    def spread_db(self) -> float | None:
        return round(stdev(c.difference_db for c in self.cases), 1) if self.count >= FEWEST else None


def grouped(cases: Iterable[Case], name: str) -> list[Group]:
    """By construction or build_up, the most cases first."""
    groups: dict[str, list[Case]] = {}
    for case in cases:
        groups.setdefault(getattr(case, name), []).append(case)
    return sorted((Group(name=n, cases=c) for n, c in groups.items()), key=lambda group: (-group.count, group.name))


@dataclass(frozen=True, kw_only=True)
class Rule:
    """What the firm's own tests make of the uncertainty, with every number that went into it."""

    count: int
    sum_of_squares: float

    @property
    def is_enough(self) -> bool:
        return self.count >= FEWEST

    @property
    def unrounded(self) -> float:
        return sqrt((OUR_WEIGHT + self.sum_of_squares) / (OUR_WEIGHT + self.count))

    @property
    def factor(self) -> Decimal:
        """In steps of 0.05, within 0.80 and 2.00; 1.00 of too few cases."""
        if not self.is_enough:
            return Decimal("1.00")
        steps = Decimal(round(Decimal(self.unrounded) / STEP))
        return min(max(steps * STEP, LEAST), MOST).quantize(Decimal("0.01"))

    @property
    def change_percent(self) -> int:
        """How much wider (or, below nothing, narrower) the ranges become."""
        return round((self.factor - 1) * 100)


def rule_of(cases: Iterable[Case]) -> Rule:
    """The variance of a normal error whose mean is held at nothing, with a scaled inverse chi-squared prior of ten
    degrees of freedom (Gelman et al., Bayesian Data Analysis, the normal model with known mean; from memory):

        factor² = (10 + Σ (difference / uncertainty)²) / (10 + cases)

    The mean is held at nothing, so that a bias widens the range and never moves a prediction. Ten: about as many cases
    as one class of construction had when the model was fitted. Not below 0.80, since one and the same room measured
    by two teams already differs by about a decibel (common practice); not above 2.00, where the survey or the
    workmanship is to be looked into rather than the range. Tests of one room share its errors, so each room and source
    counts once: after the work where that was measured, else before.
    """
    counted: dict[tuple, Case] = {}
    for case in cases:
        key = (case.room_id, case.source_room.strip().lower())
        if key not in counted or case.moment == "after":
            counted[key] = case
    return Rule(count=len(counted), sum_of_squares=sum(case.in_uncertainties**2 for case in counted.values()))
