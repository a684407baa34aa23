"""A polygon cut by a rectangle: the geometry library's quick way, checked by area.

The quick way now and then returns too much where an edge only touches the rectangle; the area of every
ring clipped side by side (Sutherland and Hodgman, 1974) tells, and then the slow, exact way is taken.
"""

from __future__ import annotations

import shapely
from shapely.geometry import box
from shapely.geometry.polygon import orient

Rings = list[list[tuple[float, float]]]
SLACK_MM2 = 0.5


def rings_of(area: shapely.Geometry) -> Rings:
    """Corners of every ring: outer ones counter-clockwise, holes clockwise."""
    parts = [orient(part) for part in getattr(area, "geoms", [area])]
    return [list(ring.coords)[:-1] for part in parts for ring in (part.exterior, *part.interiors)]


def clipped(area: shapely.Geometry, rings: Rings, rect: tuple[int, int, int, int]) -> shapely.Geometry:
    """The part of the area, whose rings are given, inside the rectangle (x0, y0, x1, y1)."""
    try:
        quick = shapely.clip_by_rect(area, *rect)
    except shapely.GEOSException:
        quick = None
    if quick is not None and quick.is_valid and abs(quick.area - _area_within(rings, rect)) <= SLACK_MM2:
        return quick
    return area.intersection(box(*rect))


def _area_within(rings: Rings, rect: tuple[int, int, int, int]) -> float:
    x0, y0, x1, y1 = rect
    total = 0.0
    for ring in rings:
        for axis, at, keeps_more in ((0, x0, True), (0, x1, False), (1, y0, True), (1, y1, False)):
            ring = _half(ring, axis, at, keeps_more)
            if not ring:
                break
        total += _turning(ring)
    return total / 2


def _half(ring: list, axis: int, at: float, keeps_more: bool) -> list:
    """The ring on one side of a line; where it leaves and comes back it runs along the line."""
    kept: list = []
    if not ring:
        return kept
    before = ring[-1]
    was_in = before[axis] >= at if keeps_more else before[axis] <= at
    for point in ring:
        is_in = point[axis] >= at if keeps_more else point[axis] <= at
        if is_in != was_in:
            share = (at - before[axis]) / (point[axis] - before[axis])
            other = before[1 - axis] + share * (point[1 - axis] - before[1 - axis])
            kept.append((at, other) if axis == 0 else (other, at))
        if is_in:
            kept.append(point)
        before, was_in = point, is_in
    return kept


def _turning(ring: list) -> float:
    return sum(ring[i - 1][0] * ring[i][1] - ring[i][0] * ring[i - 1][1] for i in range(len(ring)))
