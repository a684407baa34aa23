"""The curve and the shares as drawn: what they place, what they say, and that nothing runs into another."""

import re

import pytest
from django.template.loader import render_to_string

from acoustics import BANDS_HZ, rate_airborne
from contractor.rooms import graphs

BEFORE = [30 + place for place in range(21)]
AFTER = [33 + 1.6 * place for place in range(21)]


def told(before=BEFORE, after=AFTER, **more) -> dict:
    def side(levels):
        rating = rate_airborne(tuple(levels))
        return {
            "standardized_db": list(levels),
            "weighted_db": rating.weighted_db,
            "c_db": rating.c_db,
            "ctr_db": rating.ctr_db,
            "uncertainty_db": 3.4,
        }

    return {"room": "Box room", "bands_hz": list(BANDS_HZ), "before": side(before), "after": side(after), **more}


def paths(count: int) -> list[dict]:
    return [{"name": f"Way {n}", "share_before": 1 / count, "share_after": 1 / count} for n in range(count)]


def points(text: str) -> list[tuple[int, int]]:
    return [tuple(int(n) for n in point.split(",")) for point in text.split()]


def test_reference_curve_is_that_of_the_standard():
    """ISO 717-1:2020, Table 3, third octaves: 33 at 100 Hz, 52 at 500 Hz, 56 from 1250 to 3150 Hz."""
    assert graphs.REFERENCE_DB[0] == 33
    assert graphs.REFERENCE_DB[7] == graphs.REFERENCE_AT_500_DB == 52
    assert graphs.REFERENCE_DB[11:] == [56] * 5


def test_moved_reference_crosses_500_hz_at_the_rating():
    prediction = told()
    d = graphs.curve(prediction)
    at_500 = list(BANDS_HZ).index(500) - list(BANDS_HZ).index(100)
    levels = {int(level["text"]): level["y"] for level in d["levels"]}
    low, high = min(levels), max(levels)
    rating = prediction["after"]["weighted_db"]
    expected = levels[high] + (high - rating) * (levels[low] - levels[high]) / (high - low)

    assert points(d["reference"])[at_500][1] == pytest.approx(expected, abs=1)


def test_curve_has_a_point_for_each_band_and_keeps_inside():
    d = graphs.curve(told())

    for line in (d["before"], d["after"], d["band"]):
        for x, y in points(line):
            assert d["plot"]["left"] <= x <= d["plot"]["right"]
            assert d["plot"]["top"] <= y <= d["plot"]["bottom"]
    assert len(points(d["before"])) == len(points(d["after"])) == 21


def test_range_of_a_band_is_as_wide_as_the_band_is_unsure():
    prediction = told()
    prediction["after"]["band_uncertainty_db"] = [8.0, *(2.0 for _ in range(20))]

    band = points(graphs.curve(prediction)["band"])

    def wide(place: int) -> int:
        return band[len(band) - 1 - place][1] - band[place][1]

    assert wide(10) > 0
    assert wide(0) > 2.5 * wide(10)  # 33 dB at 50 Hz: the lower end of its 16 dB is cut at 30


@pytest.mark.parametrize("lift", [0, 0.5, 4, -4], ids=["same", "close above", "above", "below"])
def test_numbers_beside_the_curves_never_overlap(lift):
    d = graphs.curve(told(after=[level + lift for level in BEFORE]))

    assert abs(d["label_before"]["y"] - d["label_after"]["y"]) >= graphs.LABEL_APART - 1


def test_shares_are_told_largest_first_and_the_small_ones_together():
    d = graphs.shares(told(paths=paths(12)), most=8)

    assert len(d["rows"]) == 8
    assert d["rows"][-1]["name"] == "5 others together"
    assert d["rows"][-1]["before"]["text"] == "42 %"  # 5 of 12


def test_a_tiny_share_is_not_called_nothing():
    some = [{"name": "Wall", "share_before": 0.999, "share_after": 1.0}]
    rest = [{"name": "Pipe", "share_before": 0.001, "share_after": 0.0}]

    pipe = graphs.shares(told(paths=some + rest))["rows"][1]

    assert (pipe["before"]["text"], pipe["after"]["text"]) == ("under 1 %", "0 %")


@pytest.mark.parametrize(
    ("template", "d"),
    [
        ("drawings/curve.svg", graphs.curve(told())),
        ("drawings/shares.svg", graphs.shares(told(paths=paths(3)))),
        (
            "drawings/cut_length.svg",
            graphs.lengths(
                [{"number": 1, "length_mm": 3600, "left_mm": 100, "cuts": [{"label": "S", "length_mm": 3500}]}]
            )[0],
        ),
    ],
    ids=["curve", "shares", "length"],
)
def test_drawings_speak_and_use_whole_numbers_and_no_styles(template, d):
    svg = render_to_string(template, {"d": d})

    assert re.search(r"<title>[^<]+</title>", svg)
    assert 'role="img"' in svg
    assert "style=" not in svg and "class=" not in svg
    assert not re.search(r'(?<![-\w])(?:x|y|x1|x2|y1|y2|width|height)="[^"]*\.', svg.split("<title>")[1])
