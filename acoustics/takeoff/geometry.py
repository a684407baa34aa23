"""The field to be boarded, its supports, and the shapes a rectangle cuts out of it.

Work is done in a frame where supports always stand upright; a surface with level supports is mirrored
about the diagonal on the way in and on the way out.
"""

from __future__ import annotations

import functools
import itertools
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from acoustics.errors import InputError
from acoustics.takeoff.clip import clipped, rings_of
from acoustics.takeoff.model import Board, BoardRules, Gaps, Ring, SocketBox, Surface

Edge = tuple[float, float, float, float]
SMALLEST_MM2 = 200.0
# Work in seconds, measured: a rectangle cut out of the field; a drawn layer for each of its supports
CUT_WORK, DRAW_WORK = 2e-4, 1e-5


@dataclass(frozen=True)
class Shape:
    """A connected piece: whole-millimetre ring and holes, its bounding box and area."""

    ring: Ring
    holes: tuple[Ring, ...]
    x0: int
    y0: int
    x1: int
    y1: int
    area: float

    @property
    def width(self) -> int:
        return self.x1 - self.x0

    @property
    def height(self) -> int:
        return self.y1 - self.y0

    def left_over(self) -> tuple[tuple[int, int], ...]:
        """Sizes of the plain rectangles cut away to shape this piece from its bounding box."""
        return _left_over(self)


@functools.lru_cache(maxsize=20_000)
def _left_over(shape: Shape) -> tuple[tuple[int, int], ...]:
    away = box(shape.x0, shape.y0, shape.x1, shape.y1).difference(Polygon(shape.ring, shape.holes))
    found = []
    for part in getattr(away, "geoms", [away]):
        x0, y0, x1, y1 = part.bounds
        if part.area >= (x1 - x0) * (y1 - y0) - 1:
            found.append((round(x1 - x0), round(y1 - y0)))
    return tuple(found)


def check_ring(ring: Ring, where: str, what: str) -> Polygon:
    """A valid polygon of the ring, or InputError saying what is wrong and what to change."""
    if len(ring) < 3:
        raise InputError(where, f"{what} needs at least three corners.")
    for point in ring:
        if len(point) != 2 or any(value != int(value) for value in point):
            raise InputError(where, f"{what}: corners are pairs of whole millimetres.")
    polygon = Polygon(ring)
    if not polygon.is_valid:
        raise InputError(where, f"{what} crosses or touches itself; put its corners in order round the edge.")
    if polygon.area < SMALLEST_MM2:
        raise InputError(where, f"{what} has no area.")
    return polygon


def cut_out(each: SocketBox, clear_mm: int) -> tuple[int, int, int, int]:
    """The rectangle (x0, y0, x1, y1) of a box and so much on each side."""
    return (
        each.x_mm - clear_mm,
        each.y_mm - clear_mm,
        each.x_mm + each.width_mm + clear_mm,
        each.y_mm + each.height_mm + clear_mm,
    )


def boarded_field(outline: Polygon, gaps: Gaps) -> shapely.Geometry:
    """The outline less the perimeter gaps, each measured square to its edge."""
    corners = list(orient(outline).exterior.coords)[:-1]
    count = len(corners)
    widths = []
    for index, (x, _y) in enumerate(corners):
        nx, _ny = corners[(index + 1) % count]
        run = nx - x
        widths.append(gaps.bottom_mm if run > 0 else gaps.top_mm if run < 0 else gaps.sides_mm)
    bands = []
    for index in range(count):
        if widths[index]:
            bands.append(_band(corners, widths, index))
    return outline if not bands else outline.difference(shapely.union_all(bands))


def _band(corners: list, widths: list[int], index: int) -> Polygon:
    count = len(corners)
    (x1, y1), (x2, y2) = corners[index], corners[(index + 1) % count]
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    gap = widths[index]
    before = _overrun(corners, widths, index - 1, index)
    after = _overrun(corners, widths, (index + 1) % count, (index + 1) % count)
    ax, ay = x1 - ux * before, y1 - uy * before
    bx, by = x2 + ux * after, y2 + uy * after
    return Polygon([(ax, ay), (bx, by), (bx - uy * gap, by + ux * gap), (ax - uy * gap, ay + ux * gap)])


def _overrun(corners: list, widths: list[int], neighbour: int, corner: int) -> float:
    """How far a band runs past a corner: to the neighbour's gap where the corner points inward."""
    (px, py), (cx, cy), (nx, ny) = (corners[(corner + step) % len(corners)] for step in (-1, 0, 1))
    inward = (cx - px) * (ny - cy) - (cy - py) * (nx - cx) < 0
    return widths[neighbour] if inward else 2 * max(widths)


def run_past(area: shapely.Geometry, left_mm: int, right_mm: int) -> shapely.Geometry:
    """The field drawn out past its leftmost and rightmost edges, as boards run on at an outside corner."""
    x0, _, x1, _ = (round(v) for v in area.bounds)
    edges = _edges_of(area)
    added = [box(x0 - left_mm, a, x0, b) for a, b in _inside_stretches(edges, True, x0 + 1) if left_mm > 0]
    added += [box(x1, a, x1 + right_mm, b) for a, b in _inside_stretches(edges, True, x1 - 1) if right_mm > 0]
    return shapely.union_all([area, *added])


class Field:
    """One surface ready for boarding: area, supports, and a memory of the shapes already cut."""

    def __init__(
        self,
        surface: Surface,
        board: Board,
        rules: BoardRules,
        where: str = "",
        runs: tuple[int, int] = (0, 0),
        boxes: tuple[SocketBox, ...] = (),
    ) -> None:
        self.surface, self.board, self.rules = surface, board, rules
        name = f"Surface {surface.name}"
        outline = check_ring(surface.outline_mm, f"{where}outline_mm", f"{name}: the outline")
        openings = [
            check_ring(ring, f"{where}openings_mm[{index}]", f"{name}: opening {index + 1}")
            for index, ring in enumerate(surface.openings_mm)
        ]
        area = boarded_field(outline, surface.gaps_mm)
        clear = surface.gaps_mm.openings_mm
        holes = [o.buffer(clear, join_style="mitre") if clear else o for o in openings]
        if holes:
            area = area.difference(shapely.union_all(holes))
        if area.area < SMALLEST_MM2:
            raise InputError(f"{where}outline_mm", f"{name}: nothing is left to board once the gaps are taken off.")
        if any(runs):
            area = run_past(area, *runs)
        self.boxes = [cut_out(each, rules.box_clear_mm + rules.box_edge_mm) for each in boxes]
        self.mirrored = surface.supports.direction == "horizontal"
        if self.mirrored:
            area = shapely.transform(area, lambda xy: xy[:, ::-1])
            holes = [shapely.transform(h, lambda xy: xy[:, ::-1]) for h in holes]
            self.boxes = [(y0, x0, y1, x1) for x0, y0, x1, y1 in self.boxes]
        self.area = area
        shapely.prepare(self.area)
        self._edges = _edges_of(area)
        self._rings = rings_of(area)
        self.x0, self.y0, self.x1, self.y1 = (round(v) for v in area.bounds)
        self.holes = holes
        self.corners = [(round(x), round(y)) for hole in holes for x, y in list(hole.exterior.coords)[:-1]]
        spacing, first = surface.supports.spacing_mm, surface.supports.first_mm
        if spacing <= 0:
            raise InputError(f"{where}supports.spacing_mm", f"{name}: support spacing must be above zero.")
        self.supports = [x for x in range(first, self.x1, spacing) if x > self.x0]
        self.work = 0.0
        self._shapes: dict[tuple[int, int, int, int], tuple[Shape, ...]] = {}
        self._lines: dict[tuple[bool, int], tuple[tuple[int, int], ...]] = {}

    def draw_work(self) -> float:
        """Seconds of work for one layer drawn, with what was cut for it since last asked."""
        work, self.work = self.work, 0.0
        return work + DRAW_WORK * (4 + len(self.supports)) * (1 + (self.y1 - self.y0) // self.board.height_mm)

    def shapes(self, x0: int, y0: int, x1: int, y1: int) -> tuple[Shape, ...]:
        """The separate pieces of the field inside a rectangle."""
        key = (x0, y0, x1, y1)
        found = self._shapes.get(key)
        if found is None:
            found = self._shapes[key] = self._cut(*key)
        return found

    def _cut(self, x0: int, y0: int, x1: int, y1: int) -> tuple[Shape, ...]:
        self.work += CUT_WORK / 8
        if any(_crosses(edge, x0, y0, x1, y1) for edge in self._edges):
            self.work += CUT_WORK
            return tuple(_pieces(clipped(self.area, self._rings, (x0, y0, x1, y1))))
        # no edge of the field runs through the rectangle: it is all field, or none of it is
        if not shapely.contains_xy(self.area, (x0 + x1) / 2, (y0 + y1) / 2):
            return ()
        ring = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        return (Shape(ring, (), x0, y0, x1, y1, float((x1 - x0) * (y1 - y0))),)

    def joint(self, upright: bool, at: int, low: int, high: int) -> tuple[tuple[int, int], ...]:
        """The stretches of a line at x = at (upright) or y = at where boards would meet."""
        stretches = self._lines.get((upright, at))
        if stretches is None:
            self.work += CUT_WORK / 8
            # field on both sides, a millimetre off the line
            sides = [_inside_stretches(self._edges, upright, at + side) for side in (-1, 1)]
            stretches = tuple(
                (max(a, c), min(b, d)) for a, b in sides[0] for c, d in sides[1] if min(b, d) - max(a, c) > 2
            )
            self._lines[upright, at] = stretches
        return tuple((max(a, low), min(b, high)) for a, b in stretches if min(b, high) - max(a, low) > 2)

    def near_corner(self, upright: bool, at: int, low: int, high: int) -> bool:
        """Whether a joint there would run within the clearance of an opening's corner."""
        clear = self.rules.corner_clear_mm
        for cx, cy in self.corners:
            across, along = (cx, cy) if upright else (cy, cx)
            if abs(at - across) < clear and any(a - 2 <= along <= b + 2 for a, b in self.joint(upright, at, low, high)):
                return True
        return False

    def near_boxes(self, upright: bool, at: int, low: int, high: int) -> int:
        """How many boxes a joint there would come too near to."""
        found = 0
        for x0, y0, x1, y1 in self.boxes:
            if not upright:
                x0, y0, x1, y1 = y0, x0, y1, x1
            found += x0 < at < x1 and low < y1 and y0 < high
        return found

    def outward(self, ring: Ring) -> Ring:
        """A ring of the working frame back on the surface, counter-clockwise."""
        return tuple((y, x) for x, y in reversed(ring)) if self.mirrored else ring


def _edges_of(area: shapely.Geometry) -> list[Edge]:
    """Edges of every ring: (x1, y1, x2, y2)."""
    edges = []
    for part in getattr(area, "geoms", [area]):
        for ring in (part.exterior, *part.interiors):
            coords = list(ring.coords)
            edges += [(*a, *b) for a, b in itertools.pairwise(coords)]
    return edges


def _crosses(edge: Edge, x0: int, y0: int, x1: int, y1: int) -> bool:
    """Whether an edge runs through the open inside of a rectangle (Liang and Barsky's clipping)."""
    ax, ay, bx, by = edge
    if max(ax, bx) <= x0 or min(ax, bx) >= x1 or max(ay, by) <= y0 or min(ay, by) >= y1:
        return False
    if ax == bx or ay == by:
        return True
    start, end = 0.0, 1.0
    for step, from_low, from_high in ((bx - ax, x0 - ax, x1 - ax), (by - ay, y0 - ay, y1 - ay)):
        enters, leaves = sorted((from_low / step, from_high / step))
        start, end = max(start, enters), min(end, leaves)
    return start < end


def _inside_stretches(edges: list[Edge], upright: bool, at: float) -> list[tuple[int, int]]:
    """Stretches of the line x = at (or y = at) inside the field, by the even-odd rule."""
    hits = []
    for ax, ay, bx, by in edges:
        if not upright:
            ax, ay, bx, by = ay, ax, by, bx
        if (ax <= at) != (bx <= at):
            hits.append(ay + (by - ay) * (at - ax) / (bx - ax))
    hits.sort()
    return [(round(a), round(b)) for a, b in zip(hits[::2], hits[1::2], strict=True)]


def _pieces(cut: shapely.Geometry) -> list[Shape]:
    found = []
    for part in getattr(cut, "geoms", [cut]):
        if part.geom_type != "Polygon" or part.area < SMALLEST_MM2:
            continue
        part = orient(part)
        ring = _whole(part.exterior.coords)
        if len(ring) < 3:
            continue
        holes = tuple(_whole(hole.coords) for hole in part.interiors)
        xs, ys = [p[0] for p in ring], [p[1] for p in ring]
        found.append(Shape(ring, holes, min(xs), min(ys), max(xs), max(ys), part.area))
    return found


def _whole(coords) -> Ring:
    """Rounded to millimetres, without repeats or points on a straight edge, lowest left corner first."""
    points = []
    for x, y in list(coords)[:-1]:
        point = (round(x), round(y))
        if not points or points[-1] != point:
            points.append(point)
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    kept = []
    for index, (x, y) in enumerate(points):
        px, py = points[index - 1]
        nx, ny = points[(index + 1) % len(points)]
        if (x - px) * (ny - y) != (y - py) * (nx - x):
            kept.append((x, y))
    if not kept:
        return ()
    start = min(range(len(kept)), key=lambda i: (kept[i][1], kept[i][0]))
    return tuple(kept[start:] + kept[:start])
