"""The stored constants are those of the fit: no step of any fitted constant makes its sum of errors smaller by much."""

import numpy as np
import pytest

from acoustics.constants import FITTED, PRIORS
from tests.bench.accuracy import cases
from tests.bench.fitting import errors, rounded, scaled, table

FITTED_PRIORS = [p for p in PRIORS if p.spread]


def steps() -> np.ndarray:
    """The stored constants in units of each prior's spread, zero where a constant is held."""
    found = np.zeros(len(PRIORS))
    for i, p in enumerate(PRIORS):
        value = getattr(FITTED, p.name)
        if p.spread:
            found[i] = (np.log(value / p.value) if p.relative else value - p.value) / p.spread
    return found


def test_what_is_held_stands_at_its_prior_and_the_rest_is_rounded():
    assert all(getattr(FITTED, p.name) == p.value for p in PRIORS if not p.spread)
    assert all(getattr(rounded(FITTED), p.name) == getattr(FITTED, p.name) for p in PRIORS)
    assert len(FITTED_PRIORS) <= 20  # few against 119 cases


def test_steps_give_the_constants_back():
    again = scaled(steps())
    for p in PRIORS:
        assert getattr(again, p.name) == pytest.approx(getattr(FITTED, p.name), rel=1e-9, abs=1e-12)


def test_the_stored_constants_are_at_the_bottom():
    every, here = cases(), steps()

    def cost(x: np.ndarray) -> float:
        return float(np.sum(errors(every, scaled(x)) ** 2) + x @ x)

    least = cost(here)
    for i, p in enumerate(PRIORS):
        if p.spread:
            for side in (-0.3, 0.3):
                x = here.copy()
                x[i] += side
                assert cost(x) > least - 0.003 * least, p.name


def test_the_table_tells_all_of_every_constant():
    rows = table(FITTED).splitlines()[2:]
    assert len(rows) == len(PRIORS)
    for row, p in zip(rows, PRIORS, strict=True):
        cells = [c.strip() for c in row.strip("|").split("|")]
        assert cells[0] == f"`{p.name}`" and cells[1] == p.meaning and p.origin in cells[2]
        assert cells[3] == f"{p.low:g} to {p.high:g}" and cells[4] == f"{getattr(FITTED, p.name):.3g}"
