"""Bias, spread and the factor, reckoned by hand.

The factor is the posterior scale of a normal error with known mean under a scaled inverse chi-squared prior:
(n0 s0² + n v) / (n0 + n), Gelman et al., Bayesian Data Analysis (from memory), here in units of s0.
"""

from decimal import Decimal

import pytest

from contractor.learning.differences import Case, Group, grouped, rule_of


def case(difference_db, uncertainty_db=2.0, room_id=None, moment="after", **more) -> Case:
    case.made = getattr(case, "made", 0) + 1
    made = {
        "job_number": 1, "room_id": room_id or case.made, "room": "Bedroom", "source_room": "Next door",
        "moment": moment, "measured_db": 50 + difference_db, "predicted_db": 50, "uncertainty_db": uncertainty_db,
        "construction": "Solid brick", "build_up": "Lining",
    }  # fmt: skip
    return Case(**made | more)


def test_the_factor_of_a_worked_example():
    """Differences 2, 4, −2 and 0 dB of a range of 2 dB: squares 1 + 4 + 1 + 0 = 6; √(16 / 14) = 1.069, in steps 1.05."""
    rule = rule_of([case(2), case(4), case(-2), case(0)])
    assert (rule.count, rule.sum_of_squares) == (4, 6.0)
    assert rule.unrounded == pytest.approx(1.0690, abs=1e-4)
    assert rule.factor == Decimal("1.05")


@pytest.mark.parametrize(
    ("differences", "factor"),
    [
        ([], "1.00"),
        ([9, 9], "1.00"),  # two are too few, however far off
        ([2, 2, -2], "1.00"),  # squares that come to 1 each: the range is just right
        ([4, 4, 4], "1.30"),  # √(22 / 13) = 1.301: a bias widens too
        ([0] * 4, "0.85"),  # √(10 / 14) = 0.845
        ([0] * 40, "0.80"),
        ([20] * 10, "2.00"),
    ],
)
def test_it_widens_narrows_and_has_ends(differences, factor):
    assert rule_of([case(d) for d in differences]).factor == Decimal(factor)


def test_a_room_counts_once_from_each_source_after_the_work_rather_than_before():
    pair = [case(-6, room_id=7, moment="before"), case(2, room_id=7), case(8, room_id=8, moment="before")]
    for tests in (pair, pair[::-1]):
        rule = rule_of(tests)
        assert (rule.count, rule.sum_of_squares) == (2, 1.0 + 16.0)
    assert rule_of([*pair, case(0, room_id=7, source_room="Above")]).count == 3


def test_bias_and_spread_of_three_and_nothing_of_two():
    """1, 3 and −1: mean 1.0; standard deviation √((0 + 4 + 4) / 2) = 2.0."""
    group = Group(name="", cases=[case(1), case(3), case(-1)])
    assert (group.bias_db, group.spread_db) == (1.0, 2.0)
    few = Group(name="", cases=[case(1), case(3)])
    assert (few.bias_db, few.spread_db, few.count) == (None, None, 2)


def test_groups_have_the_most_cases_first():
    groups = grouped([case(0, construction="B"), case(0, construction="A"), case(1, construction="A")], "construction")
    assert [(g.name, g.count) for g in groups] == [("A", 2), ("B", 1)]
