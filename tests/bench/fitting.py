"""The fit of the model's shared constants to measured constructions: deterministic, each constant held to its prior."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from acoustics.bands import octaves_from_thirds_db
from acoustics.buildup import reductions_db
from acoustics.constants import FITTED, PRIORS, Constants, Prior
from acoustics.grid import Grid
from acoustics.inputs import Element
from acoustics.ratings import AIRBORNE_REFERENCE_OCTAVE_DB, STC_CONTOUR_DB, largest_shift_tenths

FIT_GRID = Grid(per_band=2, smooth=6, grazing=6, peak=5, batch=32)
OCTAVE_SIGMA_DB, SINGLE_SIGMA_DB = 14.0, 4.0
"""Weights of the fit: seven octaves of one wall are far from seven independent facts."""

STEP = 0.1
"""Step of the slopes, in units of a prior's spread."""


@dataclass(frozen=True)
class Case:
    """A measured construction: single number rated from octaves where there are five, else the printed class."""

    id: str
    words: str
    source: str
    kind: str
    element: Element
    octaves_db: np.ndarray
    stc_db: float | None

    @property
    def by_octaves(self) -> bool:
        return bool(np.all(np.isfinite(self.octaves_db[1:6])))


def _smooth_octave_db(octaves_db: np.ndarray) -> np.ndarray:
    """Weighted reduction from octaves 125 to 2000 Hz on the last axis, without any rounding."""
    return 52.0 + largest_shift_tenths(octaves_db - AIRBORNE_REFERENCE_OCTAVE_DB, 10.0)


def _smooth_class_db(reduction_db: np.ndarray) -> np.ndarray:
    """Sound transmission class of 21 bands on the last axis, without any rounding."""
    difference = reduction_db[..., 4:20] - STC_CONTOUR_DB
    return np.minimum(largest_shift_tenths(difference, 32.0), difference.min(axis=-1) + 8.0)


def scaled(steps: np.ndarray, priors: tuple[Prior, ...] = PRIORS) -> Constants:
    """Constants from steps in units of each prior's spread; positive scales move by their logarithm."""
    values = {}
    for prior, step in zip(priors, steps, strict=True):
        value = prior.value * np.exp(step * prior.spread) if prior.relative else prior.value + step * prior.spread
        values[prior.name] = min(max(float(value), prior.low), prior.high)
    return replace(FITTED, **values)


def rounded(constants: Constants) -> Constants:
    """Constants to three significant figures, as they are stored."""
    return replace(constants, **{p.name: float(f"{getattr(constants, p.name):.3g}") for p in PRIORS})


def table(constants: Constants) -> str:
    """Every shared constant with its meaning, prior, bounds and value, as a Markdown table."""
    lines = ["| constant | meaning | prior, and where it comes from | bounds | value |", "|---|---|---|---|---|"]
    for p in PRIORS:
        spread = "held" if not p.spread else f"± {p.spread:.0%}" if p.relative else f"± {p.spread:g}"
        lines.append(
            f"| `{p.name}` | {p.meaning} | {p.value:g} {spread}: {p.origin} | {p.low:g} to {p.high:g} "
            f"| {getattr(constants, p.name):.3g} |"
        )
    return "\n".join(lines)


def errors(chosen: list[Case], constants: Constants) -> np.ndarray:
    """Weighted errors (N, 8) of each case: seven octaves (0 where none was printed) and the single number.

    A soft limit keeps a few rows that contradict their own table from steering the rest.
    """
    reductions = reductions_db([c.element for c in chosen], grid=FIT_GRID, constants=constants)
    octaves = octaves_from_thirds_db(reductions)
    measured = np.stack([c.octaves_db for c in chosen])
    by_octaves = np.array([c.by_octaves for c in chosen])
    classes = np.array([np.nan if c.stc_db is None else c.stc_db for c in chosen])
    single = _smooth_class_db(reductions) - classes
    # A printed class is a whole number cut downwards, so its middle lies half a decibel higher.
    single[by_octaves] = _smooth_octave_db(octaves[by_octaves, 1:6]) - _smooth_octave_db(measured[by_octaves, 1:6])
    single[~by_octaves] -= 0.5
    whole = np.concatenate([(octaves - measured) / OCTAVE_SIGMA_DB, single[:, None] / SINGLE_SIGMA_DB], axis=1)
    whole = np.where(np.isfinite(whole), whole, 0.0)
    return np.sign(whole) * np.sqrt(2.0 * (np.sqrt(1.0 + whole**2) - 1.0))


def fit(chosen: list[Case], rounds: int = 30, *, tolerance: float = 1e-6) -> np.ndarray:
    """Steps (P,) of regularised least squares from the priors, by damped Gauss-Newton until the gain is below `tolerance`.

    A constant moves only the cases whose build-ups know it, so that later rounds work out only those. Nothing is drawn
    at random and the start is always the priors, so that the same cases give the same constants.
    """
    x = np.zeros(len(PRIORS))
    found = errors(chosen, scaled(x))
    knows = [np.arange(len(chosen)) if p.spread else np.arange(0) for p in PRIORS]
    damping = 1.0
    for turn in range(rounds):
        slopes = np.zeros((len(PRIORS), *found.shape))
        for k, unit in enumerate(np.eye(len(PRIORS))):
            if not len(knows[k]):
                continue
            part = errors([chosen[i] for i in knows[k]], scaled(x + STEP * unit))
            slopes[k, knows[k]] = (part - found[knows[k]]) / STEP
            if turn == 0:
                knows[k] = np.flatnonzero(np.abs(slopes[k]).sum(axis=1) > 0.0)
        flat = slopes.reshape(len(PRIORS), -1).T
        before = float(np.sum(found**2) + x @ x)
        for _ in range(5):
            matrix = flat.T @ flat + (1.0 + damping) * np.eye(len(x))
            step = np.linalg.solve(matrix, -(flat.T @ found.ravel() + x))
            tried = errors(chosen, scaled(x + step))
            after = float(np.sum(tried**2) + (x + step) @ (x + step))
            if after < before:
                x, found, damping = x + step, tried, damping * 0.2
                break
            damping = max(damping, 0.1) * 5.0
        else:
            break
        if before - after < tolerance * before:
            break
    return x
