"""The same shares on the plan: walls as thick as what comes by way of them, floor and ceiling told in the middle.

Gives the context `d` of templates/drawings/shares_plan.svg in whole view units.
"""

from collections.abc import Sequence

from shapely import Polygon, box
from shapely.ops import unary_union

from contractor.rooms.diagnosis.box import (
    LEAST_SHARE,
    MARGIN,
    PAD,
    WIDTH,
    hatch_of,
    thickness_of,
    told,
    value_of,
)
from contractor.rooms.diagnosis.labels import LETTER_WIDTH, LINE, Wanted, columns, wrapped
from contractor.rooms.diagnosis.ways import Way
from contractor.rooms.models import SidePath, Surface
from contractor.rooms.shape import RoomShape, Wall

HIGHEST = 250
OUT = 5  # of a wall's mark from the line of the wall
IN_THE_ROOM = 22  # letters to a line


def plan_drawing(shape: RoomShape, ways: Sequence[Way], *, after: bool, uid: str, title: str) -> dict:
    """`after` draws the shares of what is left once the work is done, treated ways dashed."""
    xs, ys = [x for x, _ in shape.corners_mm], [y for _, y in shape.corners_mm]
    scale = min((WIDTH - 2 * MARGIN - 4 * PAD) / (max(xs) - min(xs)), HIGHEST / (max(ys) - min(ys)))
    left = (WIDTH - (max(xs) - min(xs)) * scale) / 2

    def to(x: float, y: float) -> tuple[int, int]:
        return round(left + (x - min(xs)) * scale), round(PAD * 2 + (y - min(ys)) * scale)

    shown = [way for way in ways if way.share(after=after) >= LEAST_SHARE]
    marks, wanted, inside = [], [], []
    for way in shown:
        wall = shape.wall_of(way.surface) if way.surface else None
        look = {
            "width": thickness_of(way.share(after=after)),
            "hatch": hatch_of(way.share(after=after)),
            "is_dashed": after and way.is_treated,
        }
        if wall is not None:
            mark, at = _along(wall, way, to, scale)
        elif way.side_path is not None and (noisy := _separating(shape)) is not None:
            mark, at = _through(noisy, way.side_path, to, scale)
        else:
            inside.append(f"{way.name}: {value_of(way, after)}")
            continue
        marks.append(mark | look)
        wanted.append(Wanted(x=at[0], y=at[1], name=way.name, value=value_of(way, after)))
    bottom = to(0, max(ys))[1] + 2 * PAD
    named = {way.surface for way in shown}
    letters = [_letter(wall, to, scale) for wall in shape.walls if wall.surface is None or wall.surface not in named]
    taken = [(spot["x"] - 8, spot["y"] - 14, spot["x"] + 8, spot["y"] + 4) for spot in letters]
    taken += [_around(mark) for mark in marks if mark["is_arrow"]]
    ring = Polygon([to(*corner) for corner in shape.corners_mm])
    labels, height = columns(wanted, width=WIDTH, margin=MARGIN, height=bottom)
    return {
        "uid": uid,
        "width": WIDTH,
        "height": height + 4,
        "title": title,
        "desc": told(ways, after),
        "room": " ".join(f"{x},{y}" for x, y in (to(*corner) for corner in shape.corners_mm)),
        "marks": marks,
        "letters": letters,
        "inside": _lines(inside, ring, taken),
        "labels": labels,
    }


def _along(wall: Wall, way: Way, to, scale: float) -> tuple[dict, tuple[int, int]]:
    """A stroke outside the wall, as long as the way is wide."""
    thing = way.opening or way.patch
    is_part = thing is not None and not (way.patch is not None and way.patch.is_rest)
    start_mm, end_mm = (thing.x_mm, thing.x_mm + thing.width_mm) if is_part else (0, wall.length_mm)
    out_mm = -(OUT + (7 if is_part else 0)) / scale
    (x1, y1), (x2, y2) = to(*wall.place(start_mm, out_mm)), to(*wall.place(end_mm, out_mm))
    at_mm = (start_mm + end_mm) / 2 if is_part else wall.length_mm * 0.4
    return {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "is_arrow": False}, to(*wall.place(at_mm, out_mm))


def _separating(shape: RoomShape) -> Wall | None:
    return next((w for w in shape.walls if w.surface and w.surface.role == Surface.Role.SEPARATING), None)


def _through(wall: Wall, path: SidePath, to, scale: float) -> tuple[dict, tuple[int, int]]:
    """An arrow through the wall between us and the noise."""
    order = list(SidePath.Kind).index(path.kind)
    at_mm = wall.length_mm * (0.15 + 0.7 * order / max(len(SidePath.Kind) - 1, 1))
    (x1, y1), (x2, y2) = to(*wall.place(at_mm, -18 / scale)), to(*wall.place(at_mm, 20 / scale))
    return {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "is_arrow": True}, (x2, y2)


def _letter(wall: Wall, to, scale: float) -> dict:
    x, y = to(*wall.place(wall.length_mm * 0.62, 13 / scale))
    return {"x": x, "y": y + 4, "text": wall.letter}


def _around(mark: dict) -> tuple[int, int, int, int]:
    return (
        min(mark["x1"], mark["x2"]) - 6,
        min(mark["y1"], mark["y2"]) - 8,
        max(mark["x1"], mark["x2"]) + 6,
        max(mark["y1"], mark["y2"]) + 8,
    )


def _lines(told_inside: Sequence[str], ring: Polygon, taken: Sequence[tuple]) -> list[dict]:
    """Lines of text in the room, where they cover nothing and stay inside as far as they can."""
    if not told_inside:
        return []
    lines = [line for text in told_inside for line in wrapped(text, IN_THE_ROOM)]
    wide, high = max(map(len, lines)) * LETTER_WIDTH, len(lines) * LINE
    left, top, right, bottom = ring.bounds
    others = unary_union([box(*area) for area in taken])
    centre = ring.representative_point()

    def cost(spot: tuple[float, float]) -> float:
        area = box(spot[0] - wide / 2, spot[1] - high / 2, spot[0] + wide / 2, spot[1] + high / 2)
        away = abs(spot[0] - centre.x) + abs(spot[1] - centre.y)
        return area.difference(ring).area + 2.0 * area.intersection(others).area + 0.2 * away

    steps = [part / 16 for part in range(1, 16)]
    spots = [(left + (right - left) * u, top + (bottom - top) * v) for u in steps for v in steps]
    x, y = min([(centre.x, centre.y), *spots], key=cost)
    first = round(y - high / 2) + 12
    return [{"x": round(x), "y": first + place * LINE, "text": text} for place, text in enumerate(lines)]
