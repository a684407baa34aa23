"""Lines of a plan at any angle: the sheet that turns plan coordinates into paper, dimensions along walls, marks."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, box, intersects, linestrings
from shapely import Point as Dot

from contractor.common.drawing import Dimension, Line, Paper, lettering_width, paper_for
from contractor.rooms.shape import Wall
from contractor.rooms.walk import Point

OUTSIDE, OUTSIDE_UNDER, INSIDE = 3.9, 4.6, 1.5  # rows of lettering from the wall to its dimension line


@dataclass(frozen=True, kw_only=True)
class Sheet:
    paper: Paper
    least_x: float
    least_y: float

    @classmethod
    def round(cls, points: Sequence[Point], letters_across: int, rows: float = 5.5) -> "Sheet":
        xs, ys = [x for x, _ in points], [y for _, y in points]
        width, height = round(max(xs) - min(xs)), round(max(ys) - min(ys))
        paper = paper_for(
            width_mm=max(width, 1), height_mm=max(height, 1), letters_across=letters_across, rows=(rows,) * 4
        )
        return cls(paper=paper, least_x=min(xs), least_y=min(ys))

    def at(self, point: Point) -> tuple[int, int]:
        return self.paper.left + round(point[0] - self.least_x), self.paper.top + round(point[1] - self.least_y)

    def points(self, points: Iterable[Point]) -> str:
        return " ".join(f"{x},{y}" for x, y in map(self.at, points))

    def line(self, start: Point, end: Point) -> Line:
        (x1, y1), (x2, y2) = self.at(start), self.at(end)
        return Line(x1=x1, y1=y1, x2=x2, y2=y2)


def along_wall(sheet: Sheet, wall: Wall, *, is_outside: bool, marked: bool, is_worked_out: bool) -> Dimension:
    """The wall's length beside it; in brackets where it was worked out and not measured."""
    unit = sheet.paper.lettering
    turn = math.degrees(math.atan2(wall.along[1], wall.along[0]))
    turn = (turn + 90) % 180 - 90  # read from below or from the right
    if turn > 89.5:
        turn -= 180
    label = f"{wall.length_mm:,}"
    label = f"({label})" if is_worked_out else label
    above = math.radians(turn - 90)
    shift = 0.3 * unit
    # Where the lettering stands between the line and the wall, the wall's letter needs room as well.
    is_under = math.cos(above) * wall.inward[0] + math.sin(above) * wall.inward[1] > 0
    into = (-(OUTSIDE_UNDER if is_under else OUTSIDE) if is_outside else INSIDE) * unit
    gap = math.copysign(0.3 * unit, into)
    start, end = wall.place(0, into), wall.place(wall.length_mm, into)
    if lettering_width(label, unit) > wall.length_mm:  # no room between the ticks: further from the wall
        shift = -1.2 * unit if is_under == is_outside else 0.7 * unit
    x, y = sheet.at(wall.place(wall.length_mm / 2, into))
    return Dimension(
        line=sheet.line(start, end),
        ticks=tuple(_tick(sheet, point, wall) for point in (start, end)),
        leads=tuple(sheet.line(wall.place(at, gap), wall.place(at, into + gap)) for at in (0, wall.length_mm)),
        label=label,
        label_x=round(x + math.cos(above) * shift),
        label_y=round(y + math.sin(above) * shift),
        is_upright=abs(turn + 90) < 0.5,
        is_marked=marked,
        turn=round(turn),
    )


def _tick(sheet: Sheet, point: Point, wall: Wall) -> Line:
    reach = 0.28 * sheet.paper.lettering
    (along_x, along_y), (in_x, in_y) = wall.along, wall.inward
    dx, dy = reach * (along_x - in_x), reach * (along_y - in_y)
    return sheet.line((point[0] - dx, point[1] - dy), (point[0] + dx, point[1] + dy))


def marks_of(sheet: Sheet, walls: Sequence[Wall], taken: Sequence[Point]) -> list[Point]:
    """Where each wall's letter stands: beside its middle, clear of walls, of dimensions and of other letters where
    that can be had."""
    unit = sheet.paper.lettering
    lines = [LineString([wall.start, wall.end]) for wall in walls]
    spots: list[Point] = []
    for wall in walls:
        offers = [
            wall.place(wall.length_mm * share, into * unit)
            for into in (-2.2, 2.9, -3.6, 4.4)
            for share in (0.5, 0.35, 0.65, 0.2, 0.8)
        ]

        def crowding(spot: Point) -> float:
            to_wall = min(line.distance(Dot(spot)) for line in lines)
            to_mark = min((math.dist(spot, other) for other in spots), default=math.inf)
            to_label = min((math.dist(spot, other) for other in taken), default=math.inf)
            return max(0, 2.05 * unit - to_wall) + max(0, 2.3 * unit - to_mark) + max(0, 1.6 * unit - to_label)

        spots.append(min(offers, key=lambda spot: (round(crowding(spot)), offers.index(spot))))
    return spots


def clear_of(sheet: Sheet, offers: Sequence[Point], words: str, lines: Sequence[Line], taken: list) -> tuple[int, int]:
    """The first of `offers` where lettering meets no line and no other lettering, or the one that meets fewest; on
    paper. `taken` are boxes of lettering, and get this one."""
    unit = sheet.paper.lettering
    half = lettering_width(words, unit) / 2 + 0.2 * unit
    spots = [sheet.at(offer) for offer in offers]
    x, y = np.array(spots).T
    grounds = box(x - half, y - 0.65 * unit, x + half, y + 0.65 * unit)
    strokes = linestrings([[(line.x1, line.y1), (line.x2, line.y2)] for line in lines])
    met = intersects(grounds[:, None], strokes).sum(axis=1)
    if taken:
        met = met + 2 * intersects(grounds[:, None], np.array(taken)).sum(axis=1)
    best = int(np.argmin(met))
    taken.append(grounds[best])
    return spots[best]


def ground_of(dimension: Dimension, unit: int):
    """The box of a dimension's lettering on paper."""
    half = lettering_width(dimension.label, unit) / 2
    wide, high = (0.5 * unit, half) if dimension.is_upright else (half, 0.5 * unit)
    x, y = dimension.label_x, dimension.label_y
    x, y = (x - 0.35 * unit, y) if dimension.is_upright else (x, y - 0.35 * unit)
    return box(x - wide, y - high, x + wide, y + high)


def mitred(walls: Sequence[Wall], out_mm: float, is_closed: bool) -> list[list[Point]]:
    """For each wall the four corners of its band outside the room, mitred with its neighbours'."""
    bands = []
    for i, wall in enumerate(walls):
        before = walls[i - 1] if i or is_closed else None
        after = walls[(i + 1) % len(walls)] if i + 1 < len(walls) or is_closed else None
        bands.append(
            [wall.start, wall.end, _mitre(wall, after, wall.end, out_mm), _mitre(before, wall, wall.start, out_mm)]
        )
    return bands


def _mitre(before: Wall | None, after: Wall | None, corner: Point, out_mm: float) -> Point:
    (ax, ay), (bx, by) = (before or after).inward, (after or before).inward
    share = out_mm / max(1 + ax * bx + ay * by, 0.3)
    return corner[0] - (ax + bx) * share, corner[1] - (ay + by) * share
