"""The picture of the front: nothing lies on anything, nothing is cut off."""

from decimal import Decimal
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from contractor.planning.front import (
    BOTTOM,
    HEIGHT,
    LETTER_WIDTH,
    MOST_POINTS,
    RADIUS,
    WIDTH,
    Point,
    front_drawing,
    points_of,
)
from contractor.planning.options import three_of

WORDS = ["clearly audible", "audible, a little softer", "barely audible, about half as loud", "not audible"]


def made(costs_and_gains, target=20.0):
    """A front with such steps of cost and score, its words by score."""
    cost, score, front = Decimal(0), 0.0, []
    for more, gain in [(0, 0.0), *costs_and_gains]:
        cost, score = cost + more, score + gain
        words = WORDS[min(int(score // 8), 3)]
        front.append(SimpleNamespace(cost=cost, score=score, heard={"tv": words}, built={1: 1} if cost else {}))
    cheapest = next((s for s in front if s.score >= target), None)
    return SimpleNamespace(front=front, best=front[-1], cheapest=cheapest, goal_score=target)


STEPS = st.lists(st.tuples(st.integers(1, 3000), st.floats(0.05, 9.0)), min_size=1, max_size=40)


def drawing_of(plan) -> tuple[dict, list[Point]]:
    three = three_of(plan)
    points = points_of(plan, list(three.values()))
    names = {chosen.cost: str(option) for option, chosen in three.items()}
    marks = {p.letter: names[p.chosen.cost].capitalize() for p in points if p.chosen.cost in names}
    prices = [p.chosen.cost for p in points]
    return front_drawing(points, plan, noise="tv", prices=prices, marks=marks), points


@settings(max_examples=80, deadline=None)
@given(STEPS)
def test_points_lie_apart_and_within_the_picture(steps):
    drawing, points = drawing_of(made(steps))
    spots = [(p["x"], p["y"]) for p in drawing["points"]]
    assert [p.letter for p in points] == [chr(65 + i) for i in range(len(points))]
    assert len(points) <= MOST_POINTS + 4
    for x, y in spots:
        assert RADIUS <= x <= WIDTH - RADIUS
        assert 0 <= y <= HEIGHT - BOTTOM + RADIUS
    crowded = sum(
        (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 < (2 * RADIUS) ** 2 for i, a in enumerate(spots) for b in spots[:i]
    )
    assert crowded == 0


@settings(max_examples=80, deadline=None)
@given(STEPS)
def test_no_word_is_cut_off(steps):
    drawing, _ = drawing_of(made(steps))
    for text in [*drawing["names"], *(b for b in drawing["bands"] if b["text"])]:
        x = text.get("x", text.get("text_x"))
        wide = len(text["text"]) * LETTER_WIDTH
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text["anchor"]]
        assert left >= -1
        assert left + wide <= WIDTH + 1


def test_the_line_of_what_was_asked_for_does_not_strike_through_a_word():
    """A wide band has other lines to stand on."""
    drawing, _ = drawing_of(made([(100, 9.0), (2000, 9.0), (3000, 6.0)], target=22.0))
    line_y = drawing["target"]["y"]
    for band in drawing["bands"]:
        _, top, _, bottom = band["text_box"]
        assert not band["text"] or not top < line_y < bottom, band


def test_the_three_options_lie_on_either_side_of_the_cheapest_that_reaches():
    plan = made([(100, 6.0), (400, 6.0), (900, 9.0), (2000, 4.0), (5000, 0.2)])
    three = three_of(plan)
    assert three["recommended"].cost == 1400
    assert three["less"].cost == 500  # 12 of the 21 dB
    assert three["most"].cost == 3400  # the last 0.2 dB are not worth 5,000
    assert three_of(made([], target=5.0)) == {}


def test_out_of_reach_the_best_is_recommended():
    plan = made([(100, 6.0), (400, 6.0)], target=40.0)
    assert {str(k): s.cost for k, s in three_of(plan).items()} == {"less": 100, "recommended": 500}
