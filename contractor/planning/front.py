"""The front as a picture for the table at the customer's: what it costs against what is then heard.

Gives the context `d` of templates/drawings/front.svg, whole view units. A point is one set of treatments, lettered as in
the table beside it; the bands across say in words what will be heard of the noise in question.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby, pairwise

from contractor.rooms.planning.bridge import Plan, SetOfTreatments

WIDTH, HEIGHT = 440, 360
LEFT, RIGHT, TOP, BOTTOM = 12, 14, 14, 46
MOST_POINTS = 9
LEAST_STEP_DB = 0.7
LETTER_WIDTH, LINE = 6.6, 16
RADIUS = 11


@dataclass(frozen=True)
class Point:
    letter: str
    chosen: SetOfTreatments


def points_of(plan: Plan, also: Sequence[SetOfTreatments] = ()) -> list[Point]:
    """The sets worth a letter: those in `also`, nothing at all, and between them steps that can be heard.

    Never more than a table can hold; the whole front is in the plan.
    """
    wanted = {id(chosen) for chosen in also}
    costs = {chosen.cost for chosen in also}
    picked = [s for s in plan.front if id(s) in wanted or s.cost in costs or s is plan.front[0] or s is plan.best]
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
    top_price = _round_up(dearest)

    def x(price: Decimal | int) -> int:
        return LEFT + RADIUS + round(float(price) / top_price * (WIDTH - LEFT - RIGHT - 2 * RADIUS))

    def y(score: float) -> int:
        return TOP + round((high - score) / (high - low) * (HEIGHT - TOP - BOTTOM))

    spots = [(x(price), y(point.chosen.score)) for point, price in zip(points, prices, strict=True)]
    bands = _bands(points, noise, y)
    drawn = []
    for point, (px, py) in zip(points, spots, strict=True):
        drawn.append({"x": px, "y": py, "letter": point.letter, "text_y": py + 5, "is_marked": point.letter in marks})
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
        "steps": _steps(spots),
        "points": drawn,
        "names": _names(points, spots, marks, [band["text_box"] for band in bands]),
        "target_y": y(target),
        "ticks": [{"x": x(price), "text": f"£{price:,}", "anchor": "middle"} for price in _prices(top_price)],
        "title": "What it costs against what is then heard",
        "desc": _told(points, noise, prices),
    }


def _bands(points: Sequence[Point], noise: str, y) -> list[dict]:
    """Stretches of the height in which the same is heard, from below; bounds lie half-way between neighbours."""
    runs = [(words, list(run)) for words, run in groupby(points, key=lambda p: p.chosen.heard.get(noise, ""))]
    edges = [HEIGHT - BOTTOM]
    for (_, run), (_, after) in pairwise(runs):
        edges.append(round((y(run[-1].chosen.score) + y(after[0].chosen.score)) / 2))
    edges.append(TOP)
    found = []
    for place, (words, _) in enumerate(runs):
        top, bottom = edges[place + 1], edges[place]
        text_y = top + 15
        found.append(
            {
                "y": top,
                "height": max(bottom - top, 1),
                "is_shaded": place % 2 == 0,
                "text": words[:1].upper() + words[1:] if bottom - top >= LINE + 2 else "",
                "text_y": text_y,
                "text_x": WIDTH - RIGHT - 6,
                "text_box": (WIDTH - RIGHT - 6 - len(words) * LETTER_WIDTH, text_y - 12, WIDTH - RIGHT, text_y + 4),
            }
        )
    return found


def _names(points: Sequence[Point], spots: list[tuple[int, int]], marks: dict[str, str], taken: list) -> list[dict]:
    """The names of marked points beside them, where they cover nothing: tried to the right, left, below and above."""
    boxes = [(px - RADIUS, py - RADIUS, px + RADIUS, py + RADIUS) for px, py in spots] + list(taken)
    names = []
    for point, (px, py) in zip(points, spots, strict=True):
        text = marks.get(point.letter, "")
        if not text:
            continue
        wide = len(text) * LETTER_WIDTH + 4
        tries = [
            (px + RADIUS + 5, py + 5, "start", (px + RADIUS + 3, py - 8, px + RADIUS + 7 + wide, py + 9)),
            (px - RADIUS - 5, py + 5, "end", (px - RADIUS - 7 - wide, py - 8, px - RADIUS - 3, py + 9)),
            (px, py + RADIUS + 14, "middle", (px - wide / 2, py + RADIUS + 2, px + wide / 2, py + RADIUS + 18)),
            (px, py - RADIUS - 5, "middle", (px - wide / 2, py - RADIUS - 17, px + wide / 2, py - RADIUS - 2)),
        ]
        best = min(tries, key=lambda t: _covered(t[3], boxes))
        boxes.append(best[3])
        names.append({"x": round(best[0]), "y": round(best[1]), "anchor": best[2], "text": text})
    return names


def _covered(box: tuple, others: list[tuple]) -> float:
    """How much of other things a box would cover, with what lies outside the picture weighing most."""
    left, top, right, bottom = box
    outside = (
        max(0.0, LEFT - left)
        + max(0.0, right - (WIDTH - RIGHT))
        + max(0.0, top - 2)
        + max(0.0, bottom - HEIGHT + BOTTOM)
    )
    inside = sum(
        max(0.0, min(right, r) - max(left, a)) * max(0.0, min(bottom, b) - max(top, t)) for a, t, r, b in others
    )
    return 1000.0 * outside + inside


def _steps(spots: list[tuple[int, int]]) -> str:
    """A stair through the points: for each price the best that it buys."""
    path = [f"{spots[0][0]},{spots[0][1]}"]
    for (_, before), (px, py) in pairwise(spots):
        path += [f"{px},{before}", f"{px},{py}"]
    path.append(f"{WIDTH - RIGHT},{spots[-1][1]}")
    return " ".join(path)


def _round_up(price: float) -> int:
    step = 10 ** max(len(str(int(price))) - 1, 1)
    for part in (0.25, 0.5, 1):
        size = int(step * part)
        if price / size <= 5:
            return -(-int(price + 1) // size) * size
    return -(-int(price + 1) // step) * step


def _prices(top: int) -> list[int]:
    return [top * part // 4 for part in range(5)] if top % 4 == 0 else [0, top // 2, top]


def _told(points: Sequence[Point], noise: str, prices: Sequence[Decimal]) -> str:
    return ". ".join(
        f"{p.letter}: £{price:,.0f}, {p.chosen.heard.get(noise, '')}, {len(p.chosen.built)} treated"
        for p, price in zip(points, prices, strict=True)
    )
