"""Lays boards on the faces, cuts all of them from common sheets, and tells sheets and pieces as plain records."""

from dataclasses import asdict, dataclass, field, replace
from decimal import Decimal
from hashlib import sha256

from acoustics import ENGINE_VERSION
from acoustics.errors import InputError
from acoustics.takeoff import Board, BoardPiece, BoardRules, CutSheet, Layout, StoredOffcut, Supports, lay_job
from acoustics.takeoff import Surface as BoardedSurface
from contractor.catalogue.models import BuildUpLayer, Material
from contractor.offcuts.models import Offcut
from contractor.rooms.inputs import DOCUMENT
from contractor.rooms.models import Surface
from contractor.rooms.takeoff.boards.kept import Laid, found_again
from contractor.rooms.takeoff.faces import Face
from contractor.rooms.takeoff.surfaces.bridge import (
    FLOOR_GAP_MM,
    WALL_GAP_MM,
    board_layers,
    boarded,
    is_wall,
    plain,
    supports_of,
)

STAGGER_MM = 600
FREE_JOINT_MM = 300  # a handy grid for joints that no support binds
OFFCUT_MM, CEILING_OFFCUT_MM = 300, 400  # the short side of an offcut worth using, common practice
WALL_PIECE_MM, CEILING_PIECE_MM = 150, 200  # the narrowest piece or course, common practice


@dataclass(kw_only=True)
class Boarding:
    """Boards laid on all faces: sheets and pieces as JSON records, by face and board layer; and what went wrong.

    `sheet_counts` are whole new sheets by material, `least_counts` what no layout can go below; `stored_m2` is the
    area of the pieces that come from stored offcuts.
    """

    sheets: list[dict] = field(default_factory=list)
    pieces: dict[tuple[str, int], list[dict]] = field(default_factory=dict)
    area_by_face: dict[tuple[str, str], Decimal] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    sheet_counts: dict[str, int] = field(default_factory=dict)
    stored_m2: dict[str, Decimal] = field(default_factory=dict)
    least_counts: dict[str, int] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
    laid: Laid | None = None
    notices: list[tuple[str, str]] = field(default_factory=list)


def board_for(layer: BuildUpLayer, height_mm: int, stock: list[Material]) -> Material:
    """The shortest sheet of the same kind, thickness, mass and width that is tall enough; else the one named."""
    named = layer.material
    family = [m for m in stock if m.form == Material.Form.SHEET and _alike(m, named) and m.width_mm == named.width_mm]
    tall_enough = sorted((m for m in family if m.length_mm >= height_mm), key=lambda m: (m.length_mm, m.pk))
    return tall_enough[0] if tall_enough else named


def _alike(one: Material, other: Material) -> bool:
    """Same goods in another length."""
    same = all(getattr(one, name) == getattr(other, name) for name in ("kind", "thickness_mm", "mass_kg_m2"))
    return one.pk == other.pk or (same and one.density_kg_m3 == other.density_kg_m3 and one.price is not None)


def lay_faces(
    faces: list[Face],
    stock: list[Material],
    offcuts: list[Offcut],
    seconds: float,
    codes: dict[int, str],
    before: list[Laid],
) -> Boarding:
    """Lay every face's boards in `seconds`, cutting all from common sheets and from the stored offcuts first.

    A face that cannot be laid is left out and told. `codes` are the rooms' by id, for the labels of what is left over.
    A layout of the same faces among those laid `before` is used again; a new one is added to them.
    """
    done = Boarding()
    chosen: dict[str, tuple[Material, ...]] = {}
    wanted: list[Face] = []
    for face in faces:
        layers = board_layers(face)
        if layers and face.outline_mm:
            upright_mm = face.height_mm - WALL_GAP_MM - FLOOR_GAP_MM if is_wall(face) else 0
            chosen[face.key] = tuple(board_for(layer, upright_mm, stock) for layer in layers)
            wanted.append(face)
    stored = _stored(offcuts, {board for boards in chosen.values() for board in boards})
    while wanted:
        surfaces = [_to_lay(face, chosen[face.key]) for face in wanted]
        mark = _mark(wanted, surfaces, stored, chosen, codes)
        laid = found_again(mark, seconds, before)
        try:
            laid = laid or _records(
                mark, seconds, lay_job(surfaces, offcuts=stored, seconds=seconds), wanted, chosen, codes
            )
        except InputError as error:
            at_fault = _at_fault(error, wanted)
            done.problems[at_fault.key] = plain(error, at_fault)
            wanted.remove(at_fault)
            continue
        before.append(laid)
        _take(laid, wanted, chosen, done)
        break
    return done


def _mark(wanted: list[Face], surfaces: list[BoardedSurface], stored: list[StoredOffcut], chosen: dict, codes) -> str:
    """Hash of all that a layout and its records are made from."""
    places = [(face.key, face.at_y_mm, codes[face.room.pk]) for face in wanted]
    names = [[(board.key, board.name) for board in chosen[face.key]] for face in wanted]
    return sha256(repr((ENGINE_VERSION, DOCUMENT, places, names, surfaces, stored)).encode()).hexdigest()


def _stored(offcuts: list[Offcut], boards: set[Material]) -> list[StoredOffcut]:
    """Offcuts of the same board in any length, under the name that the layout gives it."""
    return [
        StoredOffcut(label=o.label, board=board.key, width_mm=o.width_mm, height_mm=o.length_mm)
        for o in offcuts
        if o.width_mm
        for board in sorted((b for b in boards if _alike(b, o.material)), key=lambda b: b.pk)[:1]
    ]


def _orientation(face: Face, boards: tuple[Material, ...]) -> str:
    """Ceilings and floors go across their supports. On a wall the treatment says whether boards stand or lie, unless
    the build-up lays one layer each way."""
    if not is_wall(face):
        return "across"
    if len({layer.direction for layer in board_layers(face) if layer.direction}) > 1:
        return "auto"
    if _has_free_joints(face, boards):
        return "upright"
    supports_run = (supports_of(face) or {"direction": "vertical"})["direction"]
    return "upright" if face.choice.boards_run == supports_run else "across"


def _has_free_joints(face: Face, boards: tuple[Material, ...]) -> bool:
    """Upright boards tall enough for the wall cross every bar, so their joints need not fall on any of them."""
    set_out = supports_of(face)
    bars = set_out is not None and set_out["direction"] == "horizontal"
    shortest_mm = min(max(board.length_mm, board.width_mm) for board in boards)
    return bars and face.choice.boards_run == "vertical" and face.height_mm <= shortest_mm


def _stagger_mm(face: Face) -> int:
    """Joints of neighbouring layers keep one support apart: 600, on a ceiling the spacing of its bars."""
    set_out = supports_of(face)
    return min(STAGGER_MM, set_out["spacing_mm"]) if set_out and not is_wall(face) else STAGGER_MM


def _to_lay(face: Face, materials: tuple[Material, ...]) -> BoardedSurface:
    stagger_mm = _stagger_mm(face)
    is_overhead = face.surface is not None and face.surface.face == Surface.Face.CEILING
    rules = BoardRules(
        orientation=_orientation(face, materials),
        stagger_mm=stagger_mm,
        course_stagger_mm=stagger_mm,
        keep_short_mm=CEILING_OFFCUT_MM if is_overhead else OFFCUT_MM,
        min_width_mm=CEILING_PIECE_MM if is_overhead else WALL_PIECE_MM,
    )
    surface = replace(boarded(face, tuple(_board(material) for material in materials)), rules=rules)
    if _has_free_joints(face, materials):
        is_narrow = face.width_mm < 2 * min(board.width_mm for board in materials)  # 600 would leave it few joints
        return replace(surface, supports=Supports(spacing_mm=FREE_JOINT_MM if is_narrow else STAGGER_MM))
    return surface


def _board(material: Material) -> Board:
    short, long = sorted((material.width_mm, material.length_mm))
    return Board(
        name=material.key,
        width_mm=short,
        height_mm=long,
        mass_kg_m2=float(material.mass_kg_m2 or 0),
        thickness_mm=float(material.thickness_mm or 0),
    )


def _at_fault(error: InputError, group: list[Face]) -> Face:
    for index, face in enumerate(group):
        if error.field.startswith(f"surfaces[{index}]") or face.label in error.message:
            return face
    return group[0]


def _records(mark: str, seconds: float, layout: Layout, faces: list[Face], chosen: dict, codes: dict[int, str]) -> Laid:
    """A layout as records: its sheets, and its pieces by face and layer."""
    by_label = {face.label: face for face in faces}
    names = {m.key: m.name for boards in chosen.values() for m in boards}
    rooms = {piece.label: by_label[laid.surface].room.pk for laid in layout.layers for piece in laid.pieces}
    sheets = [
        sheet_record(cut, cut.board, names[cut.board], codes[rooms[cut.placed[0].label]]) for cut in layout.sheets
    ]
    pieces = {}
    for laid in layout.layers:
        face = by_label[laid.surface]
        pieces[face.key, laid.layer] = [piece_record(piece, face.at_y_mm) for piece in laid.pieces]
    notices = [(by_label[n.surface].key if n.surface in by_label else "", n.text) for n in layout.notices]
    least = dict(layout.lower_bounds)
    return Laid(mark=mark, seconds=seconds, sheets=sheets, pieces=pieces, least=least, notices=notices)


def _take(laid: Laid, faces: list[Face], chosen: dict, done: Boarding) -> None:
    """Put a layout into the boarding."""
    done.laid = laid
    done.materials = {m.key: m for boards in chosen.values() for m in boards}
    done.sheets, done.pieces, done.notices = laid.sheets, laid.pieces, laid.notices
    done.sheet_counts, done.least_counts = laid.counts, laid.least
    boards = {(face.key, n): board.key for face in faces for n, board in enumerate(chosen[face.key], start=1)}
    for (face_key, number), pieces in laid.pieces.items():
        key = (face_key, boards[face_key, number])
        area = sum((Decimal(p["width_mm"] * p["height_mm"]) for p in pieces), Decimal(0)) / 1_000_000
        done.area_by_face[key] = done.area_by_face.get(key, Decimal(0)) + area
    for sheet in (sheet for sheet in laid.sheets if sheet["from_offcut"]):
        area = sum((Decimal(p["width_mm"] * p["height_mm"]) for p in sheet["placed"]), Decimal(0)) / 1_000_000
        done.stored_m2[sheet["material_key"]] = done.stored_m2.get(sheet["material_key"], Decimal(0)) + area


def sheet_record(cut: CutSheet, material_key: str, material: str, code: str) -> dict:
    """A sheet, or the stored offcut that stands in for one. What is left of it is labelled room, sheet, number."""
    return {
        "number": cut.number,
        "material_key": material_key,
        "material": material,
        "width_mm": cut.width_mm,
        "height_mm": cut.height_mm,
        "from_offcut": cut.from_offcut,
        "is_cut_out": cut.cut_out,
        "placed": [_placed(part) for part in cut.placed],
        "offcuts": [
            _placed(part) | {"label": f"{code}-{cut.number}-{n}", "keep": part.keep}
            for n, part in enumerate(cut.offcuts, start=1)
        ],
        "cuts": [[c.x1_mm, c.y1_mm, c.x2_mm, c.y2_mm] for c in sorted(cut.cuts, key=lambda c: c.order)],
    }


def _placed(part) -> dict:
    return {
        "label": part.label,
        "x_mm": part.x_mm,
        "y_mm": part.y_mm,
        "width_mm": part.width_mm,
        "height_mm": part.height_mm,
    }


def piece_record(piece: BoardPiece, above_floor_mm: int) -> dict:
    """A piece as the pages and the pack keep it; its face begins `above_floor_mm` from the finished floor."""
    return {
        "label": piece.label,
        "width_mm": piece.width_mm,
        "height_mm": piece.height_mm,
        "outline_mm": [list(p) for p in piece.outline_mm],
        "cutouts_mm": [[list(p) for p in ring] for ring in piece.cutouts_mm],
        "sheet": piece.sheet,
        "x_in_sheet_mm": piece.x_in_sheet_mm,
        "y_in_sheet_mm": piece.y_in_sheet_mm,
        "turned": piece.turned,
        "mass_kg": f"{piece.mass_kg:.1f}",
        "lift_people": piece.lift_people,
        "box_cuts": [asdict(cut) | {"above_floor_mm": cut.above_floor_mm + above_floor_mm} for cut in piece.box_cuts],
        "note": _shape_note(piece),
    }


def _shape_note(piece) -> str:
    """Where a piece is not a plain rectangle: its corners from its own bottom left, and its holes."""
    notes = []
    if piece.shape_offsets:
        corners = ", ".join(f"{x} across {y} up" for x, y in piece.shape_offsets)
        notes.append(f"Cut to shape, corners from its bottom left: {corners}.")
    for ring in piece.cutout_offsets:
        xs, ys = [x for x, _ in ring], [y for _, y in ring]
        notes.append(
            f"Hole {max(xs) - min(xs)} × {max(ys) - min(ys)}, {min(xs)} from its left and {min(ys)} from its bottom."
        )
    return " ".join(notes)
