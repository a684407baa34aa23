"""Drawings for whoever cuts and fixes boards: the elevation of a layer, and a sheet with its cuts in order.

Works on the JSON of a take-off. A drawing is made for the box it will be shown in (CSS pixels on a phone, millimetres
on paper), so that lettering and lines come out at a known size there. Drawn by templates/drawings/boards.svg and
cuts.svg, which only place what is worked out here.
"""

from dataclasses import dataclass

from contractor.common.box_marks import box_dimensions, box_holes
from contractor.common.cut_marks import Mark, cut_marks, ends_of
from contractor.common.drawing import Dimension, Line, Paper, across, lettering_width, upward
from contractor.common.geometry import Box, Outline, box_round, largest_box, spans_at

LINE_HEIGHT = 1.25  # of the lettering: a line of text with its air
MOST_IN_CHAIN = 9  # pieces along the bottom whose widths are still written out


@dataclass(frozen=True, kw_only=True)
class Label:
    """One line of lettering about its middle; `turn` in degrees."""

    text: str
    x: int
    y: int
    size: int
    turn: int = 0


@dataclass(frozen=True, kw_only=True)
class Shape:
    """A piece or opening: its corners, its labels, the clear ground under them (corner to corner), the holes in it,
    those for sockets and switches apart, and the cross of an opening."""

    points: str
    labels: tuple[Label, ...]
    ground: Line
    holes: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()
    crossing: tuple[Line, ...] = ()
    is_ours: bool = True


@dataclass(frozen=True, kw_only=True)
class Cut:
    """One straight cut of a sheet, from edge to edge of the part in hand; from the sheet's bottom left."""

    number: int
    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int

    @property
    def is_upright(self) -> bool:
        return self.x1_mm == self.x2_mm

    @property
    def text(self) -> str:
        length_mm = abs(self.x2_mm - self.x1_mm) + abs(self.y2_mm - self.y1_mm)
        where = f"{self.x1_mm:,} mm from the left" if self.is_upright else f"{self.y1_mm:,} mm up"
        return f"{where}, {length_mm:,} mm long"


@dataclass(frozen=True, kw_only=True)
class BoardDrawing:
    key: str
    title: str
    text: str
    paper: Paper
    outline: str
    pieces: tuple[Shape, ...]
    openings: tuple[Shape, ...] = ()
    supports: tuple[Line, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    cuts: tuple[Cut, ...] = ()
    cut_marks: tuple[Mark, ...] = ()


def boards_drawing(
    face: dict, layer: dict, *, box: tuple[float, float] = (358, 480), lettering: float = 13, key: str = ""
) -> BoardDrawing | None:
    """Elevation of one board layer of a face, seen from inside the room; None where the face has no outline.

    `box` is the width and height it will be shown in and `lettering` the size its text shall have there, in one unit.
    """
    if not face["outline_mm"]:
        return None
    round_face = box_round(face["outline_mm"])
    row = sorted(_bottom_row(layer["pieces"]), key=lambda b: b.x_mm)
    has_chain = 1 < len(row) <= MOST_IN_CHAIN
    paper = _paper(round_face, box, lettering, (2.2, 0.6, 0.6, 4.4 if has_chain else 2.4))
    place = _Place(paper, round_face)
    dimensions = [
        across(paper, 0, paper.width_mm, row=3.6 if has_chain else 1.7),
        upward(paper, 0, paper.height_mm, row=-0.9),
    ]
    if has_chain:
        dimensions += [_width(b, paper, round_face) for b in row]
    dimensions += box_dimensions(layer["pieces"], paper, round_face)
    return BoardDrawing(
        key=key or f"{face['key']}-{layer['order']}",
        title=f"{face['label']}: {layer['description']}",
        text=_layout_words(face, layer, round_face),
        paper=paper,
        outline=place.points(face["outline_mm"]),
        pieces=tuple(_piece(piece, place) for piece in layer["pieces"]),
        openings=tuple(_opening(opening, place) for opening in face["openings_mm"]),
        supports=tuple(_supports(layer.get("supports"), [face["outline_mm"], *face["openings_mm"]], place)),
        dimensions=tuple(dimensions),
    )


def sheet_drawing(
    sheet: dict,
    *,
    ours: set[str] | None = None,
    box: tuple[float, float] = (165, 320),
    lettering: float = 12,
    key: str = "",
) -> BoardDrawing:
    """One sheet of a take-off, the pieces placed on it and its cuts numbered in order; what is left over is hatched.

    `ours` names the labels that belong to the page; the others are drawn darker. None makes all of them ours.
    """
    whole = Box(x_mm=0, y_mm=0, width_mm=sheet["width_mm"], height_mm=sheet["height_mm"])
    cuts = [
        Cut(number=i, x1_mm=x1, y1_mm=y1, x2_mm=x2, y2_mm=y2) for i, (x1, y1, x2, y2) in enumerate(sheet["cuts"], 1)
    ]
    ends = ends_of(cuts, whole.width_mm, whole.height_mm)
    place = _Place(_paper(whole, box, lettering, ends.rows), whole)
    boxes = [
        Box(x_mm=p["x_mm"], y_mm=p["y_mm"], width_mm=p["width_mm"], height_mm=p["height_mm"]) for p in sheet["placed"]
    ]
    pieces, words = [], []
    for placed, b in zip(sheet["placed"], boxes, strict=True):
        labels = _fitted([placed["label"], _size(b.width_mm, b.height_mm)], b, place)
        is_ours = ours is None or placed["label"] in ours
        pieces.append(Shape(points=place.points(_corners(b)), labels=labels, ground=_ground(labels), is_ours=is_ours))
        words.append(f"{placed['label']}, {b.width_mm:,} by {b.height_mm:,} mm.")
    grounds = [(s.ground.x1, s.ground.y1, s.ground.x2, s.ground.y2) for s in pieces]
    marks = cut_marks(cuts, ends, place.at, whole.width_mm, whole.height_mm, place.paper.lettering, grounds)
    words += [f"Cut {cut.number}: {cut.text}." for cut in cuts]
    return BoardDrawing(
        key=key or f"sheet-{sheet['number']}",
        title=f"Sheet {sheet['number']}, {_size(whole.width_mm, whole.height_mm)} mm",
        text=" ".join(words),
        paper=place.paper,
        outline=place.points(_corners(whole)),
        pieces=tuple(pieces),
        cuts=tuple(cuts),
        cut_marks=marks,
    )


class _Place:
    """Turns surface millimetres (y up) into the drawing's (y down)."""

    def __init__(self, paper: Paper, subject: Box):
        self.paper, self.subject = paper, subject

    def at(self, x_mm: float, y_mm: float) -> tuple[int, int]:
        return self.paper.x(round(x_mm) - self.subject.x_mm), self.paper.y(round(y_mm) - self.subject.y_mm)

    def points(self, outline: Outline) -> str:
        return " ".join("{},{}".format(*self.at(x, y)) for x, y in outline)

    def line(self, x1: float, y1: float, x2: float, y2: float) -> Line:
        (a, b), (c, d) = self.at(x1, y1), self.at(x2, y2)
        return Line(x1=a, y1=b, x2=c, y2=d)


def _paper(subject: Box, box: tuple[float, float], lettering: float, rows: tuple[float, ...]) -> Paper:
    """Paper round the subject with margins of `rows` (left, right, top, bottom) heights of lettering."""
    left, right, top, bottom = rows
    scale = max(
        subject.width_mm / (box[0] - (left + right) * lettering),
        subject.height_mm / (box[1] - (top + bottom) * lettering),
    )
    size = max(round(lettering * scale), 8)
    return Paper(
        width_mm=subject.width_mm,
        height_mm=subject.height_mm,
        lettering=size,
        left=round(left * size),
        right=round(right * size),
        top=round(top * size),
        bottom=round(bottom * size),
    )


def _size(width_mm: int, height_mm: int) -> str:
    return f"{width_mm:,} × {height_mm:,}"


def _corners(b: Box) -> Outline:
    return [[b.x_mm, b.y_mm], [b.right_mm, b.y_mm], [b.right_mm, b.top_mm], [b.x_mm, b.top_mm]]


def _piece(piece: dict, place: _Place) -> Shape:
    room = largest_box(piece["outline_mm"])
    labels = _fitted([piece["label"], _size(piece["width_mm"], piece["height_mm"])], room, place)
    holes = tuple(place.points(hole) for hole in piece.get("cutouts_mm", []))
    boxes = tuple(place.points(_corners(b)) for b in box_holes(piece))
    return Shape(
        points=place.points(piece["outline_mm"]), labels=labels, ground=_ground(labels), holes=holes, boxes=boxes
    )


def _opening(outline: Outline, place: _Place) -> Shape:
    b = box_round(outline)
    labels = _fitted(["Opening", _size(b.width_mm, b.height_mm)], b, place)
    return Shape(
        points=place.points(outline),
        labels=labels,
        ground=_ground(labels),
        crossing=(
            place.line(b.x_mm, b.y_mm, b.right_mm, b.top_mm),
            place.line(b.x_mm, b.top_mm, b.right_mm, b.y_mm),
        ),
    )


def _fitted(lines: list[str], room: Box, place: _Place) -> tuple[Label, ...]:
    """The lines in the middle of `room`: level, or turned where that fits better, and smaller if they must be.

    All lines but the first are left out before any is made smaller.
    """
    size = place.paper.lettering

    def share(texts: list[str], along: int, over: int) -> float:
        longest = max(lettering_width(text, size) for text in texts)
        return min(along * 0.92 / longest, over * 0.92 / (len(texts) * LINE_HEIGHT * size), 1.0)

    level, turned = share(lines, room.width_mm, room.height_mm), share(lines, room.height_mm, room.width_mm)
    if max(level, turned) < 1:
        lines = lines[:1]
        level, turned = share(lines, room.width_mm, room.height_mm), share(lines, room.height_mm, room.width_mm)
    is_turned = turned > level * 1.05
    x, y = place.at(room.x_mm + room.width_mm / 2, room.y_mm + room.height_mm / 2)
    written = max(round(size * max(level, turned)), 1)
    labels = []
    for i, text in enumerate(lines):
        shift = round((i - (len(lines) - 1) / 2) * LINE_HEIGHT * written)
        at_x, at_y = (x + shift, y) if is_turned else (x, y + shift)
        labels.append(Label(text=text, x=at_x, y=at_y, size=written, turn=-90 if is_turned else 0))
    return tuple(labels)


def _ground(labels: tuple[Label, ...]) -> Line:
    """The ground under the labels, so that supports do not run through them."""
    reach = []
    for label in labels:
        along, over = lettering_width(label.text, label.size) / 2, label.size * 0.6
        wide, tall = (over, along) if label.turn else (along, over)
        reach.append((label.x - wide, label.y - tall, label.x + wide, label.y + tall))
    return Line(
        x1=round(min(r[0] for r in reach)),
        y1=round(min(r[1] for r in reach)),
        x2=round(max(r[2] for r in reach)),
        y2=round(max(r[3] for r in reach)),
    )


def _supports(supports: dict | None, outlines: list[Outline], place: _Place) -> list[Line]:
    """Where supports run behind the boards, kept to the face and out of its openings."""
    if not supports:
        return []
    is_upright = supports["direction"] == "vertical"
    face = place.subject
    start, extent = (face.x_mm, face.width_mm) if is_upright else (face.y_mm, face.height_mm)
    lines = []
    for at in range(supports["first_mm"], extent + 1, supports["spacing_mm"]):
        where = start + min(at, extent - 1)  # on the far edge there is no inside
        if is_upright:
            lines += [place.line(where, low, where, high) for low, high in spans_at(outlines, x_mm=where)]
        else:
            lines += [place.line(low, where, high, where) for low, high in spans_at(outlines, y_mm=where)]
    return lines


def _bottom_row(pieces: list[dict]) -> list[Box]:
    boxes = [box_round(piece["outline_mm"]) for piece in pieces]
    lowest_mm = min((b.y_mm for b in boxes), default=0)
    return [b for b in boxes if b.y_mm - lowest_mm < 60]


def _width(b: Box, paper: Paper, face: Box) -> Dimension:
    """The width of a piece below the face; under its line where it is too narrow for its own figure."""
    fits = lettering_width(f"{b.width_mm:,}", paper.lettering) < b.width_mm
    return across(paper, b.x_mm - face.x_mm, b.right_mm - face.x_mm, row=1.5, text_row=0 if fits else 1)


def _layout_words(face: dict, layer: dict, round_face: Box) -> str:
    """The drawing in words, for who cannot see it."""
    words = [f"Seen from inside the room, {round_face.width_mm:,} mm wide and {round_face.height_mm:,} mm high."]
    if face["openings_mm"]:
        words.append(f"Openings left out: {len(face['openings_mm'])}.")
    for piece in layer["pieces"]:
        b = box_round(piece["outline_mm"])
        words.append(
            f"{piece['label']}, {piece['width_mm']:,} by {piece['height_mm']:,} mm, starts "
            f"{b.x_mm - round_face.x_mm:,} mm from the left and {b.y_mm - round_face.y_mm:,} mm up."
        )
        words += [
            f"In it a box, {c['width_mm']:,} by {c['height_mm']:,} mm, {c['from_left_mm']:,} from its left and "
            f"{c['above_floor_mm']:,} above the floor."
            for c in piece.get("box_cuts", [])
        ]
    if layer.get("supports"):
        direction = "upright" if layer["supports"]["direction"] == "vertical" else "across"
        words.append(f"Supports {direction}, every {layer['supports']['spacing_mm']:,} mm.")
    return " ".join(words)
