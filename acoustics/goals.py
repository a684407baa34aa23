"""What a plan of treatments is asked to reach, as sums over paths that the search can bound.

Every path's transmission factor depends on one surface of ours, or is a sum over surfaces that share it, so each band's
energy in the room is a sum of one number per chosen treatment (ISO 12354-1: only the receiving side is lined).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Protocol

import numpy as np

from .audibility import (
    BACKGROUND_DBA,
    HEARING_THRESHOLD_DB,
    MASKING_INDEX_DB,
    NO_SOUND_DB,
    SOURCES,
    SYLLABLES_DB,
    UNDERSTOOD,
    background_levels_db,
)
from .bands import A_WEIGHTING_DB, REFERENCE_REVERBERATION_S, spectrum_db
from .errors import InputError, between, finite, one_of
from .intelligibility import speech_intelligibility_index
from .ratings import C_SPECTRUM_DB, CTR_SPECTRUM_DB, airborne_weighted_db
from .uncertainty import MEASUREMENT_IN_SITU_DB, METHOD_IN_BUILDINGS_DB

COMMON_VARIANCE = METHOD_IN_BUILDINGS_DB**2 + MEASUREMENT_IN_SITU_DB**2
NUMBERS = ("weighted", "weighted_c", "weighted_ctr")
HEARD = ("inaudible", "not_understood")
CORE = slice(3, 19)  # 100 to 3150 Hz
LEAST = 1e-30
MIX_STEPS = 16


class Goal(Protocol):
    """`weights` (21, C) make the columns of a set's energy by band; `score` of columns (N, C) never rises with one of
    them; `worse_db` (N,) is by how much the room turns out worse. `sensitivity` (21,) weights the energies whose shares
    say how the errors of paths add up."""

    weights: np.ndarray
    sensitivity: np.ndarray
    target: float

    def score(self, columns: np.ndarray, worse_db: np.ndarray | float = 0.0) -> np.ndarray: ...


@dataclass(frozen=True)
class LevelGoal:
    """A difference of A-weighted levels, such as D_nT,w + C_tr: unrounded, `target` 44.5 gives 45."""

    weights: np.ndarray
    offset_db: float
    target: float

    @property
    def sensitivity(self) -> np.ndarray:
        return self.weights[:, 0]

    def score(self, columns: np.ndarray, worse_db: np.ndarray | float = 0.0) -> np.ndarray:
        return self.offset_db - 10.0 * np.log10(np.maximum(columns[:, 0], LEAST)) - worse_db


@dataclass(frozen=True)
class RatingGoal:
    """The weighted standardised level difference D_nT,w in steps of 0.1 dB (ISO 717-1)."""

    offset_db: float
    target: float
    weights: np.ndarray
    sensitivity: np.ndarray

    def score(self, columns: np.ndarray, worse_db: np.ndarray | float = 0.0) -> np.ndarray:
        worse = np.broadcast_to(np.asarray(worse_db, float), len(columns))[:, None]
        bands = self.offset_db - 10.0 * np.log10(np.maximum(columns, LEAST)) - worse
        return airborne_weighted_db(bands, whole=False)


@dataclass(frozen=True)
class InaudibleGoal:
    """How far the loudest band lies below what is just heard in the room's background, in dB (negative: above it).

    The columns are each band's energy over its threshold.
    """

    weights: np.ndarray
    sensitivity: np.ndarray
    target: float = -NO_SOUND_DB

    def score(self, columns: np.ndarray, worse_db: np.ndarray | float = 0.0) -> np.ndarray:
        below = -10.0 * np.log10(np.maximum(columns.max(axis=1), LEAST)) - worse_db
        return np.floor(below * 10.0 + 1e-6) / 10.0


@dataclass(frozen=True)
class UnderstoodGoal:
    """The speech intelligibility index in per cent, negative so that more is better."""

    weights: np.ndarray
    sensitivity: np.ndarray
    background_db: np.ndarray
    target: float = -100.0 * UNDERSTOOD[0][0]

    def score(self, columns: np.ndarray, worse_db: np.ndarray | float = 0.0) -> np.ndarray:
        worse = np.broadcast_to(np.asarray(worse_db, float), len(columns))[:, None]
        levels = 10.0 * np.log10(np.maximum(columns, LEAST)) + worse
        index = np.array([speech_intelligibility_index(level, self.background_db) for level in levels])
        return np.floor(-1000.0 * index + 1e-6) / 10.0


@dataclass(frozen=True)
class Chance:
    """A goal to be reached though the room turn out worse: the columns of the goal, then the energy, the summed squares
    of error times energy of paths that one surface decides, and the same sum, not squared, of each shared path."""

    goal: Goal
    quantile: float

    @property
    def target(self) -> float:
        return self.goal.target

    def score(self, columns: np.ndarray) -> np.ndarray:
        if not self.quantile:
            return self.goal.score(columns)
        width = self.goal.weights.shape[1]
        return self.goal.score(columns[:, :width], self.quantile * spread_db(columns[:, width:]))


def spread_db(columns: np.ndarray) -> np.ndarray:
    """Standard uncertainty (N,) in dB from energy, own squares and shared sums (N, 2 + F)."""
    energy = np.maximum(columns[:, 0], LEAST)
    squares = np.maximum(columns[:, 1], 0.0) + np.sum(columns[:, 2:] ** 2, axis=1)
    return np.sqrt(squares / energy**2 + COMMON_VARIANCE)


def chance_quantile(chance: float) -> float:
    """How many standard uncertainties must be in hand for a chance of 0.5 to 0.99."""
    return NormalDist().inv_cdf(between("chance", chance, 0.5, 0.99))


def number_goal(kind: str, target_db: float, *, volume_m3: float, separating_area_m2: float) -> Goal:
    """`kind` is weighted (D_nT,w), weighted_c or weighted_ctr (with C or C_tr of 100 to 3150 Hz), `target_db` in dB.

    The sums of ISO 717-1 are rounded to whole dB, so that half a dB less than the target reaches it.
    """
    one_of("kind", kind, NUMBERS)
    offset_db = 10.0 * float(np.log10(0.32 * volume_m3 / separating_area_m2))
    target = finite("target_db", target_db)
    pink = _energies(spectrum_db("pink") + A_WEIGHTING_DB)
    if kind == "weighted":
        return RatingGoal(offset_db, target, np.eye(21)[:, CORE], pink / pink.sum())
    spectrum = C_SPECTRUM_DB[100, 3150] if kind == "weighted_c" else CTR_SPECTRUM_DB[CORE]
    weights = np.zeros((21, 1))
    weights[CORE, 0] = _energies(spectrum)
    return LevelGoal(weights, offset_db, target - 0.5)


def level_goal(spectrum: str | Sequence[float], target_db: float, *, volume_m3: float, separating_area_m2: float):
    """Source less receiving level, both A-weighted, for a source spectrum."""
    energy = _energies(spectrum_db(spectrum) + A_WEIGHTING_DB)
    offset_db = 10.0 * float(np.log10(0.32 * volume_m3 / separating_area_m2))
    return LevelGoal((energy / energy.sum())[:, None], offset_db, finite("target_db", target_db))


def heard_goal(
    kind: str,
    source: str,
    *,
    background_dba: float | str,
    reverberation_s: float,
    volume_m3: float,
    separating_area_m2: float,
) -> Goal:
    """A named noise that is not to be heard (inaudible), or talk that is not to be understood (not_understood).

    The boundaries are those of the words of audibility.py.
    """
    one_of("kind", kind, HEARD)
    one_of("source", source, SOURCES)
    noise = SOURCES[source]
    if kind == "not_understood" and not noise.speech:
        raise InputError("source", "only talk can be understood or not")
    level = BACKGROUND_DBA[background_dba] if isinstance(background_dba, str) else background_dba
    background = background_levels_db(level)
    offset_db = 10.0 * np.log10(0.32 * volume_m3 / separating_area_m2)
    in_room_db = np.array(noise.levels_db) - offset_db + 10.0 * np.log10(reverberation_s / REFERENCE_REVERBERATION_S)
    loud = _energies(in_room_db + A_WEIGHTING_DB)
    if kind == "not_understood":
        return UnderstoodGoal(np.diag(_energies(in_room_db)), loud / loud.sum(), background)
    threshold_db = np.maximum(background + MASKING_INDEX_DB, HEARING_THRESHOLD_DB)
    above = _energies(in_room_db - threshold_db + (SYLLABLES_DB if noise.speech else 0.0))
    return InaudibleGoal(np.diag(above), loud / loud.sum())


def sharpened(goal: Goal, start: np.ndarray, changes: Sequence[np.ndarray], costs: Sequence[np.ndarray]) -> Goal:
    """The same goal with further columns that tighten the bounds of the search and change no score.

    The loudest band is never below any weighted mean of the bands over their thresholds; the weights are those under
    which even the best set is loud, found by multiplicative weights (Arora, Hazan and Kale 2012) at a few budgets.
    `start` (21,) and `changes` (K, 21) are energies by band, `costs` (K,) of the rows of each table.
    """
    if not isinstance(goal, InaudibleGoal) or not changes:
        return goal
    bands, rows = start @ goal.weights, [change @ goal.weights for change in changes]
    found = []
    for price in _prices(bands, rows, costs):
        share = np.full(21, 1.0 / 21.0)
        for _ in range(MIX_STEPS):
            picks = [np.argmin(own @ share + price * cost) for own, cost in zip(rows, costs, strict=True)]
            level = bands + sum(own[pick] for own, pick in zip(rows, picks, strict=True))
            share = share * np.exp(level / max(level.max(), LEAST))
            share /= share.sum()
            found.append(share)
    picked = found[MIX_STEPS // 2 - 1 :: MIX_STEPS // 2]
    return replace(goal, weights=np.concatenate([goal.weights, goal.weights @ np.stack(picked, axis=1)], axis=1))


def _prices(bands: np.ndarray, rows: Sequence[np.ndarray], costs: Sequence[np.ndarray]) -> list[float]:
    """What a unit of cost is worth in energy, from nothing upwards."""
    dear = sum(float(cost.max()) for cost in costs) or 1.0
    return [0.0, *(bands.max() / dear * 10.0 ** (-degree) for degree in (0.0, 1.0, 2.0, 3.0))]


def _energies(levels_db: np.ndarray) -> np.ndarray:
    return 10.0 ** (np.asarray(levels_db, float) / 10.0)
