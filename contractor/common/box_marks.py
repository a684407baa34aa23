"""The holes for sockets and switches on the drawing of a board layer, with the two lengths each is marked out by."""

from contractor.common.drawing import Dimension, Line, Paper, lettering_width
from contractor.common.geometry import Box, box_round

APART = 1.5  # heights of lettering between the dimensions of neighbouring holes
MOST_MEASURED = 8  # more of them are only drawn; the list says where they are


def box_holes(piece: dict) -> list[Box]:
    """The holes in a piece, on the surface."""
    corner = box_round(piece["outline_mm"])
    return [
        Box(
            x_mm=corner.x_mm + cut["from_left_mm"],
            y_mm=corner.y_mm + cut["from_bottom_mm"],
            width_mm=cut["width_mm"],
            height_mm=cut["height_mm"],
        )
        for cut in piece.get("box_cuts", [])
    ]


def box_dimensions(pieces: list[dict], paper: Paper, face: Box) -> list[Dimension]:
    """From the piece's left edge to each hole, one above the other, and from the finished floor up to it.

    A box that a joint runs through is cut out of both pieces: its height is told once, and no length of nothing.
    """
    apart_mm = round(APART * paper.lettering)
    across_face = [
        (cut, hole, box_round(piece["outline_mm"]).x_mm - face.x_mm)
        for piece in pieces
        for cut, hole in zip(piece.get("box_cuts", []), box_holes(piece), strict=True)
    ]
    found: list[Dimension] = []
    rows: list[tuple[float, float, int]] = []
    uprights: list[tuple[int, int]] = []
    for cut, hole, left_mm in sorted(across_face, key=lambda each: each[1].x_mm)[:MOST_MEASURED]:
        x_mm, top_mm = hole.x_mm - face.x_mm, hole.y_mm - face.y_mm + hole.height_mm
        if cut["from_left_mm"]:
            half = max(lettering_width(f"{cut['from_left_mm']:,}", paper.lettering), x_mm - left_mm) / 2
            middle = (left_mm + x_mm) / 2
            row_mm = top_mm
            while any(
                abs(row_mm - row) < apart_mm and middle - half < end and start < middle + half
                for start, end, row in rows
            ):
                row_mm += apart_mm
            rows.append((middle - half, middle + half, row_mm))
            found.append(_level(paper, left_mm, x_mm, top_mm, row_mm, cut["from_left_mm"]))
        middle_mm, above_mm = x_mm + hole.width_mm // 2, cut["above_floor_mm"]
        if not any(abs(middle_mm - other) < apart_mm and above_mm == height for other, height in uprights):
            uprights.append((middle_mm, above_mm))
            found.append(_upright(paper, middle_mm, hole.y_mm - face.y_mm, above_mm))
    return found


def _level(paper: Paper, from_mm: int, to_mm: int, top_mm: int, row_mm: int, length_mm: int) -> Dimension:
    x1, x2, y = paper.x(from_mm), paper.x(to_mm), paper.y(row_mm)
    return Dimension(
        line=Line(x1=x1, y1=y, x2=x2, y2=y),
        ticks=tuple(_tick(paper, x, y) for x in (x1, x2)),
        leads=(Line(x1=x2, y1=paper.y(top_mm), x2=x2, y2=y),) if row_mm > top_mm else (),
        label=f"{length_mm:,}",
        label_x=(x1 + x2) // 2,
        label_y=y - round(0.3 * paper.lettering),
        is_upright=False,
    )


def _upright(paper: Paper, x_mm: int, to_mm: int, length_mm: int) -> Dimension:
    x, y1, y2 = paper.x(x_mm), paper.y(0), paper.y(to_mm)
    return Dimension(
        line=Line(x1=x, y1=y1, x2=x, y2=y2),
        ticks=tuple(_tick(paper, x, y) for y in (y1, y2)),
        leads=(),
        label=f"{length_mm:,}",
        label_x=x - round(0.3 * paper.lettering),
        label_y=(y1 + y2) // 2,
        is_upright=True,
    )


def _tick(paper: Paper, x: int, y: int) -> Line:
    reach = round(0.28 * paper.lettering)
    return Line(x1=x - reach, y1=y + reach, x2=x + reach, y2=y - reach)
