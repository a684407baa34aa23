"""The front as a picture for the table at the customer's: what it costs against what is then heard.

Gives the context `d` of templates/drawings/front.svg, whole view units. A point is one set of treatments, lettered as in
the table beside it; the bands across say in words what will be heard of the noise in question.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby, pairwise

from contractor.rooms.planning.bridge import Plan, SetOfTreatments

WIDTH, HEIGHT = 440, 360
LEFT, RIGHT, TOP, BOTTOM = 12, 14, 14, 46
MOST_POINTS = 9
LEAST_STEP_DB = 0.7
LETTER_WIDTH, LINE = 5.8, 16
RADIUS = 11


@dataclass(frozen=True)
class Point:
    letter: str
    chosen: SetOfTreatments


def points_of(plan: Plan, also: Sequence[SetOfTreatments] = ()) -> list[Point]:
    """The sets worth a letter: those in `also`, nothing at all, and between them steps that can be heard.

    Never more than a table can hold; the whole front is in the plan.
    """
    wanted = {chosen.cost: chosen for chosen in also}
    picked = [wanted.get(s.cost, s) for s in plan.front if s.cost in wanted or s is plan.front[0]]
    scores = [s.score for s in picked]
    span = max(plan.best.score - plan.front[0].score, 1e-9)
    step = max(LEAST_STEP_DB if span < 200 else 0.0, span / MOST_POINTS)
    for chosen in plan.front:
        if len(picked) >= MOST_POINTS + len(also):
            break
        if min(abs(chosen.score - score) for score in scores) >= step:
            picked.append(chosen)
            scores.append(chosen.score)
    picked.sort(key=lambda s: s.cost)
    return [Point(chr(ord("A") + place), chosen) for place, chosen in enumerate(picked)]


def front_drawing(
    points: Sequence[Point], plan: Plan, *, noise: str, prices: Sequence[Decimal], marks: dict[str, str]
) -> dict:
    """`noise` is the key of the words that the bands tell; `prices` are those of the points; `marks` names points by letter, such as "Recommended"."""
    low, high = points[0].chosen.score, points[-1].chosen.score
    target = plan.goal_score
    low, high = min(low, target), max(high, target)
    margin = max((high - low) * 0.08, 0.3)
    low, high = low - margin, high + margin
    dearest = float(prices[-1]) or 1.0
    step = _price_step(dearest)
    top_price = math.ceil(dearest / step) * step

    def x(price: Decimal | int) -> int:
        return LEFT + RADIUS + round(float(price) / top_price * (WIDTH - LEFT - RIGHT - 2 * RADIUS))

    def y(score: float) -> int:
        return TOP + round((high - score) / (high - low) * (HEIGHT - TOP - BOTTOM))

    spots = [(x(price), y(point.chosen.score)) for point, price in zip(points, prices, strict=True)]
    seats = _apart(spots)
    steps = _steps(spots)
    target_y = y(target)
    line = (LEFT, target_y - 1, WIDTH - RIGHT, target_y + 1)
    taken = [_around(spot) for spot in seats] + _strokes(steps) + [line]
    # Above the best set nothing is known of what would be heard, where what was asked for lies out of reach.
    highest = TOP if plan.cheapest else max(TOP, spots[-1][1] - RADIUS - LINE)
    bands = _bands(points, noise, y, taken, highest)
    taken += [band["text_box"] for band in bands if band["text"]]
    asked_for = _free(_beside_line(target_y, "asked for"), taken)
    taken.append(asked_for[3])
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "plot": {
            "left": LEFT,
            "right": WIDTH - RIGHT,
            "top": TOP,
            "bottom": HEIGHT - BOTTOM,
            "width": WIDTH - LEFT - RIGHT,
        },
        "bands": bands,
        "steps": " ".join(f"{px},{py}" for px, py in steps),
        "points": [
            {
                "x": px,
                "y": py,
                "letter": point.letter,
                "text_y": py + 5,
                "is_marked": point.letter in marks,
                "from_x": spot[0],
                "from_y": spot[1],
                "is_moved": (px, py) != spot,
            }
            for point, (px, py), spot in zip(points, seats, spots, strict=True)
        ],
        "names": _names(points, seats, marks, taken),
        "target": {"y": target_y, "text_x": asked_for[0], "text_y": asked_for[1], "anchor": asked_for[2]},
        "ticks": [_tick(x(price), price) for price in range(0, top_price + 1, step)],
        "title": "What it costs against what is then heard",
        "desc": _told(points, noise, prices),
    }


def _bands(points: Sequence[Point], noise: str, y, taken: list, highest: int) -> list[dict]:
    """Stretches of the height in which the same is heard, from below; bounds lie half-way between neighbours."""
    runs = [(words, list(run)) for words, run in groupby(points, key=lambda p: p.chosen.heard.get(noise, ""))]
    edges = [HEIGHT - BOTTOM]
    for (_, run), (_, after) in pairwise(runs):
        edges.append(round((y(run[-1].chosen.score) + y(after[0].chosen.score)) / 2))
    edges.append(min(highest, edges[-1]))
    found = []
    for place, (words, _) in enumerate(runs):
        top, bottom = edges[place + 1], edges[place]
        text_x, text_y, anchor, box = _free(_in_band(top, bottom, words), taken)
        found.append(
            {
                "y": top,
                "height": max(bottom - top, 1),
                "is_shaded": place % 2 == 0,
                "text": words[:1].upper() + words[1:] if bottom - top >= LINE else "",
                "text_x": text_x,
                "text_y": text_y,
                "anchor": anchor,
                "text_box": box,
            }
        )
    return found


def _in_band(top: int, bottom: int, words: str) -> list[tuple]:
    """Where a band may carry its words: right or left, in each line that it has room for."""
    wide = len(words) * LETTER_WIDTH
    lines = range(top + 14, max(bottom - 3, top + 15), 6)
    right = [
        (WIDTH - RIGHT - 6, line, "end", (WIDTH - RIGHT - 8 - wide, line - 12, WIDTH - RIGHT, line + 4))
        for line in lines
    ]
    left = [(LEFT + 6, line, "start", (LEFT, line - 12, LEFT + 8 + wide, line + 4)) for line in lines]
    return right + left


def _beside_line(line_y: int, words: str) -> list[tuple]:
    """Above or below a line across, at either end or in the middle."""
    wide = len(words) * LETTER_WIDTH
    found = []
    for text_y in (line_y - 5, line_y + 14):
        box = (text_y - 12, text_y + 4)
        found.append((LEFT + 6, text_y, "start", (LEFT + 4, box[0], LEFT + 10 + wide, box[1])))
        found.append((WIDTH - RIGHT - 6, text_y, "end", (WIDTH - RIGHT - 10 - wide, box[0], WIDTH - RIGHT, box[1])))
        middle = WIDTH // 2
        found.append((middle, text_y, "middle", (middle - wide / 2, box[0], middle + wide / 2, box[1])))
    return found


def _names(points: Sequence[Point], spots: list[tuple[int, int]], marks: dict[str, str], taken: list) -> list[dict]:
    """The names of marked points beside them, where they cover nothing: tried to the right, left, below and above."""
    taken, names = list(taken), []
    for point, (px, py) in zip(points, spots, strict=True):
        text = marks.get(point.letter, "")
        if not text:
            continue
        wide = len(text) * LETTER_WIDTH * 1.15 + 4
        tries = [
            (px + RADIUS + 5, py + 5, "start", (px + RADIUS + 3, py - 8, px + RADIUS + 7 + wide, py + 9)),
            (px - RADIUS - 5, py + 5, "end", (px - RADIUS - 7 - wide, py - 8, px - RADIUS - 3, py + 9)),
            (px, py + RADIUS + 14, "middle", (px - wide / 2, py + RADIUS + 2, px + wide / 2, py + RADIUS + 18)),
            (px, py - RADIUS - 5, "middle", (px - wide / 2, py - RADIUS - 17, px + wide / 2, py - RADIUS - 2)),
            (px + 6, py + RADIUS + 14, "start", (px + 4, py + RADIUS + 2, px + 8 + wide, py + RADIUS + 18)),
            (px - 6, py - RADIUS - 5, "end", (px - 8 - wide, py - RADIUS - 17, px - 4, py - RADIUS - 2)),
            (px - 6, py + RADIUS + 14, "end", (px - 8 - wide, py + RADIUS + 2, px - 4, py + RADIUS + 18)),
        ]
        text_x, text_y, anchor, box = _free(tries, taken)
        taken.append(box)
        names.append({"x": round(text_x), "y": round(text_y), "anchor": anchor, "text": text})
    return names


def _free(tries: list[tuple], taken: list[tuple]) -> tuple:
    """The first of the places (x, y, anchor, box) that covers least of what is there already."""
    return min(tries, key=lambda place: _covered(place[3], taken))


def _covered(box: tuple, others: list[tuple]) -> float:
    """How much of other things a box would cover, with what lies outside the picture weighing most."""
    left, top, right, bottom = box
    outside = max(0.0, LEFT - left) + max(0.0, right - WIDTH + RIGHT)
    outside += max(0.0, 2 - top) + max(0.0, bottom - HEIGHT + BOTTOM)
    inside = sum(
        max(0.0, min(right, r) - max(left, a)) * max(0.0, min(bottom, b) - max(top, t)) for a, t, r, b in others
    )
    return 1000.0 * outside + inside


def _around(spot: tuple[int, int]) -> tuple:
    px, py = spot
    return (px - RADIUS - 1, py - RADIUS - 1, px + RADIUS + 1, py + RADIUS + 1)


def _apart(spots: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Circles that would lie on one another are moved along, the dearer upwards or back; a thin line then leads to
    the true place."""
    seats: list[tuple[int, int]] = []
    for px, py in spots:
        ways = [(px, py)]
        ways += [
            (px + dx, py + dy)
            for away in (12, 18, 24, 30)
            for dx, dy in ((away, 0), (0, away), (-away, 0), (0, -away), (away, away), (-away, -away))
        ]
        inside = [
            (wx, wy)
            for wx, wy in ways
            if LEFT + RADIUS <= wx <= WIDTH - RIGHT - RADIUS and TOP + RADIUS - 4 <= wy <= HEIGHT - BOTTOM
        ]
        clear = (
            seat
            for seat in inside
            if all((seat[0] - a) ** 2 + (seat[1] - b) ** 2 >= (2 * RADIUS + 1) ** 2 for a, b in seats)
        )
        seats.append(next(clear, (px, py)))
    return seats


def _steps(spots: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """A stair through the points: for each price the best that it buys."""
    path = [spots[0]]
    for (_, before), (px, py) in pairwise(spots):
        path += [(px, before), (px, py)]
    return [*path, (WIDTH - RIGHT, spots[-1][1])]


def _strokes(path: list[tuple[int, int]]) -> list[tuple]:
    """Boxes that a line through these corners covers."""
    return [(min(a, c) - 2, min(b, d) - 2, max(a, c) + 2, max(b, d) + 2) for (a, b), (c, d) in pairwise(path)]


def _tick(at: int, price: int) -> dict:
    """A price on the axis; the last is set so that it stays on the paper."""
    is_last = at > WIDTH - RIGHT - 24
    return {
        "x": at,
        "text_x": WIDTH - 2 if is_last else at,
        "text": f"£{price:,}",
        "anchor": "end" if is_last else "middle",
    }


def _price_step(dearest: float) -> int:
    """Between prices on the axis: 1, 2, 2.5 or 5 times a power of ten, in five steps at most."""
    power = 10 ** max(len(str(int(dearest))) - 2, 0)
    return next(round(power * size) for size in (1, 2, 2.5, 5, 10, 20, 25, 50) if dearest <= 5 * power * size)


def _told(points: Sequence[Point], noise: str, prices: Sequence[Decimal]) -> str:
    return ". ".join(
        f"{p.letter}: £{price:,.0f}, {p.chosen.heard.get(noise, '')}, {len(p.chosen.built)} treated"
        for p, price in zip(points, prices, strict=True)
    )
