"""What is built, drawn on the plan of the room: each lining to scale where it stands, numbered, the rest told in words.

Gives what templates/drawings/plan.svg places besides the plan itself: `linings`, `numbers` and the words in the middle.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from shapely.geometry.base import BaseGeometry

from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Patch, Room, SidePath, Surface
from contractor.rooms.patch_shape import patch_shape
from contractor.rooms.plan_drawing import LETTERS_ACROSS, Lettering, Plan, plan_of
from contractor.rooms.plan_lines import Sheet
from contractor.rooms.shape import Wall, shape_of, walk_of
from contractor.rooms.walk import Point

LEAST_LONG_MM = 30  # a strip of lining shorter than that on the plan is none
NUMBER_IN = 1.5  # heights of lettering from a lining to its number


@dataclass(frozen=True, kw_only=True)
class Built:
    """One treatment of a scheme: its number in the proposal, and what it takes of the room."""

    number: int
    depth_mm: Decimal


@dataclass(frozen=True, kw_only=True)
class BuiltPlan:
    """`linings` are closed shapes written "x,y x,y"; `numbers` stand in circles beside them."""

    plan: Plan
    linings: list[str] = field(default_factory=list)
    numbers: list[Lettering] = field(default_factory=list)


def built_plan(room: Room, on_patch: Mapping[int, Built], on_side_path: Mapping[int, Built]) -> BuiltPlan | None:
    """None where the room's walls do not close or nothing is built in it. Surfaces and their patches at hand."""
    surfaces = list(room.surfaces.all())
    shape = shape_of(walk_of(room), surfaces)
    told = [*_told_of_levels(surfaces, shape.walls, on_patch), *_told_of_side_paths(room, on_side_path)]
    sheet = Sheet.round([wall.start for wall in shape.walls], LETTERS_ACROSS)
    linings, numbers = [], []
    for wall in shape.walls:
        for patch in wall.surface.patches.all() if wall.surface else ():
            built = on_patch.get(patch.pk)
            if built is None:
                continue
            drawn = _linings(wall, patch, built)
            linings += [sheet.points(ring) for ring in drawn]
            numbers += [_number(sheet, wall, patch, built, span) for span in _spans(patch_shape(wall.surface, patch))]
    if not linings and not told:
        return None
    plan = plan_of(room, surfaces)
    said = f"{plan.text} Built: {'; '.join(_in_words(surfaces, on_patch) + told)}."
    return BuiltPlan(
        plan=replace(plan, overhead=_middle(plan, told), text=said, uid=f"{plan.uid}-built"),
        linings=linings,
        numbers=numbers,
    )


def _spans(shape: BaseGeometry) -> list[tuple[float, float]]:
    """From where to where along the wall each part of a patch stands."""
    parts = getattr(shape, "geoms", [shape])
    spans = [(part.bounds[0], part.bounds[2]) for part in parts if not part.is_empty]
    return [span for span in spans if span[1] - span[0] >= LEAST_LONG_MM]


def _linings(wall: Wall, patch: Patch, built: Built) -> list[list[Point]]:
    """In front of each part; round the cheeks too where the patch stands out into the room."""
    depth, out = float(built.depth_mm), float(patch.projection_mm)
    found = []
    for start, end in _spans(patch_shape(wall.surface, patch)):
        if out:
            found += [_ring(wall, start - depth, start, 0, out), _ring(wall, end, end + depth, 0, out)]
            found.append(_ring(wall, start - depth, end + depth, out, out + depth))
        else:
            found.append(_ring(wall, start, end, 0, depth))
    return [ring for ring in found if depth]


def _ring(wall: Wall, start: float, end: float, near: float, far: float) -> list[Point]:
    return [wall.place(start, near), wall.place(end, near), wall.place(end, far), wall.place(start, far)]


def _number(sheet: Sheet, wall: Wall, patch: Patch, built: Built, span: tuple[float, float]) -> Lettering:
    into = patch.projection_mm + float(built.depth_mm) + NUMBER_IN * sheet.paper.lettering
    x, y = sheet.at(wall.place(sum(span) / 2, into))
    return Lettering(x=x, y=y, words=str(built.number))


def _told_of_levels(surfaces: Sequence[Surface], walls: Sequence[Wall], on_patch: Mapping[int, Built]) -> list[str]:
    """Ceilings, floors and walls that are not on the plan."""
    drawn = {wall.surface.pk for wall in walls if wall.surface}
    return [
        f"{built.number}: {surface.name.lower() if surface.face != Surface.Face.WALL else surface.name}, {mm(built.depth_mm)}"
        for surface in surfaces
        if surface.pk not in drawn
        for patch in surface.patches.all()
        if (built := on_patch.get(patch.pk))
    ]


def _told_of_side_paths(room: Room, on_side_path: Mapping[int, Built]) -> list[str]:
    paths: Sequence[SidePath] = room.side_paths.all()
    return [f"{built.number}: {path.name}" for path in paths if (built := on_side_path.get(path.pk))]


def _in_words(surfaces: Sequence[Surface], on_patch: Mapping[int, Built]) -> list[str]:
    return [
        f"{built.number}: {surface.letter} {patch.name or surface.name}, {mm(built.depth_mm)}"
        for surface in surfaces
        for patch in surface.patches.all()
        if (built := on_patch.get(patch.pk))
    ]


def _middle(plan: Plan, told: Sequence[str]) -> list[Lettering]:
    """The words in the middle of the room, in place of what the plan of the survey says there."""
    unit = plan.paper.lettering
    x = plan.overhead[0].x if plan.overhead else plan.paper.left + plan.paper.width_mm // 2
    y = plan.overhead[len(plan.overhead) // 2].y if plan.overhead else plan.paper.top + plan.paper.height_mm // 2
    lines = [line for words in told for line in _broken(words, round(plan.paper.width_mm / (0.7 * unit)))]
    top = y - round(1.4 * unit * (len(lines) - 1) / 2)
    return [Lettering(x=x, y=top + round(1.4 * unit * n), words=words) for n, words in enumerate(lines)]


def _broken(words: str, letters: int) -> list[str]:
    """Into lines that the room holds."""
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > max(letters, 8):
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
