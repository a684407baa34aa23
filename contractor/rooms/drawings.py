"""The elevation of a surface, with its patches, openings and dimensions, as numbers for templates/drawings/."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import Polygon, contains_xy, distance, points

from contractor.catalogue.models import Construction
from contractor.common.drawing import Dimension, Line, Paper, paper_for
from contractor.common.templatetags.wording import mm
from contractor.rooms.elevation_lines import dimensions_of, placed
from contractor.rooms.fixture_drawing import DrawnFixture, drawn_fixtures, fixture_marks, fixture_text
from contractor.rooms.models import Fixture, Opening, Patch, Surface
from contractor.rooms.rings import Ring, is_rectangle

LETTERS_ACROSS = 22
ACROSS, UP = np.arange(1, 24), np.arange(1, 16)
LETTERS_ACROSS_SMALL = 12
OPENING_MARKS = {
    Opening.Kind.DOOR: "D",
    Opening.Kind.WINDOW: "W",
    Opening.Kind.FIREPLACE: "F",
    Opening.Kind.HATCH: "H",
    Opening.Kind.UNIT: "U",
}


@dataclass(frozen=True, kw_only=True)
class Hatch:
    """A pattern: its id on the page, what it stands for, and by how many degrees it is turned."""

    id: str
    kind: str
    turn: int


@dataclass(frozen=True, kw_only=True)
class DrawnPart:
    mark: str
    name: str
    x: int
    y: int
    width: int
    height: int
    mark_x: int
    mark_y: int
    hatch: str = ""
    points: str = ""
    stands_out: bool = False
    is_strip: bool = False
    is_edited: bool = False
    leader: Line | None = None  # from a mark that has no room inside to its part

    @property
    def right(self) -> int:
        return self.x + self.width

    @property
    def bottom(self) -> int:
        return self.y + self.height


@dataclass(frozen=True, kw_only=True)
class Elevation:
    """`uid` keeps the ids of two drawings on one page apart. The first patch is the rest, where there is one."""

    uid: str
    title: str
    text: str
    paper: Paper
    hatches: list[Hatch] = field(default_factory=list)
    patches: list[DrawnPart] = field(default_factory=list)
    openings: list[DrawnPart] = field(default_factory=list)
    fixtures: list[DrawnFixture] = field(default_factory=list)
    outline: str = ""
    dimensions: list[Dimension] = field(default_factory=list)
    is_small: bool = False


def hatch_kind(construction: Construction | None) -> str:
    """The usual convention for what a construction is made of. Reads its layers and their materials."""
    if construction is None:
        return ""
    if construction.kind == Construction.Kind.WINDOW:
        return "glass"
    if construction.kind in (Construction.Kind.FLOOR, Construction.Kind.DOOR):
        light = "timber"
    else:
        light = "board"
    has_masonry = any(layer.material and layer.material.is_masonry for layer in construction.layers.all())
    return "masonry" if has_masonry else light


def elevation_of(
    surface: Surface,
    *,
    patches: Sequence[Patch],
    openings: Sequence[Opening],
    fixtures: Sequence[Fixture] = (),
    edited: Surface | Patch | Opening | Fixture | None = None,
    marked_field: str = "",
    is_small: bool = False,
) -> Elevation:
    """The surface as seen from inside the room.

    What is on it may be unsaved, and may reach outside: it is drawn where it was typed. The dimension
    behind `marked_field` of `edited` is marked.
    """
    paper = paper_for(
        width_mm=surface.length_mm,
        height_mm=surface.height_mm,
        letters_across=LETTERS_ACROSS_SMALL if is_small else LETTERS_ACROSS,
        rows=(0.5, 0.5, 0.5, 0.5) if is_small else (2.4, 0.6, 0.6, 0.6),
    )
    uid = f"{'small' if is_small else 'elevation'}-{surface.pk or surface.letter or 'new'}"
    dimensions: list[Dimension] = []
    if not is_small:
        on_it = placed([*patches, *openings, *fixtures])
        paper, dimensions = dimensions_of(paper, surface, on_it, edited, marked_field)
    hatches, hatch_ids = _hatches(uid, patches)
    drawn_openings = _drawn_openings(paper, openings, edited)
    return Elevation(
        uid=uid,
        title=f"Elevation of {surface.letter} {surface.name}",
        text=_text(surface, patches, drawn_openings, fixtures),
        paper=paper,
        hatches=hatches,
        patches=_drawn_patches(paper, surface, patches, openings, fixtures, hatch_ids, edited, is_small),
        openings=drawn_openings,
        fixtures=drawn_fixtures(paper, fixtures, edited),
        outline=_points(paper, surface.ring),
        dimensions=dimensions,
        is_small=is_small,
    )


def _hatches(uid: str, patches: Sequence[Patch]) -> tuple[list[Hatch], dict[int | None, str]]:
    """One pattern for each construction: of two masonry walls the second is hatched the other way."""
    hatches: list[Hatch] = []
    ids: dict[int | None, str] = {None: ""}
    for patch in patches:
        if patch.construction_id in ids:
            continue
        kind = hatch_kind(patch.construction)
        turn = 45 * (1 + 2 * sum(hatch.kind == kind for hatch in hatches)) % 180
        hatch = Hatch(id=f"{uid}-hatch-{len(hatches) + 1}", kind=kind, turn=turn if kind == "masonry" else turn - 45)
        hatches.append(hatch)
        ids[patch.construction_id] = hatch.id
    return hatches, ids


def _drawn_patches(paper, surface, patches, openings, fixtures, hatch_ids, edited, is_small) -> list[DrawnPart]:
    """The rest first; strips left clear last, over what they are cut from."""
    drawn = []
    on_it = placed([*patches, *openings])
    in_the_way = [*on_it, *placed(fixtures)]
    for number, patch in sorted(enumerate(patches, start=1), key=lambda row: row[1].is_strip):
        if patch.is_rest:
            ring, (x_mm, y_mm, width_mm, height_mm) = surface.ring, (0, 0, surface.length_mm, surface.height_mm)
            mark, leader = (0, 0) if is_small else _clear_spot(surface, in_the_way), None
        elif patch in on_it:
            ring = _ring_of(surface, patch)
            x_mm, y_mm, width_mm, height_mm = patch.x_mm, patch.y_mm, patch.width_mm, patch.height_mm
            mark, leader = _mark_of(paper, surface, patch)
        else:
            continue
        drawn.append(
            DrawnPart(
                mark=str(number),
                name=patch.name,
                x=paper.x(x_mm),
                y=paper.y(y_mm + height_mm),
                width=width_mm,
                height=height_mm,
                mark_x=paper.x(mark[0]),
                mark_y=paper.y(mark[1]),
                points=_points(paper, ring),
                hatch=hatch_ids.get(patch.construction_id, ""),
                stands_out=bool(patch.projection_mm),
                is_strip=patch.is_strip,
                is_edited=patch is edited and not patch.is_rest,
                leader=leader,
            )
        )
    return drawn


def _ring_of(surface: Surface, patch: Patch) -> Ring:
    """The patch's outline; a sloped or stepped edge of the surface cuts it. One that lies outside is drawn whole."""
    shape = patch.outline.shape
    if not is_rectangle(surface.ring):
        within = shape.intersection(Polygon(surface.ring))
        pieces = [piece for piece in getattr(within, "geoms", [within]) if piece.geom_type == "Polygon"]
        inside = patch.x_mm + patch.width_mm <= surface.length_mm and patch.y_mm + patch.height_mm <= surface.height_mm
        if pieces and inside:
            shape = max(pieces, key=lambda piece: piece.area)
    return tuple((round(x), round(y)) for x, y in shape.exterior.coords[:-1])


def _mark_of(paper: Paper, surface: Surface, patch: Patch) -> tuple[tuple[int, int], Line | None]:
    """Where the patch's mark stands: in its middle, or beside a narrow one with a line that leads to it."""
    middle = patch.outline.shape.representative_point()
    x, y = round(middle.x), round(middle.y)
    room = 2.4 * paper.lettering
    if not patch.is_strip or min(patch.width_mm, patch.height_mm) > room:
        return (patch.x_mm + patch.width_mm // 2, patch.y_mm + patch.height_mm // 2), None
    out = round(2.2 * paper.lettering)
    if patch.width_mm < patch.height_mm:
        spot = (x + (out if x < surface.length_mm / 2 else -out), y)
    else:
        spot = (x, y + (out if y < surface.height_mm / 2 else -out))
    return spot, Line(x1=paper.x(x), y1=paper.y(y), x2=paper.x(spot[0]), y2=paper.y(spot[1]))


def _points(paper: Paper, ring: Ring) -> str:
    return " ".join(f"{paper.x(x)},{paper.y(y)}" for x, y in ring)


def _drawn_openings(paper: Paper, openings: Sequence[Opening], edited) -> list[DrawnPart]:
    drawn = []
    for opening, mark in opening_marks(openings):
        if opening not in placed(openings):
            continue
        drawn.append(
            DrawnPart(
                mark=mark,
                name=str(opening),
                x=paper.x(opening.x_mm),
                y=paper.y(opening.y_mm + opening.height_mm),
                width=opening.width_mm,
                height=opening.height_mm,
                mark_x=paper.x(opening.x_mm + opening.width_mm // 2),
                mark_y=paper.y(opening.y_mm + opening.height_mm // 2),
                is_edited=opening is edited,
            )
        )
    return drawn


def opening_marks(openings: Sequence[Opening]) -> list[tuple[Opening, str]]:
    """Each opening with its mark as in a schedule: D1, W1, W2 …"""
    seen: dict[str, int] = {}
    marked = []
    for opening in openings:
        seen[opening.kind] = seen.get(opening.kind, 0) + 1
        marked.append((opening, f"{OPENING_MARKS.get(opening.kind, 'O')}{seen[opening.kind]}"))
    return marked


def _clear_spot(surface: Surface, parts: Sequence[Patch | Opening | Fixture]) -> tuple[int, int]:
    """A point of the rest far from every edge: the best of a grid, for the rest's mark."""
    length_mm, height_mm = surface.length_mm, surface.height_mm
    shape = Polygon(surface.ring)
    x, y = (grid.ravel() for grid in np.meshgrid(length_mm * ACROSS // 24, height_mm * UP // 16))
    clear = np.where(contains_xy(shape, x, y), distance(shape.exterior, points(x, y)), -1)
    for part in parts:
        beside = np.maximum(part.x_mm - x, x - part.x_mm - part.width_mm)
        above = np.maximum(part.y_mm - y, y - part.y_mm - part.height_mm)
        clear = np.minimum(clear, np.maximum(beside, above))
    from_middle = abs(x - length_mm / 2) + abs(y - height_mm / 2)
    best = np.lexsort((from_middle, -clear))[0]
    return int(x[best]), int(y[best])


def _text(
    surface: Surface, patches: Sequence[Patch], openings: Sequence[DrawnPart], fixtures: Sequence[Fixture]
) -> str:
    """The drawing in words."""
    said = [f"{mm(surface.length_mm)} long and {mm(surface.height_mm)} high, seen from inside."]
    if not is_rectangle(surface.ring):
        corners = "; ".join(f"{x:,} from the left and {y:,} up" for x, y in surface.ring)
        said.append(f"Its corners: {corners}.")
    for number, patch in enumerate(patches, start=1):
        where = "what no other patch covers" if patch.is_rest else _where(patch)
        said.append(f"{number}: {patch.name}, {where}.")
    for opening in openings:
        said.append(f"{opening.mark}: {opening.name}, {mm(opening.width)} wide and {mm(opening.height)} high.")
    said += [fixture_text(fixture, mark) for fixture, mark in fixture_marks(fixtures) if fixture.width_mm]
    return " ".join(said)


def _where(patch: Patch) -> str:
    if not (patch.width_mm and patch.height_mm):
        return "not yet measured"
    return (
        f"{mm(patch.width_mm)} wide and {mm(patch.height_mm)} high, {mm(patch.x_mm)} from the left"
        f" and {mm(patch.y_mm)} from the floor"
    )
