"""The tap test laid over the elevation, and the grid of cells in which it is typed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shapely import Polygon, unary_union

from contractor.rooms.drawings import Elevation, elevation_of
from contractor.rooms.models import Finding, Surface
from contractor.rooms.models.found import CELL_MM
from contractor.rooms.rules.tap import Cell, cell_areas, cell_box, grid_size, tapped

MARKS = {"hollow": "H", "damp": "D", "skipped": "?"}
LEAST_MM2 = 2_500  # a corner of a cell smaller than this is not asked for


@dataclass(frozen=True, kw_only=True)
class TapCell:
    """A cell to be marked; `is_there` is False outside the surface and in an opening."""

    key: str
    name: str
    is_there: bool
    marks: dict[str, bool]


@dataclass(frozen=True, kw_only=True)
class DrawnCell:
    mark: str
    points: str
    x: int
    y: int
    lines: list[tuple[int, int, int, int]] = field(default_factory=list)
    is_damp: bool = False
    is_skipped: bool = False


@dataclass(frozen=True, kw_only=True)
class TapDrawing:
    elevation: Elevation
    cells: list[DrawnCell]
    text: str


@dataclass(frozen=True, kw_only=True)
class Share:
    """What the tap test says of one patch, in percent of what was sounded; None where nothing was."""

    patch: object
    hollow_percent: float | None
    damp_percent: float | None
    largest_hollow_m2: float


def cell_key(cell: Cell) -> str:
    return f"{cell[0]}-{cell[1]}"


def to_sound(surface: Surface) -> dict[Cell, float]:
    """Area of every cell that there is something to knock on in, by its column and row."""
    openings = [opening.outline.shape for opening in surface.openings.all()]
    wall = Polygon(surface.ring)
    shape = wall.difference(unary_union(openings)) if openings else wall
    return {cell: area for cell, area in cell_areas(shape).items() if area >= LEAST_MM2}


def grid_of(surface: Surface, marked: Mapping[str, Sequence[str]]) -> list[list[TapCell]]:
    """Rows of cells from the top down, each from the left. `marked` has the keys of the cells with each mark."""
    there = to_sound(surface)
    columns, rows = grid_size(surface)
    sets = {name: set(marked.get(name, ())) for name in MARKS}
    return [
        [
            TapCell(
                key=cell_key((column, row)),
                name=f"Column {column + 1}, row {row + 1} up",
                is_there=(column, row) in there,
                marks={name: cell_key((column, row)) in keys for name, keys in sets.items()},
            )
            for column in range(columns)
        ]
        for row in reversed(range(rows))
    ]


def tap_drawing(surface: Surface, finding: Finding) -> TapDrawing:
    """The elevation with what was marked. Hollow cells are crossed, damp ones dotted, those not reached have a ?."""
    elevation = elevation_of(
        surface, patches=surface.patches.all(), openings=surface.openings.all(), fixtures=surface.fixtures.all()
    )
    wall = Polygon(surface.ring)
    marks = {name: {tuple(cell) for cell in finding.marks.get(name, ())} for name in MARKS}
    cells = []
    for cell in sorted(set().union(*marks.values()) & set(to_sound(surface))):
        shape = cell_box(cell).intersection(wall)
        told = [MARKS[name] for name in MARKS if cell in marks[name]]
        cells.append(_drawn(elevation, shape, "".join(told), {name for name in MARKS if cell in marks[name]}))
    return TapDrawing(elevation=elevation, cells=cells, text=_text(finding, marks))


def _drawn(elevation: Elevation, shape, mark: str, names: set[str]) -> DrawnCell:
    p = elevation.paper
    left, bottom, right, top = (round(v) for v in shape.bounds)
    corners = [(p.x(round(x)), p.y(round(y))) for x, y in shape.exterior.coords[:-1]]
    lines = []
    if "hollow" in names:
        lines = [(p.x(left), p.y(bottom), p.x(right), p.y(top)), (p.x(left), p.y(top), p.x(right), p.y(bottom))]
    return DrawnCell(
        mark=mark,
        points=" ".join(f"{x},{y}" for x, y in corners),
        x=p.x((left + right) // 2),
        y=p.y((bottom + top) // 2),
        lines=lines,
        is_damp="damp" in names,
        is_skipped="skipped" in names,
    )


def _text(finding: Finding, marks: dict[str, set]) -> str:
    if not finding.was_tapped:
        return "Not sounded yet."
    counts = ", ".join(f"{len(cells)} {name}" for name, cells in marks.items() if cells) or "all sound"
    return f"Tap test in cells of {CELL_MM} mm: {counts.replace('skipped', 'not reached')}."


def shares_of(surface: Surface, finding: Finding) -> list[Share]:
    """Each patch with its share of hollow and damp; empty where the surface was not sounded."""
    if not finding.was_tapped:
        return []
    told = [(patch, tapped(patch, finding)) for patch in surface.patches.all()]
    return [
        Share(
            patch=patch,
            hollow_percent=found.hollow_percent,
            damp_percent=found.damp_percent,
            largest_hollow_m2=found.largest_hollow_mm2 / 1e6,
        )
        for patch, found in told
    ]
