"""The boards of a work pack as the engine laid them, read back from the pack's document."""

from dataclasses import dataclass

from acoustics.takeoff import (
    Board,
    BoardPiece,
    BoardRules,
    CutSheet,
    Gaps,
    Joint,
    LayerLayout,
    Layout,
    Offcut,
    Placed,
    SocketBox,
    Supports,
    Surface,
)
from contractor.common.geometry import box_round

STAGGER_MM = 600
WALL_PIECE_MM, CEILING_PIECE_MM = 150, 200  # the narrowest piece or course, common practice
FREE_JOINT_MM = 300  # boards on no supports: their joints are kept to a handy grid


@dataclass(frozen=True)
class BoardLayer:
    """A layer of a face that boards are cut for, with the pieces cut for it that fit nowhere now."""

    face: dict
    number: int
    data: dict
    board: Board
    pieces: list[dict]


def can_remeasure(face: dict) -> bool:
    """Whether the face has boards laid on an outline, each from a known sheet."""
    pieces = [piece for layer in face["layers"] for piece in layer["pieces"]]
    return bool(face["outline_mm"] and pieces) and all(piece["sheet_place"] is not None for piece in pieces)


def board_layers(document: dict, cut_keys: set[str]) -> list[BoardLayer]:
    """Every layer of boards, its pieces as large as they are cut now."""

    def as_it_is(piece: dict) -> dict:
        return piece if piece["key"] in cut_keys else piece | (piece.get("as_cut") or {})

    found = []
    for face in document["faces"]:
        if not can_remeasure(face):
            continue
        spare = document.get("spare", [])
        boarded = [layer for layer in face["layers"] if layer["pieces"]]
        for number, layer in enumerate(boarded, start=1):
            left = [p["piece"] for p in spare if (p["face"], p["order"]) == (face["key"], layer["order"])]
            board = _board(_whole_sheet(document, layer), layer)
            pieces = [as_it_is(piece) for piece in layer["pieces"] + left]
            found.append(BoardLayer(face, number, layer, board, pieces))
    return found


def by_face(layers: list[BoardLayer]) -> list[list[BoardLayer]]:
    groups: dict[str, list[BoardLayer]] = {}
    for layer in layers:
        groups.setdefault(layer.face["key"], []).append(layer)
    return list(groups.values())


def _whole_sheet(document: dict, layer: dict) -> dict:
    """The sheet of the layer's first piece, or where that is an offcut the largest of the same board."""
    key = document["sheets"][layer["pieces"][0]["sheet_place"]]["material_key"]
    alike = [sheet for sheet in document["sheets"] if sheet["material_key"] == key]
    return max(alike, key=lambda s: (not s.get("from_offcut"), s["width_mm"] * s["height_mm"]))


def _board(sheet: dict, layer: dict) -> Board:
    short, long = sorted((sheet["width_mm"], sheet["height_mm"]))
    piece = max(layer["pieces"], key=lambda p: _area_mm2(p["outline_mm"]))  # the least lost to rounding
    return Board(
        name=sheet["material_key"],
        width_mm=short,
        height_mm=long,
        mass_kg_m2=float(piece["mass_kg"]) * 1e6 / _area_mm2(piece["outline_mm"]),
        thickness_mm=float(layer["thickness_mm"]),
    )


def _area_mm2(outline: list) -> float:
    pairs = zip(outline, outline[1:] + outline[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def surface_of(layers: list[BoardLayer]) -> Surface:
    """The face as the engine has it; its gaps are those that its boards keep now."""
    face = layers[0].face
    if "gaps_mm" in face:  # measured again before: pieces used again may have widened a gap since
        return _with_gaps(layers, Gaps(**face["gaps_mm"]))
    around, boarded = box_round(face["outline_mm"]), [box_round(p["outline_mm"]) for p in layers[0].data["pieces"]]
    left = min(b.x_mm for b in boarded) - around.x_mm
    gaps = Gaps(
        sides_mm=max(left, 0),
        top_mm=max(around.top_mm - max(b.top_mm for b in boarded), 0),
        bottom_mm=max(min(b.y_mm for b in boarded) - around.y_mm, 0),
        openings_mm=5,
    )
    return _with_gaps(layers, gaps)


def _with_gaps(layers: list[BoardLayer], gaps: Gaps) -> Surface:
    face = layers[0].face
    return Surface(
        name=face["label"],
        outline_mm=_ring(face["outline_mm"]),
        openings_mm=tuple(_ring(opening) for opening in face["openings_mm"]),
        supports=_supports(layers),
        layers=len(layers),
        gaps_mm=gaps,
        boards=tuple(layer.board for layer in layers),
        boxes=tuple(SocketBox(x_mm=x, y_mm=y, width_mm=w, height_mm=h) for x, y, w, h in face.get("sockets_mm", [])),
    )


def _supports(layers: list[BoardLayer]) -> Supports:
    """What the joints lie on: boards that stand the whole height across level bars have them where they like."""
    told = layers[0].data["supports"]
    if told is None:
        return Supports(spacing_mm=FREE_JOINT_MM)
    has_level_joints = any(not joint_is_upright for layer in layers for joint_is_upright, _ in _joints(layer))
    if told["direction"] == "horizontal" and not has_level_joints:
        is_narrow = layers[0].face["width_mm"] < 2 * min(layer.board.width_mm for layer in layers)
        return Supports(spacing_mm=FREE_JOINT_MM if is_narrow else STAGGER_MM)
    return Supports(**told)


def rules_of(layers: list[BoardLayer]) -> BoardRules:
    """The habits that the layout shows: boards along or across their supports, joints as far apart as the house keeps."""
    supports = _supports(layers)
    ways = {_orientation(layer, supports) for layer in layers} - {"auto"}
    is_wall = layers[0].face["surface_kind"] == "wall"
    stagger_mm = STAGGER_MM if is_wall else min(STAGGER_MM, supports.spacing_mm)
    return BoardRules(
        orientation=ways.pop() if len(ways) == 1 else "auto",
        stagger_mm=stagger_mm,
        course_stagger_mm=stagger_mm,
        min_width_mm=CEILING_PIECE_MM if layers[0].face["surface_kind"] == "ceiling" else WALL_PIECE_MM,
    )


def _orientation(layer: BoardLayer, supports: Supports) -> str:
    stands = any(piece["height_mm"] > layer.board.width_mm for piece in layer.data["pieces"])
    lies = any(piece["width_mm"] > layer.board.width_mm for piece in layer.data["pieces"])
    if stands == lies:
        return "auto"
    return "upright" if stands == (supports.direction == "vertical") else "across"


def layout_of(document: dict, layers: list[BoardLayer]) -> Layout:
    """The pack's boards as the engine laid them. Sheets are numbered by their place in the document, from 1."""
    surfaces = {group[0].face["label"]: _supports(group) for group in by_face(layers)}
    laid = []
    for layer in layers:
        supports = surfaces[layer.face["label"]]
        orientation = _orientation(layer, supports)
        laid.append(
            LayerLayout(
                surface=layer.face["label"],
                layer=layer.number,
                board=layer.board.name,
                orientation="upright" if orientation == "auto" else orientation,
                pieces=tuple(_piece(document, layer, piece) for piece in layer.pieces),
                joints=tuple(
                    Joint(
                        x1_mm=a, y1_mm=b, x2_mm=c, y2_mm=d, on_support=is_upright == (supports.direction == "vertical")
                    )
                    for is_upright, (a, b, c, d) in _joints(layer)
                ),
            )
        )
    laid += [_spoiled(document, layers, each) for each in document.get("spoiled", [])]
    sheets = tuple(_sheet(number, sheet) for number, sheet in enumerate(document["sheets"], start=1))
    return Layout(layers=tuple(laid), sheets=sheets, count=len(sheets), lower_bound=0)


def _spoiled(document: dict, layers: list[BoardLayer], each: dict) -> LayerLayout:
    """A spoiled board as a surface of its own: its place on the sheet is gone, whatever is planned anew."""
    piece = each["piece"]
    sheet = document["sheets"][piece["sheet_place"]]
    layer = BoardLayer({"label": piece["label"]}, 1, {}, layers[0].board, [piece])
    return LayerLayout(
        surface=piece["label"],
        layer=1,
        board=sheet["material_key"],
        orientation="upright",
        pieces=(_piece(document, layer, piece),),
    )


def _sheet(number: int, sheet: dict) -> CutSheet:
    return CutSheet(
        number=number,
        board=sheet["material_key"],
        width_mm=sheet["width_mm"],
        height_mm=sheet["height_mm"],
        placed=tuple(Placed(**part) for part in sheet["placed"]),
        cuts=(),
        offcuts=tuple(Offcut(**part) for part in sheet["offcuts"] if "x_mm" in part),
    )


def _piece(document: dict, layer: BoardLayer, piece: dict) -> BoardPiece:
    sheet = document["sheets"][piece["sheet_place"]]
    part = next(part for part in sheet["placed"] if part["label"] == piece["label"])
    return BoardPiece(
        label=piece["label"],
        surface=layer.face["label"],
        layer=layer.number,
        outline_mm=_ring(piece["outline_mm"]),
        cutouts_mm=tuple(_ring(hole) for hole in piece["cutouts_mm"]),
        width_mm=piece["width_mm"],
        height_mm=piece["height_mm"],
        sheet=piece["sheet_place"] + 1,
        x_in_sheet_mm=part["x_mm"],
        y_in_sheet_mm=part["y_mm"],
        turned=(part["width_mm"] < part["height_mm"]) != (piece["width_mm"] < piece["height_mm"]),
        mass_kg=float(piece["mass_kg"]),
    )


def _joints(layer: BoardLayer) -> list[tuple[bool, tuple[int, int, int, int]]]:
    """(is upright, (x1, y1, x2, y2)) wherever straight edges of two pieces of the layer meet."""
    edges: dict[tuple[bool, int], list[tuple[int, int, int]]] = {}
    for index, piece in enumerate(layer.data["pieces"]):
        outline = piece["outline_mm"]
        for (ax, ay), (bx, by) in zip(outline, outline[1:] + outline[:1], strict=True):
            if ax == bx:
                edges.setdefault((True, ax), []).append((index, *sorted((ay, by))))
            elif ay == by:
                edges.setdefault((False, ay), []).append((index, *sorted((ax, bx))))
    found = []
    for (is_upright, at), spans in edges.items():
        for i, (piece, low, high) in enumerate(spans):
            for other, start, end in spans[i + 1 :]:
                first, last = max(low, start), min(high, end)
                if piece != other and first < last:
                    line = (at, first, at, last) if is_upright else (first, at, last, at)
                    found.append((is_upright, line))
    return found


def _ring(outline: list) -> tuple:
    return tuple((x, y) for x, y in outline)
