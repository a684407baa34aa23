"""Dimensions of an elevation: overall sizes below and beside it, chains over the edges of what is on it."""

from collections.abc import Sequence
from dataclasses import replace

from contractor.common.drawing import Dimension, Line, Paper, across, chain, upward
from contractor.rooms.models import Fixture, Opening, Patch, Surface
from contractor.rooms.rings import Ring, height_at

Placed = Patch | Opening | Fixture
TAPE_MM = 5  # corners nearer than a tape reads, which a closed walk leaves, are one on the drawing


def placed(parts: Sequence[Placed]) -> list[Placed]:
    """Those whose place is known: not the rest, and not what is only half typed."""
    return [p for p in parts if not getattr(p, "is_rest", False) and p.x_mm is not None and p.width_mm and p.height_mm]


def dimensions_of(
    paper: Paper, surface: Surface, parts: Sequence[Placed], edited, marked_field: str
) -> tuple[Paper, list[Dimension]]:
    """The dimensions, with the margins they need. Of one part that is edited only its own chain is drawn."""
    marks = {}
    if edited in parts:
        parts, marks = [edited], _marks(edited)
    # Fixtures have their sizes in their list; a strip along a slope has none that a chain could show.
    parts = [p for p in parts if (not isinstance(p, Fixture) or p is edited) and not getattr(p, "outline_mm", None)]
    ring = _steadied(surface.ring, surface.length_mm)
    corners = [] if marks else [x for x, _ in ring]
    across_mm = _edges(surface.length_mm, [*corners, *(e for p in parts for e in (p.x_mm, p.x_mm + p.width_mm))])
    up_mm = _edges(surface.height_mm, [e for p in parts for e in (p.y_mm, p.y_mm + p.height_mm)])
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
    (left, right), inner = _heights(ring, surface.length_mm)
    beside.append(upward(paper, *left, row=-1.0, marked=whole_height))
    if right != left:
        row_right = end if end > beside_row else beside_row
        beside.append(upward(paper, *right, row=row_right))
        end = row_right + 1.6
    right_margin = end - 1.0 if end > beside_row else 0.6 + past_end_mm / paper.lettering
    spare = paper.right - round(0.6 * paper.lettering)
    margins = {
        "bottom": round((row + 0.7) * paper.lettering),
        "right": round(right_margin * paper.lettering) + spare,
    }
    paper = replace(paper, **margins)
    return paper, below + beside + [_inside(paper, x_mm, low, high) for x_mm, low, high in inner]


def _steadied(ring: Ring, length_mm: int) -> Ring:
    """The ring for lettering: a corner that is off another's line by less than TAPE_MM stands on it."""
    xs, ys = [0, length_mm], [0]
    steadied = []
    for x, y in ring:
        steadied.append((_near(x, xs), _near(y, ys)))
    return tuple(steadied)


def _near(value_mm: int, known_mm: list[int]) -> int:
    """The one of those met before that lies within TAPE_MM, else the value itself, met from now on."""
    for known in known_mm:
        if abs(known - value_mm) < TAPE_MM:
            return known
    known_mm.append(value_mm)
    return value_mm


def _heights(ring: Ring, length_mm: int) -> tuple[tuple, list[tuple[int, int, int]]]:
    """From where to where the left and the right end reach, and the same at corners in between."""
    if len(ring) == 4 and all(y in (0, ring[2][1]) for _, y in ring):
        whole = (0, ring[2][1])
        return (whole, whole), []
    ends = []
    for x_mm in (0, length_mm):
        ys = [y for x, y in ring if x == x_mm] or [0, round(height_at(ring, x_mm))]
        ends.append((min(ys), max(ys)))
    inner = sorted({x for x, y in ring if 0 < x < length_mm and y > 0})
    tall = max(y for _, y in ring)
    return tuple(ends), [(x, 0, max(y for at, y in ring if at == x)) for x in inner if tall]


def _inside(paper: Paper, x_mm: int, low_mm: int, high_mm: int) -> Dimension:
    """A height measured somewhere along the wall."""
    x, y1, y2 = paper.x(x_mm), paper.y(low_mm), paper.y(high_mm)
    reach = round(0.28 * paper.lettering)
    return Dimension(
        line=Line(x1=x, y1=y1, x2=x, y2=y2),
        ticks=tuple(Line(x1=x - reach, y1=y + reach, x2=x + reach, y2=y - reach) for y in (y1, y2)),
        leads=(),
        label=f"{high_mm - low_mm:,}",
        label_x=x - round(0.3 * paper.lettering),
        label_y=(y1 + y2) // 2,
        is_upright=True,
    )


def _edges(whole_mm: int, edges: Sequence[int]) -> list[int]:
    """The edges in order, to the end of the surface or, where a part reaches past it, to the end of that part."""
    found = {0, *edges}
    return sorted(found if max(found) > whole_mm else found | {whole_mm})


def _chained(
    paper: Paper, edges_mm: list[int], row: float, *, is_upright: bool, marked
) -> tuple[list[Dimension], float]:
    """The chain over the edges, and the next free row; nothing when it would only repeat the whole."""
    if len(edges_mm) == 2:
        return [], row
    dimensions, rows = chain(paper, edges_mm, row=row, is_upright=is_upright, marked=marked)
    return dimensions, row + 1.6 + 1.05 * rows


def _marks(part: Placed) -> dict[str, tuple[int, int]]:
    return {
        "x_mm": (0, part.x_mm),
        "width_mm": (part.x_mm, part.x_mm + part.width_mm),
        "y_mm": (0, part.y_mm),
        "height_mm": (part.y_mm, part.y_mm + part.height_mm),
    }
