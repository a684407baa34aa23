"""Plan and elevations of a walk while it is typed, the dimension being edited marked."""

import re
from dataclasses import dataclass, field

from contractor.rooms.drawings import Elevation, elevation_of
from contractor.rooms.forms.walk_typed import TypedWalk
from contractor.rooms.models import Room, Surface
from contractor.rooms.plan_drawing import Plan, plan_of_walk
from contractor.rooms.rings import Ring, is_rectangle, size_of
from contractor.rooms.shape import RoomShape, facet_name, wall_letter

FIELD = re.compile(r"^(walls|heights)-(\d+)-(\w+)$")


@dataclass(frozen=True, kw_only=True)
class DrawnWalk:
    plan: Plan | None = None
    detail: Elevation | None = None
    elevations: list[tuple[str, Elevation]] = field(default_factory=list)


def drawn_walk(typed: TypedWalk, edited: str) -> DrawnWalk:
    """What can be drawn so far. `edited` is the name of the field with the cursor: its wall's elevation is drawn large."""
    if typed.walk is None:
        return DrawnWalk()
    number, name = _edited(typed, edited)
    surfaces = _on_walls(typed)
    plan = plan_of_walk(typed.walk, list(surfaces.values()), edited=number if name == "length_mm" else None)
    shape = typed.shape
    if shape is None:
        return DrawnWalk(plan=plan)
    walls = [
        _with(surfaces.get(wall.number), wall.outline_mm, wall_letter(wall.number), "wall") for wall in shape.walls
    ]
    detail = None
    if number:
        wall = walls[number - 1]
        detail = _drawn(wall, edited=wall, marked_field=name)
    return DrawnWalk(
        plan=plan, detail=detail, elevations=[(s.name, _drawn(s, is_small=True)) for s in _all(walls, shape)]
    )


def _all(walls: list[Surface], shape: RoomShape) -> list[Surface]:
    ceilings = []
    for facet in shape.facets:
        surface = _with(None, facet.outline_mm, wall_letter(len(walls) + facet.number), "ceiling")
        surface.name = facet_name(facet)
        ceilings.append(surface)
    floor = _with(None, shape.floor_outline_mm, wall_letter(len(walls) + len(ceilings) + 1), "floor")
    return [*walls, *ceilings, floor]


def _edited(typed: TypedWalk, edited: str) -> tuple[int | None, str]:
    """The wall and the field with the cursor."""
    found = FIELD.match(edited)
    if not found:
        return None, ""
    rows, i, name = found[1], int(found[2]), found[3]
    if rows == "walls":
        return (i + 1, name) if i < len(typed.walls.forms) else (None, "")
    row = typed.heights.forms[i] if i < len(typed.heights.forms) else None
    number = row.cleaned_data.get("wall") if row is not None and row.is_bound else None
    return (number, "") if number and number <= len(typed.walls.forms) else (None, "")


def _on_walls(typed: TypedWalk) -> dict[int, Surface]:
    """The surveyed surface on each wall, as the rows have it now."""
    by_pk = {surface.pk: surface for surface in typed.surfaces}
    if not typed.is_bound:
        return {wall.number: wall.surface for wall in typed.shape.walls if wall.surface} if typed.shape else {}
    found = {}
    for number, pk in enumerate(typed.drawn, start=1):
        if pk is not None:
            found[number] = by_pk[pk]
            found[number].place = number  # in memory only
    for surface in typed.surfaces:
        if surface.face == Surface.Face.WALL and surface.pk not in typed.drawn:
            surface.place = 0
    return found


def _with(surface: Surface | None, ring: Ring, letter: str, face: str) -> Surface:
    """A surface in memory with the outline that the walk gives it."""
    label = Surface.Face(face).label
    name = surface.name if surface else f"{label} {letter}" if face == "wall" else label
    drawn = surface or Surface(room=Room(), letter=letter, name=name, face=face)
    drawn.letter = letter
    drawn.length_mm, drawn.height_mm = size_of(ring)
    drawn.outline_mm = [] if is_rectangle(ring) else [list(corner) for corner in ring]
    return drawn


def _drawn(surface: Surface, **how) -> Elevation:
    if surface.pk is None:
        return elevation_of(surface, patches=[], openings=[], **how)
    return elevation_of(
        surface,
        patches=list(surface.patches.all()),
        openings=list(surface.openings.all()),
        fixtures=list(surface.fixtures.all()),
        **how,
    )
