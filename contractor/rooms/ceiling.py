"""The flat parts of a ceiling: the plan divided along the folds, each part a plane through the heights measured."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Polygon
from shapely.ops import split

from contractor.rooms.models import Surface
from contractor.rooms.rings import Ring, from_bottom_left, without_doubles
from contractor.rooms.walk import HeightAt, Point, Walk

if TYPE_CHECKING:
    from contractor.rooms.shape import Wall

NEAR_MM = 5.0


@dataclass(frozen=True, kw_only=True)
class Facet:
    """One flat part of the ceiling. `plan_mm` are its corners on the plan with their level, [(x, y, z)]; `outline_mm`
    is its true size, as seen from below with the first wall at the top, from its bottom left corner."""

    number: int
    plan_mm: tuple[tuple[float, float, float], ...]
    outline_mm: Ring
    slope_deg: float
    off_plane_mm: int
    area_mm2: float
    volume_mm3: float
    surface: Surface | None = None

    def edge_along_mm(self, start: Point, end: Point) -> float:
        """The length, along the slope, of what of its edge lies on the line from `start` to `end`."""
        line = LineString([start, end]).buffer(NEAR_MM)
        edges = zip(self.plan_mm, [*self.plan_mm[1:], self.plan_mm[0]], strict=True)
        return sum(math.dist(a, b) for a, b in edges if line.covers(LineString([a[:2], b[:2]])))


def facets_of(
    walk: Walk, walls: "list[Wall]", plan: Polygon, surfaces: dict[int | None, Surface]
) -> tuple[list[Facet], list[str]]:
    """The parts in order from the first corner, and what is wrong with the folds."""
    known = _levels(walk, walls)
    ring = Polygon([point for point, _, _ in known])
    lines, problems = _folds(walk, walls, ring)
    parts = [ring]
    for line in lines:
        parts = [piece for part in parts for piece in split(part, line).geoms if piece.area > 1]
    parts.sort(key=lambda part: (round(part.centroid.y + part.centroid.x, 1), part.bounds))
    facets = [_facet(number, part, known, surfaces.get(number)) for number, part in enumerate(parts, start=1)]
    return facets, problems


def _levels(walk: Walk, walls: "list[Wall]") -> list[tuple[Point, float, float]]:
    """Every point of the plan's edge where a height was measured: where, the floor's level and the ceiling's."""
    found: list[tuple[Point, float, float]] = []
    for wall, leg in zip(walls, walk.legs, strict=True):
        after = walk.legs[wall.number % len(walk.legs)]
        found.append((wall.start, -leg.floor_mm, leg.height_mm - leg.floor_mm))
        for height in sorted((h for h in walk.heights if h.wall == wall.number), key=lambda h: h.at_mm):
            floor = -(leg.floor_mm + (after.floor_mm - leg.floor_mm) * height.at_mm / (wall.length_mm or 1))
            found.append((wall.place(height.at_mm), floor, floor + height.height_mm))
    return found


def _folds(walk: Walk, walls: "list[Wall]", plan: Polygon) -> tuple[list[LineString], list[str]]:
    ends: dict[int, list[HeightAt]] = {}
    for height in walk.heights:
        if height.fold:
            ends.setdefault(height.fold, []).append(height)
    lines, problems = [], []
    for fold, pair in sorted(ends.items()):
        if len(pair) != 2:
            problems.append(f"Fold {fold} needs two ends: it has {len(pair)}.")
            continue
        (x1, y1), (x2, y2) = (walls[end.wall - 1].place(end.at_mm) for end in pair)
        line = LineString([(x1, y1), (x2, y2)])
        if pair[0].wall == pair[1].wall or not plan.buffer(NEAR_MM).covers(line):
            problems.append(f"Fold {fold} does not run through the room from one wall to another.")
            continue
        dx, dy = (x2 - x1) / line.length, (y2 - y1) / line.length
        lines.append(LineString([(x1 - dx, y1 - dy), (x2 + dx, y2 + dy)]))  # a millimetre past, so that it cuts
    return lines, problems


def _facet(number: int, part: Polygon, known: list[tuple[Point, float, float]], surface: Surface | None) -> Facet:
    corners = list(part.exterior.coords)[:-1]
    levels = np.array([_levels_at(corner, known) for corner in corners])
    plan, tops = np.array(corners), levels[:, 1]
    mean, slopes = _plane(plan, tops)
    steep = math.hypot(*slopes)
    off_mm = np.abs(mean + (plan - plan.mean(axis=0)) @ slopes - tops).max()
    mean_height, falls = _plane(plan, tops - levels[:, 0])
    middle = np.array([part.centroid.x, part.centroid.y]) - plan.mean(axis=0)
    return Facet(
        number=number,
        plan_mm=tuple((float(x), float(y), float(z)) for (x, y), z in zip(corners, tops, strict=True)),
        outline_mm=_true_size(plan, slopes),
        slope_deg=round(math.degrees(math.atan(steep)), 1),
        off_plane_mm=round(float(off_mm)),
        area_mm2=part.area * math.sqrt(1 + steep**2),
        volume_mm3=part.area * float(mean_height + middle @ falls),
        surface=surface,
    )


def _levels_at(corner: Point, known: list[tuple[Point, float, float]]) -> tuple[float, float]:
    """Levels of floor and ceiling at a corner of a part: as measured nearest to it."""
    _, floor, top = min(known, key=lambda row: math.dist(row[0], corner))
    return floor, top


def _plane(plan: np.ndarray, z: np.ndarray) -> tuple[float, np.ndarray]:
    """The plane nearest to the points: its level over their mean, and its slopes along x and y."""
    return float(z.mean()), np.linalg.lstsq(plan - plan.mean(axis=0), z - z.mean(), rcond=None)[0]


def _true_size(plan: np.ndarray, slopes: np.ndarray) -> Ring:
    """The part laid flat: stretched along its steepest slope. Seen from below, left and right change sides."""
    steep = float(np.hypot(*slopes))
    if steep > 1e-9:
        fall = slopes / steep
        plan = plan + np.outer(plan @ fall, fall) * (math.sqrt(1 + steep**2) - 1)
    x, y = plan[:, 0], plan[:, 1]
    corners = np.round(np.column_stack([x.max() - x, y.max() - y]))
    ring = [(int(x), int(y)) for x, y in corners]
    return from_bottom_left(without_doubles(ring if Polygon(ring).exterior.is_ccw else ring[::-1]))
