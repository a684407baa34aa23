"""Counts with their units, as every page and paper writes them."""

import pytest

from contractor.common.templatetags.wording import counted


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [
        ("2", "bag", "2 bags"),
        ("1", "visit", "1 visit"),
        ("0.5", "day", "0.5 days"),
        ("3", "box", "3 boxes"),
        ("2", "hours", "2 hours"),
        ("3.46", "m²", "3.46 m²"),
        ("4.15", "m", "4.15 m"),
        ("3", "no.", "3 no."),
        ("2", "", "2"),
    ],
)
def test_words_take_a_plural_and_signs_do_not(value, unit, told):
    assert counted(value, unit) == told
