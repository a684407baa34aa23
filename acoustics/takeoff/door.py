"""The JSON front door of the take-off: plain dicts in, plain dicts out, bad fields named."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from shapely.geometry import Polygon

from acoustics.errors import InputError
from acoustics.takeoff.layout import lay_boards
from acoustics.takeoff.lengths import LengthPiece, LengthStock, cut_lengths
from acoustics.takeoff.model import Board, BoardRules, CutSheet, Gaps, LayerLayout, Supports, Surface
from acoustics.takeoff.sheets import SheetPiece, SheetStock, cut_sheets

MISSING = object()
MOST_PIECES = 20_000
MOST_LAYERS = 20


def lengths(data: dict) -> dict:
    """Straight stock: see cut_lengths."""
    stock = [
        LengthStock(
            length_mm=_whole(each, "length_mm", f"stock[{i}]."),
            price=_money(each, "price", f"stock[{i}]."),
            available=_whole(each, "available", f"stock[{i}].", None),
        )
        for i, each in enumerate(_items(data, "stock"))
    ]
    pieces = [
        LengthPiece(
            label=str(each.get("label", i + 1)),
            length_mm=_whole(each, "length_mm", f"pieces[{i}]."),
            quantity=_whole(each, "quantity", f"pieces[{i}].", 1),
        )
        for i, each in enumerate(_items(data, "pieces"))
    ]
    plan = cut_lengths(
        stock,
        _not_too_many(pieces),
        kerf_mm=_whole(data, "kerf_mm", "", 0),
        trim_mm=_whole(data, "trim_mm", "", 0),
        seconds=_seconds(data),
        seed=_whole(data, "seed", "", 0),
    )
    return {
        "used": [
            {
                "length_mm": used.length_mm,
                "cuts": [{"label": cut.label, "length_mm": cut.length_mm} for cut in used.cuts],
                "left_mm": used.left_mm,
            }
            for used in plan.used
        ],
        "count": plan.count,
        "cost": str(plan.cost),
        "lower_bound": str(plan.lower_bound),
        "optimal": plan.optimal,
    }


def sheets(data: dict) -> dict:
    """Rectangles from sheets: see cut_sheets."""
    stock = [
        SheetStock(
            width_mm=_whole(each, "width_mm", f"stock[{i}]."),
            height_mm=_whole(each, "height_mm", f"stock[{i}]."),
            price=_money(each, "price", f"stock[{i}]."),
            available=_whole(each, "available", f"stock[{i}].", None),
        )
        for i, each in enumerate(_items(data, "stock"))
    ]
    pieces = [
        SheetPiece(
            label=str(each.get("label", i + 1)),
            width_mm=_whole(each, "width_mm", f"pieces[{i}]."),
            height_mm=_whole(each, "height_mm", f"pieces[{i}]."),
            quantity=_whole(each, "quantity", f"pieces[{i}].", 1),
            may_turn=_flag(each, "may_turn", f"pieces[{i}].", True),
        )
        for i, each in enumerate(_items(data, "pieces"))
    ]
    plan = cut_sheets(
        stock,
        _not_too_many(pieces),
        kerf_mm=_whole(data, "kerf_mm", "", 0),
        seconds=_seconds(data),
        seed=_whole(data, "seed", "", 0),
    )
    return {
        "sheets": [_sheet(sheet) for sheet in plan.sheets],
        "count": plan.count,
        "cost": str(plan.cost),
        "lower_bound": plan.lower_bound,
        "lower_bound_cost": str(plan.lower_bound_cost),
        "optimal": plan.optimal,
    }


def layout(data: dict) -> dict:
    """Boards on one surface: see lay_boards."""
    surface, board = _surface(data), _inner(data, "board")
    width, height = _whole(board, "width_mm", "board."), _whole(board, "height_mm", "board.")
    plan = lay_boards(
        surface,
        Board(width_mm=min(width, height), height_mm=max(width, height)),
        _board_rules(_inner(data, "rules", {})),
        seconds=_seconds(data),
        seed=_whole(data, "seed", "", 0),
    )
    return {
        "layers": [_layer(layer) for layer in plan.layers],
        "sheets": plan.count,
        "lower_bound": plan.lower_bound,
        "optimal": plan.optimal,
        "cut_sheets": [_sheet(sheet) for sheet in plan.sheets],
        "notices": [{"code": notice.code, "text": notice.text} for notice in plan.notices],
    }


def _surface(data: dict) -> Surface:
    supports, gaps = _inner(data, "supports", {}), _inner(data, "gaps_mm", {})
    direction = supports.get("direction", "vertical")
    if direction not in ("vertical", "horizontal"):
        raise InputError("supports.direction", 'The direction is "vertical" or "horizontal".')
    outline = _ring(data.get("outline_mm", MISSING), "outline_mm")
    openings = tuple(_ring(ring, f"openings_mm[{i}]") for i, ring in enumerate(_items(data, "openings_mm", [])))
    layers = _whole(data, "layers", "", 1)
    if layers > MOST_LAYERS:
        raise InputError("layers", f"At most {MOST_LAYERS} layers can be laid at once.")
    return Surface(
        name=str(data.get("name", "A")),
        outline_mm=outline,
        openings_mm=_inside(openings, outline),
        supports=Supports(
            spacing_mm=_whole(supports, "spacing_mm", "supports.", 600),
            first_mm=_whole(supports, "first_mm", "supports.", 0),
            direction=direction,
        ),
        layers=layers,
        gaps_mm=Gaps(
            sides_mm=_whole(gaps, "sides", "gaps_mm.", 5),
            top_mm=_whole(gaps, "top", "gaps_mm.", 5),
            bottom_mm=_whole(gaps, "bottom", "gaps_mm.", 10),
            openings_mm=_whole(gaps, "openings", "gaps_mm.", 0),
        ),
    )


def _board_rules(rules: dict) -> BoardRules:
    usual = BoardRules()
    stagger = _whole(rules, "stagger_mm", "rules.", usual.stagger_mm)
    return BoardRules(
        min_width_mm=_whole(rules, "min_width_mm", "rules.", usual.min_width_mm),
        stagger_mm=stagger,
        course_stagger_mm=_whole(rules, "course_stagger_mm", "rules.", stagger),
        seam_stagger_mm=_whole(rules, "seam_stagger_mm", "rules.", min(stagger, usual.seam_stagger_mm)),
        corner_clear_mm=_whole(rules, "corner_clear_mm", "rules.", usual.corner_clear_mm),
        kerf_mm=_whole(rules, "kerf_mm", "rules.", 0),
        may_turn=_flag(rules, "may_turn", "rules.", False),
        reuse_cutouts=_flag(rules, "reuse_cutouts", "rules.", False),
    )


def _layer(layer: LayerLayout) -> dict:
    return {
        "layer": layer.layer,
        "orientation": layer.orientation,
        "pieces": [
            {
                "label": piece.label,
                "outline_mm": [list(point) for point in piece.outline_mm],
                "cutouts_mm": [[list(point) for point in ring] for ring in piece.cutouts_mm],
                "sheet": piece.sheet,
                "x_in_sheet_mm": piece.x_in_sheet_mm,
                "y_in_sheet_mm": piece.y_in_sheet_mm,
                "turned": piece.turned,
            }
            for piece in layer.pieces
        ],
        "joints": [
            {
                "from_mm": [joint.x1_mm, joint.y1_mm],
                "to_mm": [joint.x2_mm, joint.y2_mm],
                "on_support": joint.on_support,
            }
            for joint in layer.joints
        ],
    }


def _sheet(sheet: CutSheet) -> dict:
    return {
        "number": sheet.number,
        "width_mm": sheet.width_mm,
        "height_mm": sheet.height_mm,
        "from_offcut": sheet.from_offcut,
        "placed": [
            {
                "label": p.label,
                "x_mm": p.x_mm,
                "y_mm": p.y_mm,
                "width_mm": p.width_mm,
                "height_mm": p.height_mm,
                "turned": p.turned,
            }
            for p in sheet.placed
        ],
        "cuts": [
            {"order": c.order, "x1_mm": c.x1_mm, "y1_mm": c.y1_mm, "x2_mm": c.x2_mm, "y2_mm": c.y2_mm}
            for c in sheet.cuts
        ],
        "offcuts": [
            {
                "label": o.label,
                "x_mm": o.x_mm,
                "y_mm": o.y_mm,
                "width_mm": o.width_mm,
                "height_mm": o.height_mm,
                "keep": o.keep,
            }
            for o in sheet.offcuts
        ],
    }


def _items(data: dict, name: str, usual: Any = MISSING) -> list:
    value = _value(data, name, "", usual)
    if not isinstance(value, list):
        raise InputError(name, "A list is expected here.")
    for index, each in enumerate(value):
        if usual is MISSING and not isinstance(each, dict):
            raise InputError(f"{name}[{index}]", "An object is expected here.")
    return value


def _inner(data: dict, name: str, usual: Any = MISSING) -> dict:
    value = _value(data, name, "", usual)
    if not isinstance(value, dict):
        raise InputError(name, "An object is expected here.")
    return value


def _value(data: dict, name: str, path: str, usual: Any = MISSING) -> Any:
    if not isinstance(data, dict):
        raise InputError(path.rstrip(".") or "input", "An object is expected here.")
    value = data.get(name, usual)
    if value is MISSING:
        raise InputError(f"{path}{name}", "This is needed.")
    return value


def _whole(data: dict, name: str, path: str, usual: Any = MISSING) -> Any:
    value = _value(data, name, path, usual)
    if value is usual and value is not MISSING:
        return value
    if not _is_whole(value):
        raise InputError(f"{path}{name}", "A whole number is expected here.")
    if value < 0:
        raise InputError(f"{path}{name}", "This cannot be below nought.")
    return int(value)


def _is_whole(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return isinstance(value, int) or value.is_integer()


def _not_too_many(pieces: list) -> list:
    """The pieces, refused where no deadline could be kept for so many."""
    total = 0
    for index, piece in enumerate(pieces):
        total += piece.quantity
        if total > MOST_PIECES:
            raise InputError(
                f"pieces[{index}].quantity", f"That makes more than {MOST_PIECES} pieces; plan fewer at once."
            )
    return pieces


def _inside(openings: tuple, outline: tuple) -> tuple:
    """The openings, each of which must lie within the outline."""
    if len(outline) < 3 or not Polygon(outline).is_valid:
        return openings  # the surface itself refuses these
    for index, ring in enumerate(openings):
        if len(ring) >= 3 and not Polygon(outline).covers(Polygon(ring)):
            raise InputError(f"openings_mm[{index}]", "The opening reaches outside the outline; measure both again.")
    return openings


def _flag(data: dict, name: str, path: str, usual: bool) -> bool:
    value = _value(data, name, path, usual)
    if not isinstance(value, bool):
        raise InputError(f"{path}{name}", "true or false is expected here.")
    return value


def _money(data: dict, name: str, path: str) -> Decimal:
    value = _value(data, name, path, "0")
    try:
        price = Decimal(str(value))
    except InvalidOperation:
        raise InputError(f"{path}{name}", "A price is expected here.") from None
    if not price.is_finite():
        raise InputError(f"{path}{name}", "A price is expected here.")
    return price


def _seconds(data: dict) -> float:
    value = _value(data, "seconds", "", 5)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 3600:
        raise InputError("seconds", "Give a deadline in seconds, above nought and at most 3600.")
    return float(value)


def _ring(value: Any, where: str) -> tuple:
    if value is MISSING:
        raise InputError(where, "This is needed.")
    if not isinstance(value, list | tuple):
        raise InputError(where, "A list of corners [x, y] is expected here.")
    ring = []
    for point in value:
        if not isinstance(point, list | tuple) or len(point) != 2:
            raise InputError(where, "Each corner is a pair [x, y].")
        if not all(_is_whole(v) for v in point):
            raise InputError(where, "Corners are whole millimetres.")
        ring.append((int(point[0]), int(point[1])))
    if len(ring) > 1 and ring[0] == ring[-1]:
        ring.pop()
    return tuple(ring)
