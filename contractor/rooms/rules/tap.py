"""What a tap test says of each patch: how much of it is hollow or damp, by area."""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import box
from shapely.geometry.base import BaseGeometry

from contractor.rooms.models import Finding, Patch, Surface
from contractor.rooms.models.found import CELL_MM
from contractor.rooms.patch_shape import clear_shape

Cell = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Tapped:
    """Of one patch: the area that was sounded, and of it what is hollow or damp; the largest hollow place by itself.

    Areas in mm². Shares are of what was sounded; None where nothing was.
    """

    sounded_mm2: float
    hollow_mm2: float
    damp_mm2: float
    largest_hollow_mm2: float

    @property
    def hollow_percent(self) -> float | None:
        return 100 * self.hollow_mm2 / self.sounded_mm2 if self.sounded_mm2 else None

    @property
    def damp_percent(self) -> float | None:
        return 100 * self.damp_mm2 / self.sounded_mm2 if self.sounded_mm2 else None


def grid_size(surface: Surface) -> tuple[int, int]:
    """Columns and rows of the grid; the last of each may be narrower."""
    return -(-surface.length_mm // CELL_MM), -(-surface.height_mm // CELL_MM)


def cell_box(cell: Cell) -> BaseGeometry:
    column, row = cell
    return box(column * CELL_MM, row * CELL_MM, (column + 1) * CELL_MM, (row + 1) * CELL_MM)


def cell_areas(shape: BaseGeometry) -> dict[Cell, float]:
    """Area of each cell's part in the shape, in mm²; cells that lie outside are left out."""
    left, bottom, right, top = shape.bounds
    columns = range(int(left // CELL_MM), -int(-right // CELL_MM))
    rows = range(int(bottom // CELL_MM), -int(-top // CELL_MM))
    cells = [(column, row) for column in columns for row in rows]
    corners = np.array(cells) * CELL_MM
    boxes = shapely.box(corners[:, 0], corners[:, 1], corners[:, 0] + CELL_MM, corners[:, 1] + CELL_MM)
    areas = shapely.area(shapely.intersection(shape, boxes)).tolist()  # all at once: a room has hundreds
    return {cell: area for cell, area in zip(cells, areas, strict=True) if area >= 1}


def tapped(patch: Patch, finding: Finding) -> Tapped:
    """The patch's part of the tap test of its surface. Reads the surface's patches and openings."""
    shape = clear_shape(patch)
    marks = {name: {tuple(cell) for cell in finding.marks.get(name, ())} for name in ("hollow", "damp", "skipped")}
    areas = cell_areas(shape) if not shape.is_empty else {}
    sounded = set(areas) - marks["skipped"]
    hollow = sounded & marks["hollow"]
    return Tapped(
        sounded_mm2=sum(areas[cell] for cell in sounded),
        hollow_mm2=sum(areas[cell] for cell in hollow),
        damp_mm2=sum(areas[cell] for cell in sounded & marks["damp"]),
        largest_hollow_mm2=max((sum(areas[c] for c in place) for place in places(hollow)), default=0.0),
    )


def places(cells: set[Cell]) -> list[set[Cell]]:
    """The cells in groups that hang together by their sides."""
    left, found = set(cells), []
    while left:
        place, edge = set(), [left.pop()]
        while edge:
            column, row = edge.pop()
            place.add((column, row))
            beside = {(column + 1, row), (column - 1, row), (column, row + 1), (column, row - 1)} & left
            left -= beside
            edge += beside
        found.append(place)
    return found
