"""Lays boards on the faces, cuts all of them from common sheets, and tells sheets and pieces as plain records."""

from dataclasses import dataclass, field, replace
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff import Board, BoardRules, Layout, SheetPiece, SheetStock, Supports, cut_sheets, lay_job
from acoustics.takeoff import Surface as BoardedSurface
from contractor.catalogue.models import BuildUpLayer, Material
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

SECONDS_A_FACE, SECONDS_IN_ALL, SECONDS_TO_POOL = 0.4, 3.0, 0.5
STAGGER_MM = 600


@dataclass(kw_only=True)
class Boarding:
    """Boards laid on all faces: sheets and pieces as JSON records, by face and board layer; and what went wrong."""

    sheets: list[dict] = field(default_factory=list)
    pieces: dict[tuple[str, int], list[dict]] = field(default_factory=dict)
    area_by_face: dict[tuple[str, str], Decimal] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    sheet_counts: dict[str, int] = field(default_factory=dict)
    problems: dict[str, str] = field(default_factory=dict)
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


def lay_faces(faces: list[Face], stock: list[Material]) -> Boarding:
    """Lay every face's boards, cutting all from common sheets. A face that cannot be laid is left out and told."""
    done = Boarding()
    chosen: dict[str, tuple[Material, ...]] = {}
    wanted: list[Face] = []
    for face in faces:
        layers = board_layers(face)
        if layers and face.outline_mm:
            upright_mm = face.height_mm - WALL_GAP_MM - FLOOR_GAP_MM if is_wall(face) else 0
            chosen[face.key] = tuple(board_for(layer, upright_mm, stock) for layer in layers)
            wanted.append(face)
    groups: dict[tuple[str, int], list[Face]] = {}
    for face in wanted:
        groups.setdefault((_orientation(face, chosen[face.key]), _stagger_mm(face)), []).append(face)
    for (orientation, stagger_mm), group in groups.items():
        rules = BoardRules(orientation=orientation, stagger_mm=stagger_mm, course_stagger_mm=stagger_mm)
        _lay_group(group, chosen, rules, done)
    if len(groups) > 1:
        _pool(done)
    return done


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


def _lay_group(group: list[Face], chosen: dict, rules: BoardRules, done: Boarding) -> None:
    group = list(group)
    while group:
        surfaces = [_to_lay(face, chosen[face.key]) for face in group]
        seconds = min(SECONDS_A_FACE * len(group), SECONDS_IN_ALL)
        try:
            layout = lay_job(surfaces, rules=rules, seconds=seconds)
        except InputError as error:
            at_fault = _at_fault(error, group)
            done.problems[at_fault.key] = plain(error, at_fault)
            group.remove(at_fault)
            continue
        _take(layout, group, chosen, done)
        return


def _to_lay(face: Face, materials: tuple[Material, ...]) -> BoardedSurface:
    surface = boarded(face, tuple(_board(material) for material in materials))
    if _has_free_joints(face, materials):
        return replace(surface, supports=Supports(spacing_mm=STAGGER_MM))
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


def _take(layout: Layout, group: list[Face], chosen: dict, done: Boarding) -> None:
    """Add a layout to the boarding: its sheets numbered on, its pieces by face and layer."""
    first = len(done.sheets)
    by_label = {face.label: face for face in group}
    materials = {m.key: m for boards in chosen.values() for m in boards}
    done.materials |= materials
    done.sheets += [sheet_record(cut, cut.board, materials[cut.board].name, first) for cut in layout.sheets]
    for board, count in layout.counts.items():
        done.sheet_counts[board] = done.sheet_counts.get(board, 0) + count
    for laid in layout.layers:
        face = by_label[laid.surface]
        done.pieces[face.key, laid.layer] = [piece_record(piece, first) for piece in laid.pieces]
        key = (face.key, laid.board)
        area = sum((Decimal(p.width_mm * p.height_mm) for p in laid.pieces), Decimal(0)) / 1_000_000
        done.area_by_face[key] = done.area_by_face.get(key, Decimal(0)) + area
    for notice in layout.notices:
        face = by_label.get(notice.surface)
        done.notices.append((face.key if face else "", notice.text))


def sheet_record(cut, material_key: str, material: str, first: int) -> dict:
    return {
        "number": first + cut.number,
        "material_key": material_key,
        "material": material,
        "width_mm": cut.width_mm,
        "height_mm": cut.height_mm,
        "placed": [_placed(part) for part in cut.placed],
        "offcuts": [_placed(part) | {"keep": part.keep} for part in cut.offcuts],
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


def piece_record(piece, first_sheet: int) -> dict:
    return {
        "label": piece.label,
        "width_mm": piece.width_mm,
        "height_mm": piece.height_mm,
        "outline_mm": [list(p) for p in piece.outline_mm],
        "cutouts_mm": [[list(p) for p in ring] for ring in piece.cutouts_mm],
        "sheet": first_sheet + piece.sheet,
        "x_in_sheet_mm": piece.x_in_sheet_mm,
        "y_in_sheet_mm": piece.y_in_sheet_mm,
        "turned": piece.turned,
        "mass_kg": f"{piece.mass_kg:.1f}",
        "lift_people": piece.lift_people,
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


def _pool(done: Boarding) -> None:
    """Cut the pieces of all groups of faces from common sheets of each board where that saves one."""
    for key in list(done.sheet_counts):
        own = [sheet for sheet in done.sheets if sheet["material_key"] == key]
        pooled = _repacked(own)
        if pooled is not None:
            done.sheets = [sheet for sheet in done.sheets if sheet["material_key"] != key] + pooled
            done.sheet_counts[key] = len(pooled)
    done.sheets.sort(key=lambda sheet: sheet["material_key"])
    spots = {}
    for number, sheet in enumerate(done.sheets, start=1):
        sheet["number"] = number
        spots |= {part["label"]: (number, part) for part in sheet["placed"]}
    for piece in (piece for pieces in done.pieces.values() for piece in pieces):
        number, part = spots[piece["label"]]
        piece["sheet"], piece["x_in_sheet_mm"], piece["y_in_sheet_mm"] = number, part["x_mm"], part["y_mm"]
        piece["turned"] = (part["width_mm"], part["height_mm"]) != (piece["width_mm"], piece["height_mm"])


def _repacked(sheets: list[dict]) -> list[dict] | None:
    """The same pieces on fewer sheets, each kept the way round that it lay to the sheet's long side; or None."""
    short, long = sorted((sheets[0]["width_mm"], sheets[0]["height_mm"]))
    pieces = []
    for sheet in sheets:
        lies = sheet["width_mm"] > sheet["height_mm"]
        for part in sheet["placed"]:
            wide, high = (part[name] for name in ("width_mm", "height_mm"))
            wide, high = (high, wide) if lies else (wide, high)
            pieces.append(SheetPiece(label=part["label"], width_mm=wide, height_mm=high, may_turn=False))
    area = sum(piece.width_mm * piece.height_mm for piece in pieces)
    if -(-area // (short * long)) >= len(sheets):
        return None
    plan = cut_sheets([SheetStock(width_mm=short, height_mm=long)], pieces, seconds=SECONDS_TO_POOL)
    if plan.count >= len(sheets):
        return None
    return [sheet_record(cut, sheets[0]["material_key"], sheets[0]["material"], 0) for cut in plan.sheets]
