"""Whether a piece already cut still fits where a changed layout wants one, and a layout kept in its joints."""

from __future__ import annotations

import itertools

from shapely.affinity import translate
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from acoustics.takeoff.geometry import Field
from acoustics.takeoff.layer import LayerPlan, make_plan
from acoustics.takeoff.model import BoardPiece, BoardRules, LayerLayout, Ring

TOLERANCE_MM2 = 100.0


def plan_with_same_joints(field: Field, layer: LayerLayout) -> LayerPlan | None:
    """The old joints on the changed field; None where a piece would be larger than the board."""
    joints = [(j.x1_mm, j.y1_mm, j.x2_mm, j.y2_mm, j.on_support) for j in layer.joints]
    if field.mirrored:
        joints = [(y1, x1, y2, x2, s) for x1, y1, x2, y2, s in joints]
    upright = sorted({(x1, min(y1, y2), max(y1, y2)) for x1, y1, _, y2, s in joints if s})
    level = sorted({(y1, min(x1, x2), max(x1, x2)) for x1, y1, x2, y2, s in joints if not s})
    across = layer.orientation == "across"
    lines = sorted({at for at, _, _ in (level if across else upright)})
    low, high = (field.y0, field.y1) if across else (field.x0, field.x1)
    bands = list(itertools.pairwise([low, *(at for at in lines if low < at < high), high]))
    shapes = []
    for a, b in bands:
        middle = (a + b) / 2
        inner = upright if across else level
        start, end = (field.x0, field.x1) if across else (field.y0, field.y1)
        cuts = sorted({at for at, c, d in inner if c < middle < d and start < at < end})
        for c, d in itertools.pairwise([start, *cuts, end]):
            shapes += field.shapes(c, a, d, b) if across else field.shapes(a, c, b, d)
    board = field.board
    return make_plan(field, layer.orientation, shapes, upright, level, board.width_mm, board.height_mm)


def fitted(piece: BoardPiece, ring: Ring, holes: tuple[Ring, ...], field_box: tuple, slack: tuple) -> Ring | None:
    """The outline `piece` fills where `ring` is wanted, or None.

    field_box is the field's bounds and slack the room (left, bottom, right, top) by which a piece may
    fall short of it there, as sealant bridges a gap that much wider.
    """
    wanted = Polygon(ring, holes)
    x0, y0, x1, y1 = (round(v) for v in wanted.bounds)
    short_x, short_y = max(0, x1 - x0 - piece.width_mm), max(0, y1 - y0 - piece.height_mm)
    left = min(short_x, slack[0]) if x0 <= field_box[0] + 1 else 0
    right = min(short_x - left, slack[2]) if x1 >= field_box[2] - 1 else 0
    top = min(short_y, slack[3]) if y1 >= field_box[3] - 1 else 0
    bottom = min(short_y - top, slack[1]) if y0 <= field_box[1] + 1 else 0
    if left + right < short_x or top + bottom < short_y:
        return None
    kept = wanted.intersection(box(x0 + left, y0 + bottom, x1 - right, y1 - top))
    if kept.geom_type != "Polygon" or kept.interiors or piece.cutouts_mm:
        return ring if _same(piece, ring, holes) else None
    have = Polygon(piece.outline_mm)
    hx0, hy0, hx1, hy1 = have.bounds
    kx0, ky0, kx1, ky1 = kept.bounds
    for dx in {kx0 - hx0, kx1 - hx1}:
        for dy in {ky0 - hy0, ky1 - hy1}:
            if kept.difference(translate(have, dx, dy)).area <= TOLERANCE_MM2:
                return tuple((round(x), round(y)) for x, y in list(orient(kept).exterior.coords)[:-1])
    return None


def _same(piece: BoardPiece, ring: Ring, holes: tuple[Ring, ...]) -> bool:
    wanted, have = Polygon(ring, holes), Polygon(piece.outline_mm, piece.cutouts_mm)
    dx, dy = wanted.bounds[0] - have.bounds[0], wanted.bounds[1] - have.bounds[1]
    return wanted.symmetric_difference(translate(have, dx, dy)).area <= TOLERANCE_MM2


def slack_of(gaps, rules: BoardRules) -> tuple[int, int, int, int]:
    """(left, bottom, right, top) by which the perimeter gaps may still grow."""
    sides = max(0, rules.gap_most_mm - gaps.sides_mm)
    return sides, max(0, rules.gap_most_mm - gaps.bottom_mm), sides, max(0, rules.gap_most_mm - gaps.top_mm)
