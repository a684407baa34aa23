"""The take-off of a scheme as JSON (see `Calculation.takeoff`): faces, cutting plans, what to buy, hours, problems."""

from collections.abc import Callable, Iterable
from decimal import Decimal

from contractor.catalogue.models import BuildUpLayer
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Surface
from contractor.rooms.rule_notes import ruled_out
from contractor.rooms.takeoff.boards.bridge import Boarding, lay_faces
from contractor.rooms.takeoff.boards.kept import laid_before
from contractor.rooms.takeoff.buying import buy_list, unpriced
from contractor.rooms.takeoff.effort import PREVIEW, Effort
from contractor.rooms.takeoff.faces import Face, faces_of
from contractor.rooms.takeoff.goods.bridge import screw_fault
from contractor.rooms.takeoff.labour import RATE_KEY, factors_for, hours_for, missing_allowances, preparation_of
from contractor.rooms.takeoff.needs import Wants, wants_of
from contractor.rooms.takeoff.surfaces.bridge import board_layers, support_layer, supports_of

Role = BuildUpLayer.Role
# Screw centres in mm: walls 300, ceilings 230 in the field, decks 300 (common practice).
SCREW_CENTRES_MM = {Surface.Face.WALL: 300, Surface.Face.CEILING: 230, Surface.Face.FLOOR: 300}
CASING_CENTRES_MM = 150


def take_off(
    inputs: Inputs,
    effort: Effort = PREVIEW,
    tell: Callable[[str], None] = lambda step: None,
    earlier: dict | None = None,
) -> dict:
    """Lay, cut, count and price every treated face, with so much `effort`; `tell` is called with each step begun.

    A face that cannot be taken off is told, never left at nought. "is_preview" says whether more effort could do better;
    "proofs" how near each plan is to the least there can be. The boards of an `earlier` take-off of the scheme are used
    again where nothing about them has changed.
    """
    faces = faces_of(inputs)
    problems = {face.key: face.problem or screw_problem(face) for face in faces}
    problems = {key: text for key, text in problems.items() if text}
    codes = room_codes({face.room.pk: face.room.name for face in faces})
    before = laid_before(earlier)
    while True:
        sound = [face for face in faces if face.key not in problems]
        tell("Laying the boards")
        boarding = lay_faces(sound, inputs.stock, inputs.offcuts, effort.boards_s, codes, before)
        tell("Cutting the lengths")
        wants = wants_of(inputs, sound, boarding, effort)
        found = boarding.problems | wants.problems
        if not found:
            break
        problems |= found
    lines, shares = buy_list(wants)
    preparation = preparation_of(inputs, sound)
    told = [
        _face(inputs, face, boarding, wants, shares, preparation, problems) | {"room_code": codes[face.room.pk]}
        for face in faces
    ]
    return {
        "is_preview": effort.is_preview and bool(boarding.sheets or wants.lengths),
        "faces": told,
        "proofs": [*_sheet_proofs(boarding), *wants.proofs],
        "layout": boarding.laid.facts() if boarding.laid else None,
        "sheets": boarding.sheets,
        "lengths": wants.lengths,
        "buy": lines,
        "preparation": preparation,
        "labour": [
            {
                "face": face["key"],
                "description": f"{face['build_up']}: {face['label']}",
                "hours": face["labour_hours"],
                "rate_key": RATE_KEY,
            }
            for face in told
            if not face["problem"]
        ],
        "notices": [{"face": key, "text": text} for key, text in boarding.notices] + _cheek_notices(sound),
        "totals": _totals(told, lines, boarding),
        "ruled_out": ruled_out(inputs),
        "problems": [
            *({"face": face.label, "text": problems[face.key]} for face in faces if face.key in problems),
            *(
                {"face": name, "text": f"{name} has no price in the catalogue: counted at nothing."}
                for name in unpriced(wants)
            ),
            *(
                {"face": key, "text": f"The catalogue has no hours for “{key}”: counted at nothing."}
                for key in missing_allowances(inputs, sound)
            ),
        ],
    }


def room_codes(names: dict[int, str]) -> dict[int, str]:
    """A short code for each room by id, for what is written on pieces and offcuts: the initials of its name."""
    codes: dict[int, str] = {}
    for pk, name in names.items():
        initials = "".join(word[0] for word in name.split() if word[0].isalnum()).upper()[:3] or "R"
        same = sum(code.rstrip("0123456789") == initials for code in codes.values())
        codes[pk] = f"{initials}{same + 1}" if same else initials
    return codes


def _sheet_proofs(boarding: Boarding) -> list[dict]:
    return [
        {
            "material": boarding.materials[key].name,
            "unit": "sheet",
            "count": count,
            "least": boarding.least_counts[key],
            "is_least": count == boarding.least_counts[key],
        }
        for key, count in boarding.sheet_counts.items()
    ]


def _cheek_notices(faces: list[Face]) -> list[dict]:
    """A cheek is surveyed to the old wall; the lining of the alcove beside it takes some of its width."""
    text = "Measure this cheek again once the alcove beside it is lined: its width is to the old wall."
    lined = {face.surface.pk for face in faces if face.surface and not face.is_cheek and not face.patch.projection_mm}
    return [
        {"face": face.key, "text": text}
        for face in faces
        if face.is_cheek and face.surface and face.surface.pk in lined
    ]


def screw_problem(face: Face) -> str | None:
    """Why a screw of the build-up would not hold or would bridge, or None."""
    layers = list(face.choice.build_up.layers.all())
    bars = [x for x in layers if x.role == Role.SUPPORT and x.connection in ("resilient_bar", "clip")]
    support = support_layer(face)
    if support is None and not bars:
        return None
    into = "bar" if bars else "timber" if _is_timber(support) else "steel"
    through_mm = 0.0  # boards, membrane and damping between them, taken at their full thickness
    for layer in layers:
        if layer.role not in (Role.MEMBRANE, Role.BOARD, Role.DAMPING):
            continue
        through_mm += float(layer.thickness_mm)
        for fixing in _fixings_of(face, layer):
            depth = max((float(bar.thickness_mm) for bar in bars), default=0.0)
            problem = screw_fault(fixing.screw_length_mm, through_mm, into, depth)
            if problem:
                return (
                    f"{face.label}, {layer.description}: {problem} Change the screw of this build-up in the catalogue."
                )
    return None


def _is_timber(support: BuildUpLayer) -> bool:
    words = support.material.name.lower() if support.material else ""
    return any(word in words for word in ("timber", "joist", "batten"))


def _fixings_of(face: Face, layer: BuildUpLayer) -> list:
    return [f for f in face.choice.build_up.fixings.all() if f.layer_id == layer.pk and f.screw_length_mm]


def _face(inputs, face: Face, boarding: Boarding, wants: Wants, shares, preparation, problems) -> dict:
    problem = problems.get(face.key)
    build_up = face.choice.build_up
    factors = [] if problem else factors_for(inputs, face)
    materials = [] if problem else shares[face.key]
    orders = {layer.pk: layer.order for layer in build_up.layers.all()}
    return {
        "key": face.key,
        "room": face.room.name,
        "surface": face.surface.letter if face.surface else None,
        "label": face.label,
        "build_up_key": build_up.key,
        "build_up": build_up.name,
        "surface_kind": face.surface.face if face.surface else build_up.surface,
        "unit": build_up.unit,
        "quantity": f"{face.quantity:.2f}",
        "width_mm": face.width_mm,
        "height_mm": face.height_mm,
        "outline_mm": [list(point) for point in face.outline_mm],
        "openings_mm": [[list(point) for point in ring] for ring in face.openings_mm],
        "area_m2": f"{face.area_m2:.2f}",
        "boxes": face.boxes,
        "sockets_mm": [list(socket) for socket in face.sockets_mm],
        "at_y_mm": face.at_y_mm,
        "depth_mm": f"{build_up.depth_mm}",
        "layers": list(_layers(face, boarding, wants)),
        "hold_points": [
            {"after_order": orders.get(hold.after_layer_id, 0), "text": hold.text}
            for hold in build_up.hold_points.all()
        ],
        "labour_hours": "0.00" if problem else f"{hours_for(face, factors):.2f}",
        "labour_hours_per_unit": f"{build_up.labour_hours_per_unit}",
        "labour_factors": [{"name": f.name, "factor": f"{f.factor.normalize():f}"} for f in factors],
        "materials_cost": f"{_sum(m['cost'] for m in materials):.2f}",
        "materials": materials,
        "preparation_hours": f"{_sum(p['hours'] for p in preparation if p['face'] == face.key):.2f}",
        "problem": problem,
    }


def _layers(face: Face, boarding: Boarding, wants: Wants) -> Iterable[dict]:
    boards = 0
    supports = supports_of(face)
    for layer in face.choice.build_up.layers.all():
        is_board = layer in board_layers(face) and bool(face.outline_mm)
        boards += is_board
        pieces = boarding.pieces.get((face.key, boards), []) if is_board else []
        material = layer.material
        yield {
            "order": layer.order,
            "role": layer.role,
            "description": layer.description,
            "instruction": layer.instruction,
            "material_key": material.key if material else "",
            "material": material.name if material else "",
            "thickness_mm": f"{layer.thickness_mm.normalize():f}",
            "screw": _screw(face, layer),
            "supports": supports if is_board or layer == support_layer(face) else None,
            "pieces": pieces,
            "cuts": wants.cuts.get((face.key, layer.order), []),
            "set_out": wants.set_outs.get((face.key, layer.order)),
            "stock": wants.sizes.get((face.key, layer.order), []),
        }


def _screw(face: Face, layer: BuildUpLayer) -> dict | None:
    fixing = next(iter(_fixings_of(face, layer)), None)
    if fixing is None:
        return None
    centres = SCREW_CENTRES_MM[face.surface.face] if face.surface else CASING_CENTRES_MM
    return {"material": fixing.material.name, "length_mm": fixing.screw_length_mm, "centres_mm": centres}


def _totals(faces: list[dict], lines: list[dict], boarding: Boarding) -> dict:
    return {
        "materials_cost": f"{_sum(line['cost'] for line in lines):.2f}",
        "mass_kg": f"{_sum(line['mass_kg'] for line in lines):.1f}",
        "labour_hours": f"{_sum(face['labour_hours'] for face in faces):.2f}",
        "preparation_hours": f"{_sum(face['preparation_hours'] for face in faces):.2f}",
        "sheet_count": sum(boarding.sheet_counts.values()),
        "area_m2": f"{_sum(f['area_m2'] for f in faces if not f['problem']):.2f}",
    }


def _sum(numbers: Iterable[str]) -> Decimal:
    return sum((Decimal(number) for number in numbers), Decimal(0))
