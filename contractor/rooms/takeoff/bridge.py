"""Turns faces into the engine's surfaces and its boards, cuts and counts into plain records."""

import math
from dataclasses import dataclass, field, replace
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff.counts import perimeter_runs, sealant_tubes
from acoustics.takeoff.fixings import check_screw
from acoustics.takeoff.layout import lay_job
from acoustics.takeoff.lengths import LengthPiece, LengthStock, cut_lengths
from acoustics.takeoff.model import Board, BoardRules, Gaps, Layout, Supports
from acoustics.takeoff.model import Surface as BoardedSurface
from acoustics.takeoff.rolls import batts_between, roll_drops
from acoustics.takeoff.supports import BARS, STUDS, supports_across
from contractor.catalogue.models import BuildUpLayer, Material
from contractor.rooms.models import Surface
from contractor.rooms.takeoff.faces import Face

Role = BuildUpLayer.Role
SECONDS_A_FACE, SECONDS_IN_ALL = 0.4, 3.0
# Common practice: 5 mm of sealant at sides, head and openings, 10 at a floor; decks keep their edge strip's 8.
WALL_GAP_MM, FLOOR_GAP_MM, DECK_GAP_MM = 5, 10, 8
FREE_JOINT_MM = 300  # a floating deck has no supports; its joints may fall anywhere, kept to a handy grid
BAR_INSET_MM = 50  # first and last bar from floor and ceiling, common practice 50 to 75
SPANNING_DEPTH_MM = 48
STUD_FACE_MM = 48
STAGGER_MM = 600


class CannotTakeOff(ValueError):
    """A face that cannot be set out, laid or cut; the message names the surface and what to change."""


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


def board_layers(face: Face) -> list[BuildUpLayer]:
    """The layers of the face's build-up that are laid out as sheets, in order."""
    return [
        layer
        for layer in face.choice.build_up.layers.all()
        if layer.role == Role.BOARD and layer.material and layer.material.form == Material.Form.SHEET
    ]


def support_layer(face: Face) -> BuildUpLayer | None:
    """What the boards are fixed to: the last support of the build-up that has a spacing."""
    found = [x for x in face.choice.build_up.layers.all() if x.role == Role.SUPPORT and x.spacing_mm]
    lengths = [x for x in found if x.material and x.material.form == Material.Form.LENGTH]
    return (lengths or found or [None])[-1]


def supports_of(face: Face) -> dict | None:
    """Spacing, first support and direction, as the drawings and the layout use them."""
    layer = support_layer(face)
    return _spacing_of(face, layer) if layer is not None else None


def _spacing_of(face: Face, layer: BuildUpLayer) -> dict:
    """Studs stand from the left edge; bars start a hand's breadth off; joists span the short way."""
    direction = layer.direction or "vertical"
    if _spans(layer) and face.surface is not None and not _is_wall(face):
        direction = "vertical" if face.height_mm < face.width_mm else "horizontal"
    is_bar = direction == "horizontal" and not _spans(layer)
    return {"spacing_mm": layer.spacing_mm, "first_mm": BAR_INSET_MM if is_bar else 0, "direction": direction}


def _spans(layer: BuildUpLayer) -> bool:
    """A stud or joist deep enough to carry by itself is never lapped; bars and channels are."""
    return layer.thickness_mm >= SPANNING_DEPTH_MM


def boarded(face: Face, boards: tuple[Board, ...] = (), support: BuildUpLayer | None = None) -> BoardedSurface:
    """The engine's surface for a face, on its boards' supports or on `support`. Its name is the face's label."""
    kind = face.surface.face if face.surface else Surface.Face.WALL
    set_out = _spacing_of(face, support) if support is not None else supports_of(face)
    supports = Supports(**set_out) if set_out else Supports(spacing_mm=FREE_JOINT_MM)
    side = DECK_GAP_MM if kind == Surface.Face.FLOOR else WALL_GAP_MM
    at_floor = kind == Surface.Face.WALL and face.at_y_mm == 0
    return BoardedSurface(
        name=face.label,
        outline_mm=face.outline_mm,
        openings_mm=face.openings_mm,
        supports=supports,
        layers=max(len(boards), 1),
        gaps_mm=Gaps(sides_mm=side, top_mm=side, bottom_mm=FLOOR_GAP_MM if at_floor else side, openings_mm=WALL_GAP_MM),
        boards=boards,
        letter=face.letter,
    )


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
            upright_mm = face.height_mm - WALL_GAP_MM - FLOOR_GAP_MM if _is_wall(face) else 0
            chosen[face.key] = tuple(board_for(layer, upright_mm, stock) for layer in layers)
            wanted.append(face)
    groups: dict[tuple[str, int], list[Face]] = {}
    for face in wanted:
        groups.setdefault((_orientation(face, chosen[face.key]), _stagger_mm(face)), []).append(face)
    for (orientation, stagger_mm), group in groups.items():
        rules = BoardRules(orientation=orientation, stagger_mm=stagger_mm, course_stagger_mm=stagger_mm)
        _lay_group(group, chosen, rules, done)
    return done


def _orientation(face: Face, boards: tuple[Material, ...]) -> str:
    """Ceilings and floors go across their supports. On a wall the treatment says whether boards stand or lie, unless
    the build-up lays one layer each way."""
    if not _is_wall(face):
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
    return min(STAGGER_MM, set_out["spacing_mm"]) if set_out and not _is_wall(face) else STAGGER_MM


def _is_wall(face: Face) -> bool:
    return face.surface is not None and face.surface.face == Surface.Face.WALL


def _lay_group(group: list[Face], chosen: dict, rules: BoardRules, done: Boarding) -> None:
    group = list(group)
    while group:
        surfaces = [_to_lay(face, chosen[face.key]) for face in group]
        seconds = min(SECONDS_A_FACE * len(group), SECONDS_IN_ALL)
        try:
            layout = lay_job(surfaces, rules=rules, seconds=seconds)
        except InputError as error:
            at_fault = _at_fault(error, group)
            done.problems[at_fault.key] = _plain(error, at_fault)
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


def _plain(error: InputError, face: Face) -> str:
    return error.message if face.label in error.message else f"{face.label}: {error.message}"


def _take(layout: Layout, group: list[Face], chosen: dict, done: Boarding) -> None:
    """Add a layout to the boarding: its sheets numbered on, its pieces by face and layer."""
    first = len(done.sheets)
    by_label = {face.label: face for face in group}
    materials = {m.key: m for boards in chosen.values() for m in boards}
    done.materials |= materials
    for cut in layout.sheets:
        done.sheets.append(
            {
                "number": first + cut.number,
                "material_key": cut.board,
                "material": materials[cut.board].name,
                "width_mm": cut.width_mm,
                "height_mm": cut.height_mm,
                "placed": [_placed(part) for part in cut.placed],
                "offcuts": [_placed(part) | {"keep": part.keep} for part in cut.offcuts],
                "cuts": [[c.x1_mm, c.y1_mm, c.x2_mm, c.y2_mm] for c in sorted(cut.cuts, key=lambda c: c.order)],
            }
        )
    for board, count in layout.counts.items():
        done.sheet_counts[board] = done.sheet_counts.get(board, 0) + count
    for laid in layout.layers:
        face = by_label[laid.surface]
        done.pieces[face.key, laid.layer] = [_piece(piece, first) for piece in laid.pieces]
        key = (face.key, laid.board)
        area = sum((Decimal(p.width_mm * p.height_mm) for p in laid.pieces), Decimal(0)) / 1_000_000
        done.area_by_face[key] = done.area_by_face.get(key, Decimal(0)) + area
    for notice in layout.notices:
        face = by_label.get(notice.surface)
        done.notices.append((face.key if face else "", notice.text))


def _placed(part) -> dict:
    return {
        "label": part.label,
        "x_mm": part.x_mm,
        "y_mm": part.y_mm,
        "width_mm": part.width_mm,
        "height_mm": part.height_mm,
    }


def _piece(piece, first_sheet: int) -> dict:
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


def set_out(face: Face, layer: BuildUpLayer, track: Material | None) -> dict[str, list[int]]:
    """Lengths of the members of a support layer by role, "support" and "track", in order. Raises CannotTakeOff.

    Without a `track` of its own, a stud wall has plates of the studs' material.
    """
    longest = layer.material.length_mm
    if _spacing_of(face, layer)["direction"] == "vertical" or _spans(layer):
        rules, inset_mm = replace(STUDS, across_ends=_is_wall(face), beside_openings=_is_wall(face)), 0
    else:
        rules, inset_mm = replace(BARS, longest_mm=longest), BAR_INSET_MM
    try:
        found = supports_across(boarded(face, support=layer), rules, inset_mm=inset_mm)
    except InputError as error:
        raise CannotTakeOff(_plain(error, face)) from error
    members: dict[str, list[int]] = {}
    for member in found.members:
        is_track = member.role == "track"
        parts = _split(member.length_mm, (track or layer.material).length_mm) if is_track else [member.length_mm]
        members.setdefault(member.role, []).extend(parts)
    return members


def edge_pieces(face: Face, layer: BuildUpLayer) -> list[int]:
    """An angle or channel along every edge of a face, butted where an edge is longer than its stock."""
    corners = face.outline_mm
    edges = [
        round(math.hypot(bx - ax, by - ay))
        for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    return [part for edge in edges for part in _split(edge, layer.material.length_mm)]


def _split(length_mm: int, longest_mm: int) -> list[int]:
    """A track longer than its stock is butted: whole lengths and the rest."""
    whole, rest = divmod(length_mm, longest_mm)
    return [longest_mm] * whole + ([rest] if rest else [])


def cut_stock(
    material: Material, stock: list[Material], pieces: list[tuple[str, str, int]], first: int
) -> tuple[list[dict], dict[str, Material]]:
    """Cut pieces (face key, label, length) from the lengths the material comes in: the lengths used, numbered from
    `first`, and the materials by key. Raises CannotTakeOff where a piece is longer than any length."""
    family = {m.key: m for m in stock if m.form == Material.Form.LENGTH and _same_section(m, material)}
    family[material.key] = material
    longest = max(m.length_mm for m in family.values())
    for _, label, length in pieces:
        if length > longest:
            raise CannotTakeOff(
                f"{label} must be {length:,} mm and {material.name} comes no longer than {longest:,} mm in the "
                "catalogue. Add a longer one there, or choose another build-up."
            )
    plan = cut_lengths(
        [LengthStock(length_mm=m.length_mm, price=m.price or Decimal(0), name=m.key) for m in family.values()],
        [LengthPiece(label=label, length_mm=length) for _, label, length in pieces],
        seconds=1.0,
    )
    used = [
        {
            "number": number,
            "material_key": used.name,
            "material": family[used.name].name,
            "length_mm": used.length_mm,
            "cuts": [{"label": cut.label, "length_mm": cut.length_mm} for cut in used.cuts],
            "left_mm": used.left_mm,
        }
        for number, used in enumerate(plan.used, start=first)
    ]
    return used, family


def _same_section(one: Material, other: Material) -> bool:
    """Same goods in another length: kind, width, thickness and mass by the metre agree, and it has a price."""
    names = ("kind", "width_mm", "thickness_mm", "mass_kg_m")
    return all(getattr(one, name) == getattr(other, name) for name in names) and one.price is not None


def batts_for(face: Face, material: Material) -> int:
    """Whole slabs cut to the bays between the studs of a face. Raises CannotTakeOff."""
    short, long = sorted((material.width_mm, material.length_mm))
    support = support_layer(face)
    if support is None or _spacing_of(face, support)["direction"] != "vertical":
        return math.ceil(face.area_mm2 * (1 + float(material.waste_percent) / 100) / (short * long))
    try:
        plan = batts_between(
            boarded(face), batt_width_mm=short, batt_length_mm=long, support_width_mm=STUD_FACE_MM, seconds=0.4
        )
    except InputError as error:
        raise CannotTakeOff(_plain(error, face)) from error
    return plan.batts


def drops_for(face: Face, material: Material) -> list[int]:
    """Lengths of the drops of a membrane across a face, standing, or lying where a drop is longer than the roll."""
    run, drop = face.width_mm, face.height_mm
    if drop > material.length_mm:
        run, drop = drop, run
    try:
        plan = roll_drops(run, drop, roll_width_mm=material.width_mm, roll_length_mm=material.length_mm, seconds=0.3)
    except InputError as error:
        raise CannotTakeOff(_plain(error, face)) from error
    return [plan.drop_mm] * len(plan.widths_mm)


def rolls_for(drops: list[int], material: Material) -> int:
    """Rolls for all drops of the job, cut from common rolls."""
    pieces = [LengthPiece(label="drop", length_mm=drop) for drop in drops]
    return cut_lengths([LengthStock(length_mm=material.length_mm, price=Decimal(1))], pieces, seconds=0.5).count


def sealant_ml(face: Face) -> Decimal:
    """Sealant round every layer of board on a face, its openings and boxes, before waste."""
    depths = [float(layer.thickness_mm) for layer in board_layers(face)]
    runs = perimeter_runs(boarded(face), depths, boxes=face.boxes)
    return Decimal(str(sealant_tubes(runs, tube_ml=1000, waste_percent=0).volume_l * 1000))


def screw_problem(length_mm: int, through_mm: float, into: str, bar_depth_mm: float) -> str | None:
    """Why a screw must not be used here, or None."""
    try:
        check_screw(length_mm, [through_mm], into=into, bar_depth_mm=bar_depth_mm)
    except InputError as error:
        return error.message
    return None
