"""Sets frames out and cuts them from lengths; counts slabs, drops, sealant; checks screws."""

import math
from collections.abc import Sequence
from dataclasses import asdict, replace
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff import (
    BARS,
    STUDS,
    LengthPiece,
    LengthStock,
    SupportRules,
    Supports,
    batts_between,
    check_screw,
    cut_lengths,
    perimeter_runs,
    roll_drops,
    sealant_tubes,
    supports_across,
)
from acoustics.takeoff import Surface as BoardedSurface
from contractor.catalogue.models import BuildUpLayer, Material
from contractor.offcuts.models import Offcut
from contractor.rooms.takeoff.faces import Face
from contractor.rooms.takeoff.surfaces.bridge import (
    BAR_INSET_MM,
    CannotTakeOff,
    board_layers,
    boarded,
    is_wall,
    plain,
    spacing_of,
    spans,
    support_layer,
)

STUD_FACE_MM = 48
OFFCUT = "offcut "  # before the label of a stored one, where the engine names stock


def set_out(face: Face, layer: BuildUpLayer, track: Material | None) -> dict[str, list[int]]:
    """Lengths of the members of a support layer by role, "support" and "track", in order. Raises CannotTakeOff.

    Without a `track` of its own, a stud wall has plates of the studs' material.
    """
    try:
        return members_of(boarded(face, support=layer), set_out_rules(face, layer, track))
    except InputError as error:
        raise CannotTakeOff(plain(error, face)) from error


def set_out_rules(face: Face, layer: BuildUpLayer, track: Material | None) -> dict:
    """How the members of a support layer are set out, as JSON keeps it for a surface that is measured again."""
    if spacing_of(face, layer)["direction"] == "vertical" or spans(layer):
        rules, inset_mm = replace(STUDS, across_ends=is_wall(face), beside_openings=is_wall(face)), 0
    else:
        rules, inset_mm = replace(BARS, longest_mm=layer.material.length_mm), BAR_INSET_MM
    return {
        "kind": "supports",
        "supports": spacing_of(face, layer),
        "rules": asdict(rules),
        "inset_mm": inset_mm,
        "track_mm": (track or layer.material).length_mm,
    }


def members_of(surface: BoardedSurface, set_out: dict) -> dict[str, list[int]]:
    """Lengths by role of the members that `set_out_rules` put on a surface. Raises InputError."""
    surface = replace(surface, supports=Supports(**set_out["supports"]))
    found = supports_across(surface, SupportRules(**set_out["rules"]), inset_mm=set_out["inset_mm"])
    members: dict[str, list[int]] = {}
    for member in found.members:
        is_track = member.role == "track"
        parts = split(member.length_mm, set_out["track_mm"]) if is_track else [member.length_mm]
        members.setdefault(member.role, []).extend(parts)
    return members


def edge_pieces(face: Face, layer: BuildUpLayer) -> list[int]:
    """An angle or channel along every edge of a face, butted where an edge is longer than its stock."""
    return edges_of(face.outline_mm, layer.material.length_mm)


def edges_of(corners: Sequence, longest_mm: int) -> list[int]:
    """Lengths along the edges of an outline."""
    edges = [
        round(math.hypot(bx - ax, by - ay))
        for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]
    return [part for edge in edges for part in split(edge, longest_mm)]


def split(length_mm: int, longest_mm: int) -> list[int]:
    """A track longer than its stock is butted: whole lengths and the rest."""
    whole, rest = divmod(length_mm, longest_mm)
    return [longest_mm] * whole + ([rest] if rest else [])


def check_lengths(face: Face, material: Material, stock: list[Material], lengths_mm: list[int]) -> None:
    """CannotTakeOff where a member is longer than any length that the material comes in."""
    longest = max(m.length_mm for m in _family(material, stock).values())
    needed = max(lengths_mm, default=0)
    if needed > longest:
        goods = material.name.rpartition(",")[0] or material.name
        raise CannotTakeOff(
            f"{face.label}: {goods} must be {needed:,} mm long here and comes no longer than {longest:,} mm. "
            "Add a longer one to the catalogue, or choose another build-up."
        )


def cut_stock(
    material: Material,
    stock: list[Material],
    pieces: list[tuple[str, str, int]],
    first: int,
    offcuts: list[Offcut],
    seconds: float,
) -> tuple[list[dict], dict[str, Material], dict]:
    """Cut pieces (face key, label, length) from stored offcuts and the lengths the material comes in.

    Returns the lengths used, numbered from `first`, the materials by key, and how near the plan is to the least cost.
    No piece is longer than all lengths.
    """
    family = _family(material, stock)
    stored = {f"{OFFCUT}{o.label}": o for o in offcuts if not o.width_mm and o.material.key in family}
    plan = cut_lengths(
        [LengthStock(length_mm=m.length_mm, price=m.price or Decimal(0), name=m.key) for m in family.values()]
        + [LengthStock(length_mm=o.length_mm, available=1, name=name) for name, o in stored.items()],
        [LengthPiece(label=label, length_mm=length) for _, label, length in pieces],
        seconds=seconds,
    )
    kinds = family | {name: o.material for name, o in stored.items()}
    used = [
        {
            "number": number,
            "material_key": kinds[used.name].key,
            "material": kinds[used.name].name,
            "from_offcut": used.name.removeprefix(OFFCUT) if used.name in stored else "",
            "is_roll": False,
            "length_mm": used.length_mm,
            "cuts": [{"label": cut.label, "length_mm": cut.length_mm} for cut in used.cuts],
            "left_mm": used.left_mm,
        }
        for number, used in enumerate(plan.used, start=first)
    ]
    proof = {
        "material": material.name,
        "unit": "length",
        "count": plan.count - sum(used.name in stored for used in plan.used),
        "cost": f"{plan.cost:.2f}",
        "least_cost": f"{plan.lower_bound:.2f}",
        "is_least": plan.optimal,
    }
    return used, family, proof


def _family(material: Material, stock: list[Material]) -> dict[str, Material]:
    """The material and the same goods in other lengths, by key."""
    family = {m.key: m for m in stock if m.form == Material.Form.LENGTH and _same_section(m, material)}
    return family | {material.key: material}


def _same_section(one: Material, other: Material) -> bool:
    """Same goods in another length: kind, width, thickness and mass by the metre agree, and it has a price."""
    names = ("kind", "width_mm", "thickness_mm", "mass_kg_m")
    return all(getattr(one, name) == getattr(other, name) for name in names) and one.price is not None


def batts_for(face: Face, material: Material, seconds: float) -> int:
    """Whole slabs cut to the bays between the studs of a face. Raises CannotTakeOff."""
    short, long = sorted((material.width_mm, material.length_mm))
    support = support_layer(face)
    if support is None or spacing_of(face, support)["direction"] != "vertical":
        return math.ceil(face.area_mm2 * (1 + float(material.waste_percent) / 100) / (short * long))
    try:
        plan = batts_between(
            boarded(face), batt_width_mm=short, batt_length_mm=long, support_width_mm=STUD_FACE_MM, seconds=seconds
        )
    except InputError as error:
        raise CannotTakeOff(plain(error, face)) from error
    return plan.batts


def drops_for(face: Face, material: Material, seconds: float) -> list[int]:
    """Lengths of the drops of a membrane across a face. Raises CannotTakeOff."""
    try:
        return drops_of(face.width_mm, face.height_mm, material.width_mm, material.length_mm, seconds)
    except InputError as error:
        raise CannotTakeOff(plain(error, face)) from error


def drops_of(width_mm: int, height_mm: int, roll_width_mm: int, roll_length_mm: int, seconds: float) -> list[int]:
    """Drops standing side by side, or lying where a drop is longer than the roll. Raises InputError."""
    run, drop = (width_mm, height_mm) if height_mm <= roll_length_mm else (height_mm, width_mm)
    plan = roll_drops(run, drop, roll_width_mm=roll_width_mm, roll_length_mm=roll_length_mm, seconds=seconds)
    return [plan.drop_mm] * len(plan.widths_mm)


def cut_rolls(material: Material, drops: list[tuple[str, int]], first: int, seconds: float) -> list[dict]:
    """Drops (label, length) of the whole job cut from common rolls, numbered from `first`."""
    pieces = [LengthPiece(label=label, length_mm=length) for label, length in drops]
    plan = cut_lengths([LengthStock(length_mm=material.length_mm, price=Decimal(1))], pieces, seconds=seconds)
    return [
        {
            "number": number,
            "material_key": material.key,
            "material": material.name,
            "from_offcut": "",
            "is_roll": True,
            "length_mm": used.length_mm,
            "cuts": [{"label": cut.label, "length_mm": cut.length_mm} for cut in used.cuts],
            "left_mm": used.left_mm,
        }
        for number, used in enumerate(plan.used, start=first)
    ]


def sealant_ml(face: Face) -> Decimal:
    """Sealant round every layer of board on a face, its openings and boxes, before waste."""
    depths = [float(layer.thickness_mm) for layer in board_layers(face)]
    runs = perimeter_runs(boarded(face), depths, boxes=face.boxes)
    return Decimal(str(sealant_tubes(runs, tube_ml=1000, waste_percent=0).volume_l * 1000))


def screw_fault(length_mm: int, through_mm: float, into: str, bar_depth_mm: float) -> str | None:
    """Why a screw must not be used here, or None."""
    try:
        check_screw(length_mm, [through_mm], into=into, bar_depth_mm=bar_depth_mm)
    except InputError as error:
        return error.message
    return None


def family_sizes(material: Material, stock: list[Material]) -> list[dict]:
    """The lengths that a straight material comes in, without their prices, for a surface that is measured again."""
    family = sorted(_family(material, stock).values(), key=lambda m: m.length_mm)
    return [{"material_key": m.key, "material": m.name, "length_mm": m.length_mm} for m in family]
