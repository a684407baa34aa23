"""The ways round on a plan: what no surface carries, drawn along the wall to the noise or at the chimney breast."""

from collections.abc import Sequence
from dataclasses import dataclass

from contractor.common.drawing import Line
from contractor.rooms.models import SidePath, Surface
from contractor.rooms.plan_lines import Sheet
from contractor.rooms.shape import Wall

Kind = SidePath.Kind
# Strokes and gaps in tenths of the lettering.
DASHES = {Kind.VOID: (10, 4), Kind.ROOF_VOID: (10, 3, 2, 3), Kind.BEAM: (5, 3), Kind.LEAK: (2, 3)}
FIRST_ROW, ROW = 0.9, 0.8  # rows of lettering into the room
MARK_AT = 0.27  # of the way along the wall: clear of a breast in its middle and of its corners


@dataclass(frozen=True, kw_only=True)
class WayOnPlan:
    """A dashed line along the wall, or a ring of that radius for what rises through the room."""

    mark: str
    mark_x: int
    mark_y: int
    line: Line
    dashes: str = ""
    ring: int = 0


def way_marks(ways: Sequence[SidePath]) -> list[tuple[SidePath, str]]:
    return [(way, f"w{number}") for number, way in enumerate(ways, start=1)]


def ways_on_plan(sheet: Sheet, walls: Sequence[Wall], ways: Sequence[SidePath]) -> list[WayOnPlan]:
    """Along the separating wall, the first on it nearest; none where the noise comes from above or below."""
    wall = next((w for w in walls if w.surface and w.surface.role == Surface.Role.SEPARATING), None)
    if wall is None:
        return []
    unit = sheet.paper.lettering
    drawn, row, rising = [], FIRST_ROW, 0
    for way, mark in way_marks(ways):
        if way.kind in (Kind.FLUE, Kind.PIPE):
            along_mm, into_mm = _rising(wall, way, rising, unit)
            rising += 1
        else:
            along_mm, into_mm = wall.length_mm * MARK_AT, row * unit
            row += ROW
        reach_mm = min(way.length_mm or wall.length_mm, wall.length_mm) / 2
        mark_at = wall.place(along_mm, into_mm)
        is_ring = way.kind in (Kind.FLUE, Kind.PIPE)
        x, y = sheet.at(mark_at)
        drawn.append(
            WayOnPlan(
                mark=mark,
                mark_x=x,
                mark_y=y,
                line=sheet.line(
                    wall.place(wall.length_mm / 2 - reach_mm, into_mm),
                    wall.place(wall.length_mm / 2 + reach_mm, into_mm),
                ),
                dashes=" ".join(str(max(1, round(part * unit / 10))) for part in DASHES.get(way.kind, (4, 4))),
                ring=round(0.75 * unit) if is_ring else 0,
            )
        )
    return drawn


def _rising(wall: Wall, way: SidePath, number: int, unit: int) -> tuple[float, float]:
    """A flue stands in the first chimney breast; a pipe beside the left end of the wall."""
    breast = next((p for p in wall.surface.patches.all() if not p.is_rest and p.projection_mm), None)
    if way.kind == Kind.FLUE and breast is not None:
        return breast.x_mm + breast.width_mm / 2, breast.projection_mm / 2
    return (1.2 + 1.8 * number) * unit, 0.9 * unit
