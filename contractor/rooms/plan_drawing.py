"""The plan of a room as numbers for templates/drawings/plan.svg, from the walk round it.

The first wall lies at the top and the walls run clockwise; each is measured from its left end as seen from inside.
Points are written as SVG has them, "x,y x,y".
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from shapely import LineString, Polygon

from contractor.common.drawing import Dimension, Line, Paper
from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Fixture, Opening, Room, SidePath, Surface
from contractor.rooms.plan_lettering import Lettering, heights_on_plan, overhead_on_plan
from contractor.rooms.plan_lines import Sheet, along_wall, marks_of, mitred
from contractor.rooms.shape import RoomShape, Wall, shape_of, walk_of, walls_as_walked
from contractor.rooms.walk import Point, Walk, completed
from contractor.rooms.ways_drawing import WayOnPlan, way_marks, ways_on_plan

LETTERS_ACROSS = 17
WALL = 1.0  # drawn thickness of a wall in heights of lettering: a plan sketch, not the wall's real depth
BOX = 0.35
DRAWN_IN_WALL = {Opening.Kind.DOOR, Opening.Kind.WINDOW, Opening.Kind.HATCH}
# What stands into the room, and how far where that was not measured.
STANDING_MM = {
    Fixture.Kind.RADIATOR: 100,
    Fixture.Kind.NIB: 100,
    Fixture.Kind.BEAM: 150,
    Fixture.Kind.UNIT: 400,
    Fixture.Kind.PIPE: 60,
    Fixture.Kind.STAIR: 40,
}


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A closed shape; `pane` is the middle line of a window."""

    points: str
    kind: str
    pane: Line | None = None


@dataclass(frozen=True, kw_only=True)
class WallOnPlan:
    letter: str
    role: str
    band: str
    mark_x: int
    mark_y: int
    is_edited: bool = False
    arrows: list[Line] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """`ground` is the floor, empty while the walk does not close; `gap` leads from where it ends to its start."""

    uid: str
    title: str
    text: str
    paper: Paper
    ground: str = ""
    walls: list[WallOnPlan] = field(default_factory=list)
    openings: list[Drawn] = field(default_factory=list)
    standing: list[Drawn] = field(default_factory=list)
    boxes: list[Drawn] = field(default_factory=list)
    folds: list[Line] = field(default_factory=list)
    dimensions: list[Dimension] = field(default_factory=list)
    heights: list[Lettering] = field(default_factory=list)
    overhead: list[Lettering] = field(default_factory=list)
    ways: list[WayOnPlan] = field(default_factory=list)
    gap: Line | None = None


def plan_of(room: Room, surfaces: Sequence[Surface], ways: Sequence[SidePath] = ()) -> Plan:
    """The room with what hangs on its walls, and the ways round along its separating wall; `surfaces` with patches,
    openings and fixtures at hand."""
    shape = shape_of(walk_of(room), surfaces)
    return _plan(
        shape.walls,
        shape,
        surfaces,
        walk=shape.walk,
        title=f"Plan of {room.name or 'the room'}",
        uid=f"plan-{room.pk or 'new'}",
        ways=ways,
    )


def plan_of_walk(walk: Walk, surfaces: Sequence[Surface] = (), *, edited: int | None = None) -> Plan | None:
    """What is typed so far: the whole room where it closes, else the walls as walked with the gap. The length of wall
    number `edited` is marked. None before the first length."""
    whole = completed(walk)
    shape = shape_of(whole, surfaces) if whole else None
    words = {"title": "Plan of the room", "uid": "plan-typed", "edited": edited, "walk": whole or walk}
    if shape and shape.misclosure.closes:
        return _plan(shape.walls, shape, surfaces, **words)
    walls = walls_as_walked(whole or walk, surfaces)
    return _plan(walls, None, surfaces, **words, has_gap=whole is not None) if walls else None


def _plan(
    walls: list[Wall],
    shape: RoomShape | None,
    surfaces: Sequence[Surface],
    *,
    walk: Walk,
    title: str,
    uid: str,
    edited: int | None = None,
    has_gap: bool = False,
    ways: Sequence[SidePath] = (),
) -> Plan:
    """`shape` where the walls close."""
    corners = [wall.start for wall in walls] + ([] if shape else [walls[-1].end])
    sheet = Sheet.round(corners, LETTERS_ACROSS)
    hull = Polygon(corners).convex_hull if len(corners) > 2 else Polygon()
    dimensions = [
        along_wall(
            sheet,
            wall,
            is_outside=_is_on(hull, wall, 1 if shape else walk.length_mm / 20),
            marked=wall.number == edited,
            is_worked_out=wall.number in walk.worked_out,
        )
        for wall in walls
    ]
    on_plan = {wall.surface.pk for wall in walls if wall.surface}
    overhead = overhead_on_plan(sheet, Polygon(corners), [s for s in surfaces if s.pk not in on_plan]) if shape else []
    return Plan(
        uid=uid,
        title=title,
        text=_text(shape, surfaces) + "".join(f" {mark}: {way}." for way, mark in way_marks(ways)),
        paper=sheet.paper,
        ground=sheet.points(corners) if shape else "",
        walls=_drawn_walls(sheet, walls, dimensions, edited, is_closed=shape is not None),
        openings=[_opening(sheet, wall, o) for wall in walls if wall.surface for o in _in_wall(wall.surface)],
        standing=[part for wall in walls if wall.surface for part in _standing(sheet, wall)],
        boxes=[_box(sheet, wall, x_mm) for wall in walls if wall.surface for x_mm in _boxes(wall.surface)],
        folds=_folds(sheet, shape) if shape else [],
        dimensions=dimensions,
        heights=heights_on_plan(sheet, shape, dimensions, overhead) if shape and not shape.is_level else [],
        overhead=overhead,
        ways=ways_on_plan(sheet, walls, ways),
        gap=sheet.line(walls[-1].end, walls[0].start) if has_gap else None,
    )


def _is_on(hull: Polygon, wall: Wall, within_mm: float) -> bool:
    """Whether nothing of the room lies beyond the wall, so that there is place for its dimension outside."""
    return hull.is_empty or hull.exterior.buffer(within_mm).covers(LineString([wall.start, wall.end]))


def _drawn_walls(sheet: Sheet, walls: list[Wall], dimensions, edited, *, is_closed: bool) -> list[WallOnPlan]:
    paper = sheet.paper
    taken = [
        (d.label_x - paper.left + sheet.least_x, d.label_y - paper.top + sheet.least_y) for d in dimensions
    ]  # back in plan coordinates
    bands = mitred(walls, WALL * paper.lettering, is_closed)
    drawn = []
    for wall, band, spot in zip(walls, bands, marks_of(sheet, walls, taken), strict=True):
        mark_x, mark_y = sheet.at(spot)
        drawn.append(
            WallOnPlan(
                letter=wall.letter,
                role=wall.surface.role if wall.surface else Surface.Role.OTHER,
                band=sheet.points(band),
                mark_x=mark_x,
                mark_y=mark_y,
                is_edited=wall.number == edited,
                arrows=_arrows(sheet, wall),
            )
        )
    return drawn


def _arrows(sheet: Sheet, wall: Wall) -> list[Line]:
    if not wall.surface or wall.surface.role != Surface.Role.SEPARATING:
        return []
    thick = WALL * sheet.paper.lettering
    places = [wall.length_mm * share for share in (0.2, 0.35, 0.65, 0.8)]
    return [sheet.line(wall.place(at, -3 * thick), wall.place(at, -1.25 * thick)) for at in places]


def _in_wall(surface: Surface) -> list[Opening]:
    return [opening for opening in surface.openings.all() if opening.kind in DRAWN_IN_WALL]


def _quad(wall: Wall, from_mm: float, to_mm: float, near_mm: float, far_mm: float) -> list[Point]:
    """A rectangle along a wall; `near_mm` to `far_mm` into the room, below zero outside it."""
    return [
        wall.place(from_mm, near_mm),
        wall.place(to_mm, near_mm),
        wall.place(to_mm, far_mm),
        wall.place(from_mm, far_mm),
    ]


def _opening(sheet: Sheet, wall: Wall, opening: Opening) -> Drawn:
    thick = WALL * sheet.paper.lettering
    ends = opening.x_mm, opening.x_mm + opening.width_mm
    is_window = opening.kind == Opening.Kind.WINDOW
    return Drawn(
        points=sheet.points(_quad(wall, *ends, -thick, 0)),
        kind=opening.kind,
        pane=sheet.line(*(wall.place(end, -thick / 2) for end in ends)) if is_window else None,
    )


def _standing(sheet: Sheet, wall: Wall) -> list[Drawn]:
    """Chimney breasts, and the fixtures that stand into the room."""
    found = [
        (p.x_mm, p.width_mm, p.projection_mm, "breast")
        for p in wall.surface.patches.all()
        if not p.is_rest and p.projection_mm
    ]
    found += [
        (f.x_mm, f.width_mm, f.projection_mm or STANDING_MM[f.kind], f.kind)
        for f in wall.surface.fixtures.all()
        if f.kind in STANDING_MM
    ]
    return [
        Drawn(points=sheet.points(_quad(wall, x_mm, x_mm + width_mm, 0, out_mm)), kind=kind)
        for x_mm, width_mm, out_mm, kind in found
    ]


def _boxes(surface: Surface) -> list[float]:
    return [fixture.x_mm + fixture.width_mm / 2 for fixture in surface.fixtures.all() if fixture.is_box]


def _box(sheet: Sheet, wall: Wall, x_mm: float) -> Drawn:
    """A small mark with its point on the wall."""
    reach = BOX * sheet.paper.lettering
    corners = [wall.place(x_mm, 0), wall.place(x_mm - reach, 1.6 * reach), wall.place(x_mm + reach, 1.6 * reach)]
    return Drawn(points=sheet.points(corners), kind="box")


def _folds(sheet: Sheet, shape: RoomShape) -> list[Line]:
    ends: dict[int, list[Point]] = {}
    for height in shape.walk.heights:
        if height.fold:
            ends.setdefault(height.fold, []).append(shape.walls[height.wall - 1].place(height.at_mm))
    return [sheet.line(*pair) for pair in ends.values() if len(pair) == 2]


def _text(shape: RoomShape | None, surfaces: Sequence[Surface]) -> str:
    if shape is None:
        return "The walls as walked so far. Walls run clockwise from the first."
    length_mm, width_mm = shape.extent_mm
    high = mm(shape.highest_mm) if shape.is_level else f"{mm(shape.lowest_mm)} to {mm(shape.highest_mm)}"
    said = [f"{mm(length_mm)} by {mm(width_mm)}, {high} high. Walls run clockwise from {shape.walls[0].letter}."]
    if len(shape.walls) != 4:
        said += [f"{wall.letter} is {mm(wall.length_mm)} long." for wall in shape.walls]
    said += [f"{s.letter} {s.name}: {s.get_role_display().lower()}." for s in surfaces]
    return " ".join(said)
