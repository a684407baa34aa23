"""The room as an open box, seen from above with the near walls cut away, each way in marked by its share.

Gives the context `d` of templates/drawings/box.svg in whole view units. Plan points turn into view points by an
isometric projection (x and y at 30 degrees, heights upright), from the corner that shows most of what is heard.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from contractor.rooms.diagnosis.labels import Wanted, columns
from contractor.rooms.diagnosis.ways import Way, share_in_words
from contractor.rooms.models import Patch, SidePath, Surface
from contractor.rooms.shape import RoomShape, Wall

WIDTH, MARGIN, PAD = 440, 122, 12
DRAWN_HIGH = 260  # at most, before labels ask for more
LEAST_SHARE = 0.005
STEPS = ((0.40, "dense"), (0.15, "middle"), (0.04, "open"))
THICKEST, THINNEST = 8.0, 1.0
CUT = 0.12  # how much of a near wall's height is left standing

Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class _View:
    """Plan millimetres to view units: turned so many quarters, then projected and scaled."""

    quarters: int
    scale: float = 1.0
    left: float = 0.0
    top: float = 0.0

    def flat(self, point: Point3) -> tuple[float, float]:
        x, y, z = point
        for _ in range(self.quarters):
            x, y = -y, x
        across, down = (x - y) * cos(radians(30)), (x + y) * sin(radians(30)) - z
        return self.left + across * self.scale, self.top + down * self.scale

    def to(self, point: Point3) -> tuple[int, int]:
        x, y = self.flat(point)
        return round(x), round(y)

    def faces_us(self, wall: Wall) -> bool:
        """Whether its inside is turned to the viewer."""
        x, y = wall.inward
        for _ in range(self.quarters):
            x, y = -y, x
        return x + y > 1e-9


def box_drawing(shape: RoomShape, ways: Sequence[Way], *, after: bool, uid: str, title: str) -> dict:
    """`after` draws the shares of what is left once the work is done, treated ways dashed."""
    view = _fitted(shape, ways, after)
    marks = [mark for way in ways if (mark := _mark(shape, view, way, after)) is not None]
    wanted = [
        Wanted(x=mark["at"][0], y=mark["at"][1], name=way.name, value=value_of(way, after))
        for way in ways
        for mark in marks
        if mark["way"] is way and way.share(after=after) >= LEAST_SHARE
    ]
    depth = max(y for _, y in _outline(shape, view)) + PAD
    labels, height = columns(wanted, width=WIDTH, margin=MARGIN, height=round(depth))
    return {
        "uid": uid,
        "width": WIDTH,
        "height": height + 4,
        "title": title,
        "desc": told(ways, after),
        "floor": _ring(view, [(x, y, _floor(shape, k)) for k, (x, y) in enumerate(shape.corners_mm)]),
        "walls": [_wall(view, wall, shape) for wall in _behind_first(view, shape.walls)],
        "ceiling": _ring(
            view,
            [
                (x, y, _floor(shape, k) + h)
                for k, ((x, y), h) in enumerate(zip(shape.corners_mm, shape.heights_mm, strict=True))
            ],
        ),
        "marks": [
            {k: v for k, v in mark.items() if k != "way"}
            for mark in marks
            if mark["way"].share(after=after) >= LEAST_SHARE
        ],
        "labels": labels,
    }


def value_of(way: Way, after: bool) -> str:
    share = way.share(after=after)
    text = share_in_words(share)
    return f"{text}, treated" if after and way.is_treated else text


def told(ways: Sequence[Way], after: bool) -> str:
    """The drawing in words."""
    ordered = sorted(ways, key=lambda way: -way.share(after=after))
    return "; ".join(f"{way.name}: {value_of(way, after)}" for way in ordered if way.share(after=after) >= LEAST_SHARE)


def hatch_of(share: float) -> str:
    return next((name for least, name in STEPS if share >= least), "none")


def thickness_of(share: float) -> float:
    return round(THINNEST + (THICKEST - THINNEST) * min(share, 1.0) ** 0.5, 1)


def _floor(shape: RoomShape, corner: int) -> float:
    return -float(shape.floors_mm[corner])


def _fitted(shape: RoomShape, ways: Sequence[Way], after: bool) -> _View:
    """The quarter turn that shows most of what is heard on the standing walls, drawn as large as the labels leave."""

    def shown(quarters: int) -> float:
        view = _View(quarters)
        seen = {wall.surface for wall in shape.walls if wall.surface is not None and view.faces_us(wall)}
        return sum(way.before for way in ways if way.surface in seen)

    view = _View(max(range(4), key=lambda q: (round(shown(q), 3), -q)))
    points = _outline(shape, view)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    scale = min((WIDTH - 2 * MARGIN - 2 * PAD) / (max(xs) - min(xs)), DRAWN_HIGH / (max(ys) - min(ys)))
    wide = (max(xs) - min(xs)) * scale
    left = (WIDTH - wide) / 2 - min(xs) * scale
    return _View(view.quarters, scale, left, PAD + 8 - min(ys) * scale)


def _outline(shape: RoomShape, view: _View) -> list[tuple[float, float]]:
    points = []
    for k, (x, y) in enumerate(shape.corners_mm):
        floor = _floor(shape, k)
        points += [view.flat((x, y, floor)), view.flat((x, y, floor + shape.heights_mm[k]))]
    return points


def _behind_first(view: _View, walls: Sequence[Wall]) -> list[Wall]:
    return sorted(
        walls, key=lambda wall: (not view.faces_us(wall), view.flat((*wall.place(wall.length_mm / 2), 0.0))[1])
    )


def _wall(view: _View, wall: Wall, shape: RoomShape) -> dict:
    """A far wall whole; a near one cut off above its foot."""
    stands = view.faces_us(wall)
    ring = wall.outline_mm if stands else _foot(wall)
    return {"points": _on_wall(view, wall, ring, shape), "stands": stands}


def _foot(wall: Wall) -> list[tuple[float, float]]:
    high = CUT * max(wall.start_height_mm, wall.end_height_mm)
    return [(0, 0), (wall.length_mm, 0), (wall.length_mm, high), (0, high)]


def _on_wall(view: _View, wall: Wall, ring: Sequence[tuple[float, float]], shape: RoomShape) -> str:
    return " ".join(f"{x},{y}" for x, y in (view.to(_spot(wall, along, up, shape)) for along, up in ring))


def _spot(wall: Wall, along_mm: float, up_mm: float, shape: RoomShape) -> Point3:
    x, y = wall.place(along_mm)
    first, last = wall.number - 1, wall.number % len(shape.walls)
    lowest = min(_floor(shape, first), _floor(shape, last))  # a wall's elevation starts at the lowest of its floor
    return x, y, lowest + up_mm


def _ring(view: _View, points: Sequence[Point3]) -> str:
    return " ".join(f"{x},{y}" for x, y in map(view.to, points))


def _mark(shape: RoomShape, view: _View, way: Way, after: bool) -> dict | None:
    """A shape on the drawing for a way in: hatched face, or an arrow; None where it cannot be placed."""
    share = way.share(after=after)
    base = {
        "way": way,
        "hatch": hatch_of(share),
        "width": thickness_of(share),
        "is_dashed": after and way.is_treated,
        "arrow": None,
        "points": "",
    }
    if way.side_path is not None:
        arrow, at = _arrow(shape, view, way.side_path)
        return base | {"arrow": arrow, "at": at}
    if way.surface is None:
        return None
    wall = shape.wall_of(way.surface)
    if wall is not None:
        return base | _on_a_wall(shape, view, wall, way)
    if way.surface.face == Surface.Face.WALL:
        return None
    return base | _level(shape, view, way)


def _on_a_wall(shape: RoomShape, view: _View, wall: Wall, way: Way) -> dict:
    if not view.faces_us(wall):
        high = CUT * max(wall.start_height_mm, wall.end_height_mm)
        left, right = _span(way, wall)
        ring = [(left, 0), (right, 0), (right, high), (left, high)]
        return {
            "points": _on_wall(view, wall, ring, shape),
            "at": view.to(_spot(wall, (left + right) / 2, high / 2, shape)),
        }
    ring = _outline_on(wall, way)
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    if way.patch is not None and way.patch.is_rest:
        middle = _clear_spot(wall, way.patch, ring)
    return {"points": _on_wall(view, wall, ring, shape), "at": view.to(_spot(wall, *middle, shape))}


def _outline_on(wall: Wall, way: Way) -> list[tuple[float, float]]:
    thing = way.opening or way.patch
    if thing is None or (way.patch is not None and way.patch.is_rest):
        return list(wall.outline_mm)
    if way.patch is not None and way.patch.outline_mm:
        return [(x, y) for x, y in way.patch.outline_mm]
    left, right = thing.x_mm, thing.x_mm + thing.width_mm
    top = thing.y_mm + thing.height_mm
    return [(left, thing.y_mm), (right, thing.y_mm), (right, top), (left, top)]


def _clear_spot(wall: Wall, rest: Patch, ring: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """A point of the rest of a wall that no other patch or opening covers."""
    parts = [p for p in rest.surface.patches.all() if not p.is_rest] + list(rest.surface.openings.all())
    top = min(wall.start_height_mm, wall.end_height_mm)
    for part in (0.5, 0.25, 0.75, 0.12, 0.88, 0.37, 0.63):
        for high in (0.5, 0.75, 0.25):
            x, y = wall.length_mm * part, top * high
            if not any(p.x_mm <= x <= p.x_mm + p.width_mm and p.y_mm <= y <= p.y_mm + p.height_mm for p in parts):
                return x, y
    return wall.length_mm / 2, top / 2


def _span(way: Way, wall: Wall) -> tuple[float, float]:
    thing = way.opening or way.patch
    if thing is None or (way.patch is not None and way.patch.is_rest):
        return 0, wall.length_mm
    return thing.x_mm, thing.x_mm + thing.width_mm


def _level(shape: RoomShape, view: _View, way: Way) -> dict:
    """A floor or ceiling: marked whole, its parts share the mark."""
    is_floor = way.surface.face == Surface.Face.FLOOR
    points: list[Point3] = []
    for k, (x, y) in enumerate(shape.corners_mm):
        points.append((x, y, _floor(shape, k) + (0 if is_floor else shape.heights_mm[k])))
    if not is_floor:
        facet = next((f for f in shape.facets if f.surface == way.surface), None)
        points = list(facet.plan_mm) if facet else points
    centre = shape.plan.representative_point() if is_floor or not points else None
    x = centre.x if centre is not None else sum(p[0] for p in points) / len(points)
    y = centre.y if centre is not None else sum(p[1] for p in points) / len(points)
    z = sum(p[2] for p in points) / len(points)
    return {"points": _ring(view, points), "at": view.to((x, y, z)), "is_overhead": not is_floor}


def _arrow(shape: RoomShape, view: _View, path: SidePath) -> tuple[dict, tuple[int, int]]:
    """An arrow into the room where such a path comes in: low, high or in the middle of the separating surface."""
    wall = next((w for w in shape.walls if w.surface and w.surface.role == Surface.Role.SEPARATING), None)
    heights = {
        SidePath.Kind.VOID: -0.06,
        SidePath.Kind.LEAK: 0.3,
        SidePath.Kind.FLUE: 0.55,
        SidePath.Kind.PIPE: 0.45,
        SidePath.Kind.BEAM: 0.93,
        SidePath.Kind.ROOF_VOID: 1.06,
    }
    along = {SidePath.Kind.PIPE: 0.06, SidePath.Kind.LEAK: 0.3, SidePath.Kind.BEAM: 0.8, SidePath.Kind.FLUE: 0.62}
    part, high = along.get(path.kind, 0.5), heights[path.kind]
    if wall is None:
        point = shape.plan.representative_point()
        top = max(shape.heights_mm) * max(high, 0.5)
        start, end = (point.x, point.y, top + 500), (point.x, point.y, top)
    else:
        up = high * max(wall.start_height_mm, wall.end_height_mm)
        x, y, z = _spot(wall, wall.length_mm * part, up, shape)
        (ix, iy), reach = wall.inward, 0.14 * max(shape.extent_mm)
        start, end = (x - ix * reach, y - iy * reach, z), (x + ix * reach, y + iy * reach, z)
    (x1, y1), (x2, y2) = view.to(start), view.to(end)
    return {"x1": x1, "y1": y1, "x2": x2, "y2": y2}, (x2, y2)
