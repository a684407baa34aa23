"""The faces to be lined: what each treated patch leaves to board once openings and other patches are taken out."""

from dataclasses import dataclass
from decimal import Decimal

from shapely import Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Opening, Patch, Room, SidePath, Surface
from contractor.rooms.patch_shape import clear_area_mm2, patch_shape
from contractor.rooms.selectors_schemes import why_unfit

Ring = tuple[tuple[int, int], ...]


@dataclass(frozen=True, kw_only=True)
class Face:
    """One flat piece of a surface that gets one build-up. Rings in whole mm from the face's own bottom left corner.

    `sockets_mm` are the holes for boxes as (x, y, width, height), before their clearance.
    `letter` stands in the labels of the pieces; `area_mm2` is net of openings. Side paths that are taken off by
    the metre or by the piece have no outline.
    """

    key: str
    letter: str
    label: str
    room: Room
    choice: Choice
    surface: Surface | None = None
    patch: Patch | None = None
    side_path: SidePath | None = None
    outline_mm: Ring = ()
    openings_mm: tuple[Ring, ...] = ()
    area_mm2: int = 0
    quantity: Decimal = Decimal(0)
    boxes: int = 0
    sockets_mm: tuple[tuple[int, int, int, int], ...] = ()
    at_x_mm: int = 0
    at_y_mm: int = 0
    is_cheek: bool = False
    problem: str | None = None

    @property
    def width_mm(self) -> int:
        return max((x for x, _ in self.outline_mm), default=0)

    @property
    def height_mm(self) -> int:
        return max((y for _, y in self.outline_mm), default=0)

    @property
    def area_m2(self) -> Decimal:
        return Decimal(self.area_mm2) / 1_000_000


@dataclass(frozen=True)
class _Part:
    """A piece of a patch; `at_x_mm` places it from left to right, since a cheek is drawn from its own corner."""

    shape: Polygon
    what: str
    at_x_mm: float
    is_cheek: bool = False


def faces_of(inputs: Inputs) -> list[Face]:
    """Every face of every treated patch, and one for every treated side path, in the order of the survey."""
    faces: list[Face] = []
    for number, room in enumerate(inputs.rooms, start=1):
        prefix = str(number) if len(inputs.rooms) > 1 else ""
        for surface in room.surfaces.all():
            faces += _faces_of_surface(inputs, room, surface, prefix)
        for surface in room.surfaces.all():
            for opening in surface.openings.all():
                if opening.pk in inputs.on_opening:
                    faces.append(_face_of_opening(room, surface, opening, inputs.on_opening[opening.pk]))
        for path in room.side_paths.all():
            choice = inputs.on_side_path.get(path.pk)
            if choice is not None:
                faces.append(_face_of_path(room, path, choice))
    return faces


def net_area_mm2(surface: Surface, patch: Patch) -> int:
    """Area of the patch less the openings in it; the projection of a chimney breast is not counted."""
    if not surface.openings.all() and len(surface.patches.all()) == 1:
        return surface.area_mm2
    return round(clear_area_mm2(surface, patch))


def _faces_of_surface(inputs: Inputs, room: Room, surface: Surface, prefix: str) -> list[Face]:
    treated = [(p, inputs.on_patch[p.pk]) for p in surface.patches.all() if p.pk in inputs.on_patch]
    parts = [(patch, choice, part) for patch, choice in treated for part in _parts(surface, patch)]
    parts.sort(key=lambda row: row[2].at_x_mm)
    boxed = _boxes_by_part(surface, [part for _, _, part in parts])
    numbers: dict[int, int] = {}
    faces = []
    for place, (patch, choice, part) in enumerate(parts):
        numbers[patch.pk] = numbers.get(patch.pk, 0) + 1
        letter = f"{prefix}{surface.letter}{place + 1 if len(parts) > 1 else ''}"
        faces.append(
            _face(
                part,
                surface,
                key=f"p{patch.pk}-{numbers[patch.pk]}",
                letter=letter,
                label=_label(letter, surface, patch, part, len(parts)),
                room=room,
                choice=choice,
                patch=patch,
                boxes=boxed[place],
                problem=_misfit(choice, patch),
            )
        )
    return faces


def _misfit(choice: Choice, patch: Patch) -> str | None:
    """Why the choice cannot be built on the patch as it is surveyed now."""
    why_not = why_unfit(choice.build_up, patch)
    return f"{choice.build_up.name} does not fit: {why_not}. Choose another in the treatment step." if why_not else None


def _label(letter: str, surface: Surface, patch: Patch, part: _Part, parts: int) -> str:
    where = f"{letter} {surface.name}"
    if parts > 1 and not patch.is_rest:
        where += f", {patch.name[:1].lower()}{patch.name[1:]}"
    return f"{where}, {part.what}" if part.what else where


def _parts(surface: Surface, patch: Patch) -> list[_Part]:
    """The connected pieces of a patch from left to right, and the cheeks of one that stands out."""
    shape = patch_shape(surface, patch)
    pieces = sorted(getattr(shape, "geoms", [shape]), key=lambda piece: piece.bounds)
    pieces = [piece for piece in pieces if piece.geom_type == "Polygon" and piece.area >= 1]
    if patch.projection_mm and not patch.is_rest:
        left, bottom, right, top = shape.bounds
        cheek = box(0, 0, patch.projection_mm, top - bottom)
        front = [_Part(piece, "front", piece.bounds[0]) for piece in pieces]
        return [
            _Part(cheek, "left cheek", left - 0.5, is_cheek=True),
            *front,
            _Part(cheek, "right cheek", right - 0.5, is_cheek=True),
        ]
    names = [""] if len(pieces) == 1 else _side_names(len(pieces))
    return [_Part(piece, name, piece.bounds[0]) for piece, name in zip(pieces, names, strict=True)]


def _side_names(count: int) -> list[str]:
    if count == 2:
        return ["left part", "right part"]
    return [f"part {number}" for number in range(1, count + 1)]


def _boxes_by_part(surface: Surface, parts: list[_Part]) -> list[int]:
    """Sockets and switches on each part: where they are placed, or with the largest, where they are only counted."""
    placed = [fixture.outline.shape.centroid for fixture in surface.fixtures.all() if fixture.is_box]
    if placed:
        return [0 if part.is_cheek else sum(part.shape.covers(spot) for spot in placed) for part in parts]
    largest = max(range(len(parts)), key=lambda i: parts[i].shape.area, default=None)
    return [surface.boxes if place == largest else 0 for place in range(len(parts))]


def _face(part: _Part, surface: Surface, **facts) -> Face:
    left, bottom, _, _ = part.shape.bounds
    openings = [] if part.is_cheek else [opening.outline.shape for opening in surface.openings.all()]
    holes = [Polygon(ring) for ring in part.shape.interiors]
    cut = [opening.intersection(Polygon(part.shape.exterior)) for opening in openings]
    rings = holes + [piece for shape in cut for piece in getattr(shape, "geoms", [shape]) if piece.area >= 1]
    net = Polygon(part.shape.exterior).difference(unary_union(rings)) if rings else part.shape
    area_mm2 = round(net.area)
    return Face(
        surface=surface,
        at_x_mm=round(part.at_x_mm),
        at_y_mm=round(bottom) if not part.is_cheek else facts["patch"].y_mm,
        outline_mm=_ring(part.shape, left, bottom),
        openings_mm=tuple(_ring(ring, left, bottom) for ring in rings),
        sockets_mm=() if part.is_cheek else _sockets(surface, part.shape),
        area_mm2=area_mm2,
        quantity=_two(Decimal(area_mm2) / 1_000_000),
        is_cheek=part.is_cheek,
        **facts,
    )


def _sockets(surface: Surface, shape: Polygon) -> tuple[tuple[int, int, int, int], ...]:
    """What is cut out of the boards for boxes and downlights, unless they come off for good; from the part's corner."""
    left, bottom, _, _ = shape.bounds
    return tuple(
        (round(f.x_mm - left), round(f.y_mm - bottom), f.width_mm, f.height_mm)
        for f in surface.fixtures.all()
        if (f.is_box or f.kind == f.Kind.DOWNLIGHT) and f.fate != f.Fate.COMES_OFF and f.outline.shape.intersects(shape)
    )


def _ring(shape: Polygon, left: float, bottom: float) -> Ring:
    corners = list(orient(shape).exterior.coords)[:-1]
    return tuple((round(x - left), round(y - bottom)) for x, y in corners)


def _two(number: Decimal) -> Decimal:
    return number.quantize(Decimal("0.01"))


def _face_of_opening(room: Room, surface: Surface, opening: Opening, choice: Choice) -> Face:
    """A door or window by the piece, by its area or by the metre round it; made to measure, so that nothing is cut."""
    width_mm, height_mm = opening.width_mm, opening.height_mm
    amounts = {
        "m2": Decimal(width_mm * height_mm) / 1_000_000,
        "m": Decimal(2 * (width_mm + height_mm)) / 1000,
    }
    return Face(
        key=f"o{opening.pk}-1",
        letter="",
        label=f"{surface.letter} {opening.get_kind_display().lower()} at {opening.x_mm:,} mm",
        room=room,
        choice=choice,
        quantity=_two(amounts.get(choice.build_up.unit, Decimal(1))),
    )


def _face_of_path(room: Room, path: SidePath, choice: Choice) -> Face:
    quantity, problem = _quantity_of_path(path, choice)
    return Face(
        key=f"s{path.pk}-1",
        letter="",
        label=path.name,
        room=room,
        choice=choice,
        side_path=path,
        quantity=quantity,
        problem=problem,
    )


# How far the casing goes round, by kind of way round. Common practice: two sides of 300 mm for a pipe, three of
# 250 mm for a beam; measured again on site before cutting.
GIRTH_MM = {SidePath.Kind.PIPE: 600, SidePath.Kind.BEAM: 750, SidePath.Kind.VOID: 600, SidePath.Kind.ROOF_VOID: 600}


LEAK_WIDTH_MM = 2  # of a gap known by its area, as the survey form says


def _quantity_of_path(path: SidePath, choice: Choice) -> tuple[Decimal, str | None]:
    unit = choice.build_up.unit
    if unit == "each":
        return Decimal(1), None
    if path.kind == SidePath.Kind.LEAK and path.open_area_mm2 and not path.length_mm:
        return _two(Decimal(path.open_area_mm2) / LEAK_WIDTH_MM / 1000), None
    if not path.length_mm:
        return Decimal(0), f"Give “{path.name}” its length in the survey; {choice.build_up.name} is taken off by it."
    length_m = Decimal(path.length_mm) / 1000
    if unit == "m":
        return _two(length_m), None
    girth_mm = GIRTH_MM.get(path.kind)
    if girth_mm is None:
        return Decimal(0), f"{choice.build_up.name} is taken off by area, and “{path.name}” has none. Choose another."
    return _two(length_m * girth_mm / 1000), None
