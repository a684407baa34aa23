"""Lettering inside a plan: heights at its corners, and what a plan can't draw."""

from dataclasses import dataclass

from shapely import Point as Dot
from shapely import Polygon, box, contains_xy
from shapely.ops import polylabel

from contractor.common.drawing import Dimension, lettering_width
from contractor.rooms.models import Surface
from contractor.rooms.plan_lines import Sheet, clear_of, ground_of
from contractor.rooms.shape import RoomShape

PLAN_MARKS = {"separating": "noise", "flanking": "runs past", "other": ""}
# Where a corner's height may stand, in rows off its two walls; at a corner that juts in also beside it.
_ROWS = (1.0, 1.9, 2.6, 3.4, 4.4)
INSIDE_CORNER = [(a, b) for a in _ROWS for b in _ROWS]
INSIDE_CORNER += [spot for a in _ROWS for b in _ROWS for spot in ((a, -b), (-a, b))]


@dataclass(frozen=True, kw_only=True)
class Lettering:
    x: int
    y: int
    words: str


def heights_on_plan(
    sheet: Sheet, shape: RoomShape, dimensions: list[Dimension], overhead: list[Lettering]
) -> list[Lettering]:
    """The height at each corner, written inside it where there is room."""
    unit = sheet.paper.lettering
    lines = [d.line for d in dimensions] + [sheet.line(wall.start, wall.end) for wall in shape.walls]
    taken = [ground_of(d, unit) for d in dimensions]
    for words in overhead:
        half = lettering_width(words.words, unit) / 2
        taken.append(box(words.x - half, words.y - 0.6 * unit, words.x + half, words.y + 0.6 * unit))
    found, plan = [], shape.plan
    for i, wall in enumerate(shape.walls):
        (ax, ay), (bx, by) = wall.inward, shape.walls[i - 1].inward
        words = f"h {wall.start_height_mm:,}"
        offers = [
            (wall.start[0] + (ax * a + bx * b) * unit, wall.start[1] + (ay * a + by * b) * unit)
            for a, b in INSIDE_CORNER
        ]
        inside = contains_xy(plan, [x for x, _ in offers], [y for _, y in offers])
        offers = [offer for offer, is_inside in zip(offers, inside, strict=True) if is_inside] or offers
        x, y = clear_of(sheet, offers, words, lines, taken)
        found.append(Lettering(x=x, y=y, words=words))
    return found


def overhead_on_plan(sheet: Sheet, floor: Polygon, surfaces: list[Surface]) -> list[Lettering]:
    """Lines of lettering in the middle of the room for what a plan can't draw: ceiling, floor and further walls."""
    lines = []
    for surface in surfaces:
        said = PLAN_MARKS[surface.role]
        lines.append(f"{surface.letter} {surface.get_face_display().lower()}" + (f": {said}" if said else ""))
    if not floor.is_valid or floor.area < 1:
        return []
    middle: Dot = polylabel(floor, 50)
    x, y = sheet.at((middle.x, middle.y))
    step = round(1.5 * sheet.paper.lettering)
    top = y - step * (len(lines) - 1) // 2
    return [Lettering(x=x, y=top + number * step, words=words) for number, words in enumerate(lines)]
