"""The plan of a room as numbers for templates/drawings/plan.svg: a rectangle whose walls A, B, C and D run clockwise.

A lies at the top. Each wall is measured from its left end as seen from inside, which is clockwise on the plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from contractor.common.drawing import Dimension, Line, Paper, across, paper_for, upward
from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Opening, Room, Surface

LETTERS_ACROSS = 17
SIDES = "ABCD"
WALL = 1.0  # drawn thickness of a wall in heights of lettering: a plan sketch, not the wall's real depth
DRAWN_IN_WALL = {Opening.Kind.DOOR, Opening.Kind.WINDOW, Opening.Kind.HATCH}
PLAN_MARKS = {"separating": "noise", "flanking": "runs past", "other": ""}


@dataclass(frozen=True, kw_only=True)
class Block:
    x: int
    y: int
    width: int
    height: int
    kind: str = ""


@dataclass(frozen=True, kw_only=True)
class WallOnPlan:
    letter: str
    role: str
    band: Block
    mark_x: int
    mark_y: int
    arrows: tuple[Line, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Plan:
    uid: str
    title: str
    text: str
    paper: Paper
    room: Block
    walls: list[WallOnPlan] = field(default_factory=list)
    openings: list[Block] = field(default_factory=list)
    breasts: list[Block] = field(default_factory=list)
    dimensions: list[Dimension] = field(default_factory=list)
    overhead: list[tuple[int, int, str]] = field(default_factory=list)


def plan_of(room: Room, surfaces: Sequence[Surface], marked_field: str = "") -> Plan:
    """`surfaces` with patches and openings at hand; those lettered A to D that are walls are drawn on their sides."""
    paper = paper_for(
        width_mm=room.length_mm,
        height_mm=room.width_mm,
        letters_across=LETTERS_ACROSS,
        rows=(5.2, 3.4, 3.4, 5.2),
    )
    walls, openings, breasts = [], [], []
    by_letter = {s.letter: s for s in surfaces if s.face == Surface.Face.WALL}
    for side in SIDES:
        wall = by_letter.get(side)
        if wall is None:
            continue
        walls.append(_wall(paper, side, wall))
        scale = (room.length_mm if side in "AC" else room.width_mm) / wall.length_mm
        openings += [_opening(paper, side, o, scale) for o in wall.openings.all() if o.kind in DRAWN_IN_WALL]
        breasts += [
            _block(paper, side, round(p.x_mm * scale), round((p.x_mm + p.width_mm) * scale), 0, p.projection_mm)
            for p in wall.patches.all()
            if not p.is_rest and p.projection_mm
        ]
    return Plan(
        uid=f"plan-{room.pk or 'new'}",
        title=f"Plan of {room.name or 'the room'}",
        text=_text(room, surfaces),
        paper=paper,
        room=Block(x=paper.x(0), y=paper.y(room.width_mm), width=room.length_mm, height=room.width_mm),
        walls=walls,
        openings=openings,
        breasts=breasts,
        dimensions=[
            across(paper, 0, room.length_mm, row=4.6, marked=marked_field == "length_mm"),
            upward(paper, 0, room.width_mm, row=-3.8, marked=marked_field == "width_mm"),
        ],
        overhead=_overhead(paper, [s for s in surfaces if s.letter not in SIDES or s.face != Surface.Face.WALL]),
    )


def _block(paper: Paper, side: str, from_mm: int, to_mm: int, near_mm: int, far_mm: int, kind: str = "") -> Block:
    """A rectangle along a side; `near_mm` to `far_mm` into the room, below zero outside it."""
    length, width = paper.width_mm, paper.height_mm
    x1, x2, y1, y2 = {  # y down from wall A
        "A": (from_mm, to_mm, near_mm, far_mm),
        "B": (length - far_mm, length - near_mm, from_mm, to_mm),
        "C": (length - to_mm, length - from_mm, width - far_mm, width - near_mm),
        "D": (near_mm, far_mm, width - to_mm, width - from_mm),
    }[side]
    return Block(x=paper.left + x1, y=paper.top + y1, width=x2 - x1, height=y2 - y1, kind=kind)


def _wall(paper: Paper, side: str, wall: Surface) -> WallOnPlan:
    run_mm = paper.width_mm if side in "AC" else paper.height_mm
    thick = round(WALL * paper.lettering)
    out = round(2.2 * paper.lettering)
    spot = _block(paper, side, run_mm // 2, run_mm // 2, -out, -out)
    arrows = []
    if wall.role == Surface.Role.SEPARATING:
        for share in (0.2, 0.35, 0.65, 0.8):
            shaft = _block(paper, side, round(run_mm * share), round(run_mm * share), -3 * thick, -thick - thick // 4)
            ends = [(shaft.x, shaft.y), (shaft.x + shaft.width, shaft.y + shaft.height)]
            (x1, y1), (x2, y2) = ends if side in "AD" else reversed(ends)
            arrows.append(Line(x1=x1, y1=y1, x2=x2, y2=y2))
    return WallOnPlan(
        letter=wall.letter,
        role=wall.role,
        band=_block(paper, side, 0, run_mm, -thick, 0),
        mark_x=spot.x,
        mark_y=spot.y,
        arrows=tuple(arrows),
    )


def _opening(paper: Paper, side: str, opening: Opening, scale: float) -> Block:
    thick = round(WALL * paper.lettering)
    from_mm, to_mm = round(opening.x_mm * scale), round((opening.x_mm + opening.width_mm) * scale)
    return _block(paper, side, from_mm, to_mm, -thick, 0, opening.kind)


def _overhead(paper: Paper, surfaces: Sequence[Surface]) -> list[tuple[int, int, str]]:
    """Lines of lettering in the middle of the room for what a plan can't draw: ceiling, floor and further walls."""
    x = paper.left + paper.width_mm // 2
    step = round(1.5 * paper.lettering)
    top = paper.top + paper.height_mm // 2 - step * (len(surfaces) - 1) // 2
    lines = []
    for number, surface in enumerate(surfaces):
        said = PLAN_MARKS[surface.role]
        words = f"{surface.letter} {surface.get_face_display().lower()}" + (f": {said}" if said else "")
        lines.append((x, top + number * step, words))
    return lines


def _text(room: Room, surfaces: Sequence[Surface]) -> str:
    said = [f"{mm(room.length_mm)} by {mm(room.width_mm)}, {mm(room.height_mm)} high. Walls run clockwise from A."]
    said += [f"{s.letter} {s.name}: {s.get_role_display().lower()}." for s in surfaces]
    return " ".join(said)
