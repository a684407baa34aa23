"""The search against complete enumeration, and against a whole-number solver on cases too large to enumerate."""

import itertools

import highspy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from acoustics.knapsack import search
from acoustics.sets import Table, undominated

ANY_KEY = 2**62


def least_level(sums):
    return -10.0 * np.log10(sums[:, 0])


def quietest_band(sums):
    return -10.0 * np.log10(sums.max(axis=1))


SCORES = [least_level, quietest_band]


def made(seed: int, places: int, rows: int, bands: int, uses: int) -> tuple[list[Table], np.ndarray]:
    """Tables in sixteenths and whole numbers, so that sums are exact and ties common. What gains more costs more."""
    random = np.random.default_rng(seed)
    tables, start = [], np.full(bands, 1.0)
    for _ in range(places):
        own = random.integers(200, 4000, bands) / 16.0
        grade = random.uniform(0.0, 1.0, rows)
        left = np.round(own * (1.0 - 0.9 * grade[:, None] * random.uniform(0.8, 1.05, (rows, bands))) * 16.0) / 16.0
        key = np.concatenate([[0], np.round(40 * grade + random.integers(0, 12, rows)).astype(int) + 1])
        used = np.round(20 * grade[:, None] * random.uniform(0.5, 1.5, (rows, uses)))
        tables.append(
            Table(key, np.concatenate([np.zeros((1, bands)), left - own]), np.concatenate([np.zeros((1, uses)), used]))
        )
        start = start + own
    return tables, start


def every_front(tables, start, limits, most_key, score) -> list[tuple[int, float]]:
    """(key, score) of all undominated sets by trying every set."""
    found: dict[int, float] = {}
    for rows in itertools.product(*[range(len(t.key)) for t in tables]):
        key = sum(int(t.key[r]) for t, r in zip(tables, rows, strict=True))
        uses = sum((t.uses[r] for t, r in zip(tables, rows, strict=True)), np.zeros(len(limits)))
        if key > most_key or np.any(uses > limits):
            continue
        sums = start + sum(t.sums[r] for t, r in zip(tables, rows, strict=True))
        found[key] = max(found.get(key, -np.inf), float(score(sums[None, :])[0]))
    front, best = [], -np.inf
    for key in sorted(found):
        if found[key] > best:
            best = found[key]
            front.append((key, best))
    return front


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    places=st.integers(1, 5),
    rows=st.integers(1, 4),
    bands=st.integers(1, 5),
    limits=st.lists(st.integers(0, 60), max_size=2),
    most_key=st.sampled_from([ANY_KEY, 90]),
    score=st.sampled_from(SCORES),
)
def test_the_front_is_that_of_enumeration(seed, places, rows, bands, limits, most_key, score):
    tables, start = made(seed, places, rows, bands, len(limits))
    room = np.array(limits, float)
    found = search(tables, start, room, most_key, score, seconds=20)
    assert found.exact
    assert list(zip(found.sets.key.tolist(), found.score.tolist(), strict=True)) == every_front(
        tables, start, room, most_key, score
    )
    for i, rows_taken in enumerate(found.sets.rows):  # each set is what it says
        sums = start + sum(t.sums[r] for t, r in zip(tables, rows_taken, strict=True))
        assert found.sets.key[i] == sum(int(t.key[r]) for t, r in zip(tables, rows_taken, strict=True))
        assert found.score[i] == score(sums[None, :])[0]


def cheapest_by_solver(tables, start, limits, least_score: float) -> tuple[int, float]:
    """Least key that reaches a level, by branch and bound of a whole-number solver, with the bound it proves."""
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.99)  # keys are whole numbers
    picks = [[model.addBinary() for _ in t.key] for t in tables]
    for own in picks:
        model.addConstr(sum(own) == 1)
    most = 10.0 ** (-least_score / 10.0)
    terms = [(float(t.sums[r, 0]), x) for t, own in zip(tables, picks, strict=True) for r, x in enumerate(own)]
    model.addConstr(sum(a / most * x for a, x in terms) <= 1.0 - start[0] / most)
    for row, limit in enumerate(limits):
        model.addConstr(
            sum(float(t.uses[r, row]) * x for t, own in zip(tables, picks, strict=True) for r, x in enumerate(own))
            <= limit
        )
    model.minimize(sum(float(t.key[r]) * x for t, own in zip(tables, picks, strict=True) for r, x in enumerate(own)))
    info = model.getInfo()
    return round(info.objective_function_value), info.mip_dual_bound


@pytest.mark.parametrize(
    ("places", "rows", "limits"), [(8, 12, []), (15, 20, []), (8, 12, [70.0]), (8, 12, [70.0, 80.0])]
)
def test_a_whole_number_solver_proves_the_same_cost(places, rows, limits):
    tables, start = made(7, places, rows, 1, len(limits))
    found = search(tables, start, np.array(limits), ANY_KEY, least_level, seconds=30)
    assert found.exact
    target = float((found.score[0] + found.score[-1]) / 2.0) + 0.0123
    least = int(found.sets.key[np.argmax(found.score >= target)])
    value, bound = cheapest_by_solver(tables, start, limits, target)
    assert value == least
    assert bound > least - 1.0


def test_cut_short_it_says_so_and_still_bounds_what_is_left():
    tables, start = made(3, 10, 12, 12, 2)
    limits = np.array([60.0, 70.0])
    cut = search(tables, start, limits, ANY_KEY, quietest_band, seconds=0.01)
    assert not cut.exact
    whole, _ = made(3, 4, 4, 12, 2)  # a small one of the same kind, cut at once, against its enumeration
    start = start * 0 + 1.0 + sum(-t.sums.min(axis=0) for t in whole) * 1.2
    cut = search(whole, start, limits, ANY_KEY, quietest_band, seconds=0.0)
    for key, score in every_front(whole, start, limits, ANY_KEY, quietest_band):
        known = np.any((cut.sets.key <= key) & (cut.score >= score))
        bounded = np.any((cut.open_key <= key) & (cut.open_score >= score - 1e-9))
        assert known or bounded


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=60))
def test_what_is_kept_is_beaten_by_nothing_and_beats_the_rest(rows):
    key = np.array([row[0] for row in rows])
    columns = np.array([row[1:] for row in rows], float)
    kept, complete = undominated(key, columns)
    assert complete
    points = np.column_stack([key, columns])
    for i in range(len(rows)):
        rivals = [k for k in kept if k != i and np.all(points[k] <= points[i])]
        assert (i in kept) != bool(rivals)
