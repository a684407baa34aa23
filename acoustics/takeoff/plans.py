"""Ways of boarding one layer of one surface that keep the rules, drawn at random or by habit.

Upright: columns between supports, split by level seams where a column is taller than the board.
Across: courses of boards lying on their long edge, with joints on supports.
"""

from __future__ import annotations

import itertools
import random

from acoustics.takeoff.geometry import Field, Shape
from acoustics.takeoff.layer import LayerPlan, Span, Stagger, make_plan


def draw(
    field: Field,
    orientation: str,
    stagger: Stagger,
    under: LayerPlan | None,
    rng: random.Random,
    greed: float,
    habit: int | None = None,
) -> LayerPlan | None:
    """One layer over `under`, or None where this draw could not keep the rules.

    greed 1 always takes the longest board that fits; habit picks the n-th usual start.
    """
    lay = _across if orientation == "across" else _upright
    return lay(field, stagger, under, rng, greed, habit)


def _clash(at: int, low: int, high: int, others: tuple[Span, ...], apart: int) -> bool:
    return any(abs(at - a) < apart and low < b and a0 < high for a, a0, b in others)


def _path(
    field: Field,
    low: int,
    high: int,
    longest: int,
    banned: set[int],
    stagger: Stagger,
    bounds: tuple[int, int],
    rng: random.Random,
    greed: float,
) -> list[int] | None:
    """Joint places from end to end of a band of height low..high whose every piece fits the board."""
    x0, x1 = bounds
    inside = [x for x in field.supports if x0 < x < x1 and x not in banned]
    places = [x0, *inside, x1]
    least = stagger.min_width
    last = len(places) - 1
    ends = [False] * last + [True]
    # a piece can only end short of its run where an opening takes the whole height of the band
    open_band = any(hole.bounds[1] <= low and hole.bounds[3] >= high for hole in field.holes)
    ahead: list[list[int]] = [[] for _ in places]
    for i in range(last - 1, -1, -1):
        for j in range(i + 1, last + 1):
            run = places[j] - places[i]
            if run < least and not (i == 0 and j == last):
                continue
            if not ends[j]:
                continue
            if run > longest:
                if not open_band or run > 3 * longest:
                    break
                if any(s.width > longest for s in field.shapes(places[i], low, places[j], high)):
                    continue
            ahead[i].append(j)
        ends[i] = bool(ahead[i])
    if not ends[0]:
        return None
    path, at = [0], 0
    while at != last:
        choice = ahead[at][-1] if rng.random() < greed else rng.choice(ahead[at])
        path.append(choice)
        at = choice
    return [places[i] for i in path]


def _banned(field: Field, low: int, high: int, stagger: Stagger, near: tuple[Span, ...], under) -> set[int]:
    bad = set()
    for x in field.supports:
        stretches = field.joint(True, x, low, high)
        if not stretches:
            continue
        if stagger.corner and field.near_corner(True, x, low, high):
            bad.add(x)
            continue
        for a, b in stretches:
            if (under and _clash(x, a, b, under.joints, stagger.layers)) or _clash(
                x, a - 3, b + 3, near, stagger.courses
            ):
                bad.add(x)
                break
    return bad


def _stretches(field: Field, upright: bool, at: int, low: int, high: int) -> list[Span]:
    return [(at, a, b) for a, b in field.joint(upright, at, low, high)]


def _extent(field: Field, low: int, high: int) -> tuple[int, int] | None:
    shapes = field.shapes(field.x0, low, field.x1, high)
    return (min(s.x0 for s in shapes), max(s.x1 for s in shapes)) if shapes else None


def _least_course(field: Field, stagger: Stagger) -> int:
    rules = field.rules
    return stagger.min_width if stagger.min_width < rules.min_width_mm else max(rules.min_height_mm, rules.min_width_mm)


def _course_heights(
    field: Field, short: int, stagger: Stagger, rng: random.Random, habit: int | None
) -> list[int] | None:
    """Level lines between courses, from the bottom up."""
    least = _least_course(field, stagger)
    total = field.y1 - field.y0
    if total <= short:
        return []
    rest = total % short or short
    count = -(-total // short)
    starts = [short, rest, short // 2, -(-total // count), (rest + short) // 2]
    if habit is not None:
        first = starts[habit % len(starts)]
    elif rng.random() < 0.7:
        first = rng.choice(starts)
    else:
        first = rng.randrange(max(least, 100), short, 50)
    if first == starts[3] and first not in starts[:3]:
        lines = [field.y0 + first * n for n in range(1, count)]
    else:
        lines = list(range(field.y0 + first, field.y1, short))
    if not lines or lines[0] - field.y0 < least:
        return None
    if field.y1 - lines[-1] < least:
        lines[-1] -= least - (field.y1 - lines[-1])
    return lines if all(b - a >= least for a, b in itertools.pairwise([field.y0, *lines])) else None


def _across(field, stagger, under, rng, greed, habit) -> LayerPlan | None:
    short, long = field.board.width_mm, field.board.height_mm
    lines = _course_heights(field, short, stagger, rng, habit)
    if lines is None:
        return None
    seams: list[Span] = []
    for y in lines:
        stretch = _stretches(field, False, y, field.x0, field.x1)
        if stagger.corner and field.near_corner(False, y, field.x0, field.x1):
            return None
        if under and any(_clash(y, a, b, under.seams, stagger.seams) for _, a, b in stretch):
            return None
        seams += stretch
    shapes: list[Shape] = []
    joints: list[Span] = []
    near: tuple[Span, ...] = ()
    edges = [field.y0, *lines, field.y1]
    for low, high in itertools.pairwise(edges):
        bounds = _extent(field, low, high)
        if bounds is None:
            near = ()
            continue
        banned = _banned(field, low, high, stagger, near, under)
        path = _path(field, low, high, long, banned, stagger, bounds, rng, greed)
        if path is None:
            return None
        mine = [span for x in path[1:-1] for span in _stretches(field, True, x, low, high)]
        near = tuple(mine)
        joints += mine
        for a, b in itertools.pairwise(path):
            shapes += field.shapes(a, low, b, high)
    return make_plan(field, "across", shapes, joints, seams, short, long)


def _upright(field, stagger, under, rng, greed, habit) -> LayerPlan | None:
    short, long = field.board.width_mm, field.board.height_mm
    banned = _banned(field, field.y0, field.y1, stagger, (), under)
    path = _path(field, field.y0, field.y1, short, banned, stagger, (field.x0, field.x1), rng, greed)
    if path is None:
        return None
    joints = [s for x in path[1:-1] for s in _stretches(field, True, x, field.y0, field.y1)]
    shapes: list[Shape] = []
    seams: list[Span] = []
    near: tuple[Span, ...] = ()
    first_way = rng.randrange(2) if habit is None else habit % 2
    for column, (a, b) in enumerate(itertools.pairwise(path)):
        whole = field.shapes(a, field.y0, b, field.y1)
        if all(s.height <= long for s in whole):
            shapes += whole
            near = ()
            continue
        split = _split_column(field, a, b, stagger, near, under, rng, (column + first_way) % 2, habit)
        if split is None:
            return None
        near = tuple(s for y in split for s in _stretches(field, False, y, a, b))
        seams += near
        edges = [field.y0, *split, field.y1]
        for low, high in itertools.pairwise(edges):
            shapes += field.shapes(a, low, b, high)
    return make_plan(field, "upright", shapes, joints, seams, short, long)


def _split_column(field, a, b, stagger, near, under, rng, way, habit) -> list[int] | None:
    """Level seams of one column, clear of its neighbour's and of the layer under it."""
    long = field.board.height_mm
    whole = field.shapes(a, field.y0, b, field.y1)
    low, high = min(s.y0 for s in whole), max(s.y1 for s in whole)
    least = _least_course(field, stagger)
    shift = 0 if rng.random() < 0.6 or habit is not None else rng.choice((300, 600, 900))
    even = -(-(high - low) // -(-(high - low) // long))
    ways = [
        list(range(low + long, high, long)),
        sorted(range(high - long, low, -long)),
        list(range(low + long - 300, high, long)),
        sorted(range(high - long + 300, low, -long)),
        list(range(low + even, high, even)),
        list(range(low + long - shift, high, long)),
        sorted(range(high - long + shift, low, -long)),
    ]
    order = [way, 1 - way, *range(2, len(ways))]
    if rng.random() < 0.3 and habit is None:
        rng.shuffle(order)
    for choice in order:
        lines = list(ways[choice])
        if lines and high - lines[-1] < least:
            lines[-1] = high - least
        if lines and lines[0] - low < least:
            lines[0] = low + least
        if _seams_ok(field, a, b, lines, stagger, near, under):
            return lines
    return None


def _seams_ok(field, a, b, lines, stagger, near, under) -> bool:
    for y in lines:
        stretches = _stretches(field, False, y, a, b)
        if stagger.corner and field.near_corner(False, y, a, b):
            return False
        for _, low, high in stretches:
            if _clash(y, low - 3, high + 3, near, stagger.courses):
                return False
            if under and _clash(y, low, high, under.seams, stagger.seams):
                return False
    edges = [field.y0, *lines, field.y1]
    return all(
        s.height <= field.board.height_mm
        for low, high in itertools.pairwise(edges)
        for s in field.shapes(a, low, b, high)
    )
