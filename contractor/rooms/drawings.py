"""The elevation of a surface, with its patches, openings and dimensions, as numbers for templates/drawings/."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from contractor.catalogue.models import Construction
from contractor.common.drawing import Dimension, Paper, across, chain, paper_for, upward
from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Opening, Patch, Surface

LETTERS_ACROSS = 22
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
    stands_out: bool = False
    is_edited: bool = False

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
    edited: Surface | Patch | Opening | None = None,
    marked_field: str = "",
    is_small: bool = False,
) -> Elevation:
    """The surface as seen from inside the room.

    `patches` and `openings` may be unsaved, and may reach outside: they are drawn where they were typed. The dimension
    behind `marked_field` of `edited` is marked.
    """
    paper = paper_for(
        width_mm=surface.length_mm,
        height_mm=surface.height_mm,
        letters_across=LETTERS_ACROSS_SMALL if is_small else LETTERS_ACROSS,
        rows=(0.5, 0.5, 0.5, 0.5) if is_small else (2.4, 0.6, 0.6, 0.6),
    )
    uid = f"{'small' if is_small else 'elevation'}-{surface.pk or 'new'}"
    dimensions: list[Dimension] = []
    if not is_small:
        paper, dimensions = _dimensions(paper, surface, _placed([*patches, *openings]), edited, marked_field)
    hatches, hatch_ids = _hatches(uid, patches)
    drawn_openings = _drawn_openings(paper, openings, edited)
    return Elevation(
        uid=uid,
        title=f"Elevation of {surface.letter} {surface.name}",
        text=_text(surface, patches, drawn_openings),
        paper=paper,
        hatches=hatches,
        patches=_drawn_patches(paper, surface, patches, openings, hatch_ids, edited),
        openings=drawn_openings,
        dimensions=dimensions,
        is_small=is_small,
    )


def _placed(parts: Sequence[Patch | Opening]) -> list[Patch | Opening]:
    """Those whose place is known: not the rest, and not what is only half typed."""
    return [p for p in parts if not getattr(p, "is_rest", False) and p.x_mm is not None and p.width_mm and p.height_mm]


def _dimensions(paper, surface, parts, edited, marked_field) -> tuple[Paper, list[Dimension]]:
    """Overall sizes below and on the left; chains of edges between them and the object. With the margins they need."""
    marks = {}
    if edited in parts:
        parts, marks = [edited], _marks(edited)
    across_mm = _edges(surface.length_mm, [(p.x_mm, p.x_mm + p.width_mm) for p in parts])
    up_mm = _edges(surface.height_mm, [(p.y_mm, p.y_mm + p.height_mm) for p in parts])
    # What is typed too large is shown reaching out, up to a third of the surface.
    past_end_mm = min(across_mm[-1] - surface.length_mm, surface.length_mm // 3)
    past_top_mm = min(up_mm[-1] - surface.height_mm, surface.height_mm // 3)
    paper = replace(paper, top=paper.top + past_top_mm)

    below, row = _chained(paper, across_mm, 1.7, is_upright=False, marked=marks.get(marked_field))
    whole_length = edited is surface and marked_field == "length_mm"
    below.append(across(paper, 0, surface.length_mm, row=row, marked=whole_length))

    beside_row = 1.8 + past_end_mm / paper.lettering
    beside, end = _chained(paper, up_mm, beside_row, is_upright=True, marked=marks.get(marked_field))
    whole_height = edited is surface and marked_field == "height_mm"
    beside.append(upward(paper, 0, surface.height_mm, row=-1.0, marked=whole_height))
    right = end - 1.0 if end > beside_row else 0.6 + past_end_mm / paper.lettering
    spare = paper.right - round(0.6 * paper.lettering)
    margins = {"bottom": round((row + 0.7) * paper.lettering), "right": round(right * paper.lettering) + spare}
    return replace(paper, **margins), below + beside


def _edges(whole_mm: int, spans: Sequence[tuple[int, int]]) -> list[int]:
    """The edges in order, to the end of the surface or, where a part reaches past it, to the end of that part."""
    edges = {0, *(edge for span in spans for edge in span)}
    return sorted(edges if max(edges) > whole_mm else edges | {whole_mm})


def _chained(
    paper: Paper, edges_mm: list[int], row: float, *, is_upright: bool, marked
) -> tuple[list[Dimension], float]:
    """The chain over the edges, and the next free row; nothing when it would only repeat the whole."""
    if len(edges_mm) == 2:
        return [], row
    dimensions, rows = chain(paper, edges_mm, row=row, is_upright=is_upright, marked=marked)
    return dimensions, row + 1.6 + 1.05 * rows


def _marks(part: Patch | Opening) -> dict[str, tuple[int, int]]:
    return {
        "x_mm": (0, part.x_mm),
        "width_mm": (part.x_mm, part.x_mm + part.width_mm),
        "y_mm": (0, part.y_mm),
        "height_mm": (part.y_mm, part.y_mm + part.height_mm),
    }


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


def _drawn_patches(paper, surface, patches, openings, hatch_ids, edited) -> list[DrawnPart]:
    drawn = []
    placed = _placed([*patches, *openings])
    for number, patch in enumerate(patches, start=1):
        if patch.is_rest:
            x_mm, y_mm, width_mm, height_mm = 0, 0, surface.length_mm, surface.height_mm
            mark_x, mark_y = _clear_spot(surface, placed)
        elif patch in placed:
            x_mm, y_mm, width_mm, height_mm = patch.x_mm, patch.y_mm, patch.width_mm, patch.height_mm
            mark_x, mark_y = x_mm + width_mm // 2, y_mm + height_mm // 2
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
                mark_x=paper.x(mark_x),
                mark_y=paper.y(mark_y),
                hatch=hatch_ids.get(patch.construction_id, ""),
                stands_out=bool(patch.projection_mm),
                is_edited=patch is edited and not patch.is_rest,
            )
        )
    return drawn


def _drawn_openings(paper: Paper, openings: Sequence[Opening], edited) -> list[DrawnPart]:
    drawn = []
    placed = _placed(openings)
    for opening, mark in opening_marks(openings):
        if opening not in placed:
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


def _clear_spot(surface: Surface, parts: Sequence[Patch | Opening]) -> tuple[int, int]:
    """A point of the rest far from every edge: the best of a grid, for the rest's mark."""

    def clearance(x: int, y: int) -> int:
        gaps = [x, surface.length_mm - x, y, surface.height_mm - y]
        for part in parts:
            beside = max(part.x_mm - x, x - part.x_mm - part.width_mm)
            above = max(part.y_mm - y, y - part.y_mm - part.height_mm)
            gaps.append(max(beside, above))
        return min(gaps)

    spots = [(surface.length_mm * i // 24, surface.height_mm * j // 16) for i in range(1, 24) for j in range(1, 16)]
    middle = (surface.length_mm / 2, surface.height_mm / 2)
    return max(spots, key=lambda s: (clearance(*s), -abs(s[0] - middle[0]) - abs(s[1] - middle[1])))


def _text(surface: Surface, patches: Sequence[Patch], openings: Sequence[DrawnPart]) -> str:
    """The drawing in words."""
    said = [f"{mm(surface.length_mm)} long and {mm(surface.height_mm)} high, seen from inside."]
    for number, patch in enumerate(patches, start=1):
        where = "what no other patch covers" if patch.is_rest else _where(patch)
        said.append(f"{number}: {patch.name}, {where}.")
    for opening in openings:
        said.append(f"{opening.mark}: {opening.name}, {mm(opening.width)} wide and {mm(opening.height)} high.")
    return " ".join(said)


def _where(patch: Patch) -> str:
    if not (patch.width_mm and patch.height_mm):
        return "not yet measured"
    return (
        f"{mm(patch.width_mm)} wide and {mm(patch.height_mm)} high, {mm(patch.x_mm)} from the left"
        f" and {mm(patch.y_mm)} from the floor"
    )
