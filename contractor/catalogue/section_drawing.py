"""Placing the pieces of a section on its sheet: boxes, hatches, balloons and the dimension below.

A drawing's unit is a tenth of a millimetre, whole. Thin layers are told apart by numbered balloons, which are spread
so that none covers another.
"""

from dataclasses import dataclass, field

UNIT = 10  # to the millimetre
LETTERS_ACROSS = 30  # heights of lettering in the width of the sheet


@dataclass(frozen=True, kw_only=True)
class Box:
    """A piece of the section, in drawing units. `path` holds the loops of insulation; other hatches are patterns."""

    x: int
    y: int
    width: int
    height: int
    hatch: str = ""
    path: str = ""


@dataclass(frozen=True, kw_only=True)
class Balloon:
    number: int
    x: int
    from_x: int
    from_y: int


@dataclass(kw_only=True)
class Section:
    title: str
    text: str
    depth_mm: float
    lettering: int = 0
    width: int = 0
    height: int = 0
    top: int = 0
    bottom: int = 0
    boxes: list[Box] = field(default_factory=list)
    outlines: list[Box] = field(default_factory=list)
    balloons: list[Balloon] = field(default_factory=list)
    dimension: tuple[int, int] = (0, 0)
    left_label: str = "Far side"
    right_label: str = "Room"

    @property
    def unit(self) -> dict[str, int]:
        """Lettering sizes and line weights that the template places."""
        g = self.lettering
        return {
            "thin": max(1, g // 16),
            "outline": max(2, g // 9),
            "cut": max(3, g // 6),
            "balloon": round(0.72 * g),
            "balloon_y": round(1.1 * g),
            "small": round(0.8 * g),
            "tick": round(0.3 * g),
            "dimension_y": self.bottom + round(1.9 * g),
            "dimension_text_y": self.bottom + round(1.55 * g),
            "label_y": self.bottom + round(3.3 * g),
            "lead_end": self.bottom + round(2.2 * g),
            "lead_start": self.bottom + round(0.3 * g),
            "middle_x": sum(self.dimension) // 2,
            "tick_up": self.bottom + round(1.6 * g),
            "tick_down": self.bottom + round(2.2 * g),
        }

    @property
    def ticks(self) -> list[tuple[int, int]]:
        """From and to x of the oblique ticks."""
        return [(x - self.unit["tick"], x + self.unit["tick"]) for x in self.dimension]


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One layer as the drawing needs it. `member` is a stud, bar or joist in the middle of its cavity."""

    number: int | None
    thickness_mm: float
    hatch: str
    fill_mm: float = 0
    fill_number: int | None = None
    member: str = ""
    member_depth_mm: float = 0


def drawn(section: Section, pieces: list[Piece], *, leaves_out_first: bool = False) -> Section:
    """Fill in the drawing of `section`; `leaves_out_first` keeps the first piece out of the dimension."""
    total = sum(round(piece.thickness_mm * UNIT) for piece in pieces)
    g = section.lettering = max(12, round(total / (LETTERS_ACROSS - 8)))
    shown = sum((piece.number is not None) + (piece.fill_number is not None) for piece in pieces)
    needed = round(shown * 1.9 * g)
    margin = max(3 * g, (needed - total) // 2 + g)
    section.width = total + 2 * margin
    section.top, body = round(3.4 * g), round(9.5 * g)
    section.bottom = section.top + body
    section.height = section.bottom + 4 * g
    x = margin
    centres = []
    for piece in pieces:
        width = round(piece.thickness_mm * UNIT)
        _place(section, piece, x, width, body)
        if piece.number is not None:
            centres.append((piece.number, x + (width // 4 if piece.fill_number else width // 2)))
        if piece.fill_number:
            centres.append((piece.fill_number, x + 3 * width // 4))
        x += width
    start = margin + (round(pieces[0].thickness_mm * UNIT) if leaves_out_first else 0)
    section.dimension = (start, x)
    section.balloons = _spread(centres, section.top, apart=round(1.75 * g), low=g, high=section.width - g)
    return section


def _place(section: Section, piece: Piece, x: int, width: int, body: int) -> None:
    box = Box(x=x, y=section.top, width=width, height=body, hatch=piece.hatch)
    section.outlines.append(box)
    if piece.hatch == "insulation":
        section.boxes.append(_wool(x, section.top, width, body))
    elif piece.hatch:
        section.boxes.append(box)
    if piece.fill_mm:
        fill = round(piece.fill_mm * UNIT)
        section.boxes.append(_wool(x + width - fill, section.top, fill, body))
    if piece.member:
        section.boxes.append(_member(piece.member, x, width, section.top + body // 2, body))


def _wool(x: int, y: int, width: int, height: int) -> Box:
    """Loops from face to face, the usual sign for insulation: cubic curves that just touch both faces."""
    turns = max(4, round(height / max(0.22 * width, height / 18)))
    step, middle = height / turns, x + width // 2
    reach, lap = round(width * 2 / 3), 0.5 * step
    path = [f"M{middle} {y}"]
    for turn in range(turns):
        start, end = y + turn * step, y + (turn + 1) * step
        side = middle + (reach if turn % 2 == 0 else -reach)
        path.append(
            f"C{side} {max(y, round(start - lap))} {side} {min(y + height, round(end + lap))} {middle} {round(end)}"
        )
    return Box(x=x, y=y, width=width, height=height, hatch="insulation", path=" ".join(path))


def _member(kind: str, x: int, width: int, middle_y: int, body: int) -> Box:
    """What crosses a cavity, once, in the middle of the drawing. Light steel is drawn as a line along its profile."""
    tall = {"tie": body // 40, "pad": body // 6, "timber": body // 4}.get(kind, body // 5)
    y = middle_y - tall // 2
    low, end = y + tall, x + width
    path = {
        "stud": f"M{end} {low}V{y}H{x}V{low}",
        "bar": f"M{x} {low}V{y + 2 * tall // 3}L{end} {y + tall // 3}V{y}",
        "clip": f"M{x} {low}V{y + tall // 2}H{end - width // 3}M{end} {y}H{end - width // 3}V{low}H{end}",
    }.get(kind, "")
    return Box(x=x, y=y, width=width, height=tall, hatch="profile" if path else kind, path=path)


def _spread(centres: list[tuple[int, int]], top: int, *, apart: int, low: int, high: int) -> list[Balloon]:
    """Balloons over their layers, pushed apart from left to right and then back from the right edge."""
    places = []
    for _, centre in centres:
        places.append(max(centre, low if not places else places[-1] + apart))
    limit = high
    for index in range(len(places) - 1, -1, -1):
        places[index] = min(places[index], limit)
        limit = places[index] - apart
    drift = (sum(places) - sum(centre for _, centre in centres)) // max(1, len(places))
    room = min(places[0] - low, drift) if places and drift > 0 else 0
    return [
        Balloon(number=number, x=place - room, from_x=centre, from_y=top)
        for (number, centre), place in zip(centres, places, strict=True)
    ]
