"""The curve is in whole view units, on its plot, and its labels do not meet."""

import re

from django.template.loader import render_to_string

from contractor.catalogue.curve import HEIGHT, LABEL_APART, WIDTH, curve

BANDS = [50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000]


def test_levels_keep_their_order_on_the_plot():
    drawn = curve(BANDS, [("As found", 40, tuple(float(20 + n) for n in range(21)))])
    points = [tuple(map(int, pair.split(","))) for pair in drawn["lines"][0].points.split()]
    assert len(points) == 21
    assert points == sorted(points) and [y for _, y in points] == sorted((y for _, y in points), reverse=True)
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in points)
    assert [text for _, text in drawn["ticks"]] == ["63", "125", "250", "500", "1k", "2k", "4k"]


def test_labels_of_two_near_curves_stand_apart_and_the_later_is_bold():
    low, high = tuple(30.0 for _ in BANDS), tuple(31.0 for _ in BANDS)
    before, after = curve(BANDS, [("Before", 30, low), ("After", 31, high)])["lines"]
    assert before.label_y - after.label_y == LABEL_APART
    assert after.is_bold and not before.is_bold


def test_the_drawing_says_what_it_shows():
    drawn = curve(BANDS, [("Before", 30, tuple(30.0 for _ in BANDS)), ("After", 50, tuple(50.4 for _ in BANDS))])
    svg = render_to_string("catalogue/_curve.svg", {"curve": drawn})
    assert "After: weighted 50 dB, from 50 dB at 50 Hz to 50 dB at 5000 Hz." in svg
    assert "Frequency, Hz" in svg and "Sound reduction, dB" in svg and "style=" not in svg
    assert not re.search(r'points="[^"]*\.', svg)


def test_what_is_added_may_lie_under_nothing_and_levels_that_never_change_are_drawn():
    gained = curve(BANDS, [("Alone", 5, (-4.0, *(12.0 for _ in BANDS[1:])))], shows="Added reduction")
    svg = render_to_string("catalogue/_curve.svg", {"curve": gained, "uid": "-alone"})
    assert gained["zero_y"] and "Added reduction, dB" in svg and 'id="curve-alone-title"' in svg

    flat = curve(BANDS, [("Alone", 0, tuple(0.0 for _ in BANDS))], shows="Added reduction")
    assert flat["zero_y"] is None and len(flat["lines"][0].points.split()) == 21
