"""The layered section of a construction or a build-up, in numbers: templates/drawings/section.svg only places them.

A section is cut across the layers, far side on the left, room on the right, to scale. Its unit is a tenth of a
millimetre, whole. Thin layers are told apart by numbered balloons, which are spread so that none covers another.
"""

from dataclasses import dataclass, field, replace

from contractor.catalogue.models import BuildUp, BuildUpLayer, Connection, Construction, Material

UNIT = 10  # to the millimetre
LETTERS_ACROSS = 30  # heights of lettering in the width of the sheet
OLD_WALL_MM = 24  # what is shown of the surface that a build-up stands on
SQUEEZED_MM = 5  # fill that stands out by less is pressed in
HATCH_BY_KIND = {
    Material.Kind.BOARD: "board",
    Material.Kind.PLASTER: "board",
    Material.Kind.TIMBER_SHEET: "timber",
    Material.Kind.JOINERY: "timber",
    Material.Kind.GLAZING: "glass",
    Material.Kind.MEMBRANE: "solid",
    Material.Kind.DAMPING: "solid",
    Material.Kind.RESILIENT: "solid",
    Material.Kind.ISOLATION: "solid",
}
HATCH_BY_FABRIC = {
    "floorboards": "timber",
    "found-chipboard": "timber",
    "softwood": "timber",
    "door-core": "timber",
    "hardboard": "timber",
    "glass": "glass",
}
TIMBER_CONNECTIONS = {Connection.TIMBER_STUD, Connection.JOIST, Connection.STAGGERED, Connection.SEPARATE}
TIMBER_BELOW_KG_M3 = 1000
OLD_FACE_HATCH = {BuildUp.Surface.CEILING: "timber", BuildUp.Surface.FLOOR: "timber"}


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
class _Piece:
    """One layer as the drawing needs it. `member` is a stud, bar or joist in the middle of its cavity."""

    number: int | None
    thickness_mm: float
    hatch: str
    fill_mm: float = 0
    fill_number: int | None = None
    member: str = ""
    member_depth_mm: float = 0


def section_of_construction(construction: Construction) -> Section:
    """Needs `layers__material` loaded."""
    layers = list(construction.layers.all())
    pieces = [_found_piece(number, layer) for number, layer in enumerate(layers, start=1)]
    words = [_lowered(construction_layer_words(layer)) for layer in layers]
    return _drawn(
        Section(
            title=f"Section through {_lowered(construction.name)}",
            text=f"From the far side to the room: {'; '.join(words)}.",
            depth_mm=sum(piece.thickness_mm for piece in pieces),
        ),
        pieces,
    )


def section_of_build_up(build_up: BuildUp) -> Section | None:
    """The layers that take up depth, on what stands already. None where a build-up has none. Needs `layers__material`."""
    layers = list(build_up.layers.all())
    pieces = _built_pieces(layers)
    if not pieces:
        return None
    shown = [layer for layer in layers if _takes_place(layer)]
    old = _Piece(number=None, thickness_mm=OLD_WALL_MM, hatch=OLD_FACE_HATCH.get(build_up.surface, "masonry"))
    words = [f"{layer.order} {_lowered(layer.description)}, {_mm(layer.thickness_mm)}" for layer in shown]
    section = Section(
        title=f"Section through {_lowered(build_up.name)}",
        text=f"From what stands already to the room: {'; '.join(words)}.",
        depth_mm=sum(piece.thickness_mm for piece in pieces),
        left_label="As found",
    )
    return _drawn(section, [old, *pieces], leaves_out_first=True)


def construction_layer_words(layer) -> str:
    """One layer of a construction in a few words."""
    if not layer.is_cavity:
        return f"{layer.material.name}, {_mm(layer.thickness_mm)}"
    words = f"Cavity, {_mm(layer.thickness_mm)}"
    if layer.material:
        words += f", {_mm(layer.fill_thickness_mm or layer.thickness_mm)} of {_lowered(layer.material.name)}"
    if layer.connection != Connection.NONE:
        words += f", {_lowered(layer.get_connection_display())}"
        if layer.spacing_mm:
            words += f" at {_mm(layer.spacing_mm)}"
    return words


def hatch_of(material: Material) -> str:
    """The usual drawing convention for a material: masonry, board, timber, insulation, glass, solid or steel."""
    if material.is_masonry:
        return "masonry"
    if material.flow_resistivity_pa_s_m2:
        return "insulation"
    return HATCH_BY_FABRIC.get(material.key) or HATCH_BY_KIND.get(material.kind, "board")


def _found_piece(number: int, layer) -> _Piece:
    thickness_mm = float(layer.thickness_mm)
    if not layer.is_cavity:
        return _Piece(number=number, thickness_mm=thickness_mm, hatch=hatch_of(layer.material))
    member = ""
    if layer.connection == Connection.TIE:
        member = "tie"
    elif layer.connection != Connection.NONE:
        member = "timber" if layer.connection in TIMBER_CONNECTIONS else _light_steel(layer.connection)
    fill_mm = float(layer.fill_thickness_mm or layer.thickness_mm) if layer.material else 0
    return _Piece(
        number=number,
        thickness_mm=thickness_mm,
        hatch="",
        fill_mm=min(fill_mm, thickness_mm),
        member=member,
        member_depth_mm=thickness_mm,
    )


def _light_steel(connection: str) -> str:
    profiles = {Connection.RESILIENT_BAR: "bar", Connection.CLIP: "clip", Connection.HANGER: "clip"}
    return profiles.get(connection, "stud")


def _takes_place(layer: BuildUpLayer) -> bool:
    is_loose_fill = layer.role == BuildUpLayer.Role.FILL and layer.thickness_mm > 0 and not layer.in_existing_cavity
    return (layer.counts_in_depth and layer.thickness_mm > 0) or is_loose_fill


def _built_pieces(layers: list[BuildUpLayer]) -> list[_Piece]:
    """Layers with depth; fill that takes up none of its own lies in the gap before the first board."""
    pieces = [_built_piece(layer) for layer in layers if layer.counts_in_depth and layer.thickness_mm > 0]
    loose = [x for x in layers if _takes_place(x) and not x.counts_in_depth]
    gaps = [place for place, piece in enumerate(pieces) if not piece.hatch]
    if loose and gaps:
        spare_mm = float(loose[0].thickness_mm)
        for place in reversed(gaps):
            taken_mm = min(spare_mm, pieces[place].thickness_mm)
            spare_mm -= taken_mm
            if taken_mm > SQUEEZED_MM:
                number = loose[0].order if place == gaps[-1] else None
                pieces[place] = _with_fill(pieces[place], taken_mm, number)
    return pieces


def _with_fill(piece: _Piece, fill_mm: float, number: int | None) -> _Piece:
    return replace(piece, fill_mm=fill_mm, fill_number=number)


def _built_piece(layer: BuildUpLayer) -> _Piece:
    role, thickness_mm = layer.role, float(layer.thickness_mm)
    Role = BuildUpLayer.Role
    if role == Role.SUPPORT:
        density = layer.material.density_kg_m3 if layer.material else None
        member = "timber" if density and density < TIMBER_BELOW_KG_M3 else _light_steel(layer.connection)
        if layer.connection == Connection.PAD:
            member = "pad"
        return _Piece(
            number=layer.order, thickness_mm=thickness_mm, hatch="", member=member, member_depth_mm=thickness_mm
        )
    if role == Role.TRIM:
        return _Piece(
            number=layer.order, thickness_mm=thickness_mm, hatch="", member="pad", member_depth_mm=thickness_mm
        )
    if role == Role.AIR or layer.material is None:
        return _Piece(number=layer.order, thickness_mm=thickness_mm, hatch="")
    return _Piece(number=layer.order, thickness_mm=thickness_mm, hatch=hatch_of(layer.material))


# Placing


def _drawn(section: Section, pieces: list[_Piece], *, leaves_out_first: bool = False) -> Section:
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


def _place(section: Section, piece: _Piece, x: int, width: int, body: int) -> None:
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


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]


def _mm(value) -> str:
    return f"{float(value):g} mm"
