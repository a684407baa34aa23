"""Sets frames out and cuts them from lengths; counts slabs, drops, sealant; checks screws."""

import math
from dataclasses import replace
from decimal import Decimal

from acoustics.errors import InputError
from acoustics.takeoff import (
    BARS,
    STUDS,
    LengthPiece,
    LengthStock,
    batts_between,
    check_screw,
    cut_lengths,
    perimeter_runs,
    roll_drops,
    sealant_tubes,
    supports_across,
)
from contractor.catalogue.models import BuildUpLayer, Material
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


def set_out(face: Face, layer: BuildUpLayer, track: Material | None) -> dict[str, list[int]]:
    """Lengths of the members of a support layer by role, "support" and "track", in order. Raises CannotTakeOff.

    Without a `track` of its own, a stud wall has plates of the studs' material.
    """
    longest = layer.material.length_mm
    if spacing_of(face, layer)["direction"] == "vertical" or spans(layer):
        rules, inset_mm = replace(STUDS, across_ends=is_wall(face), beside_openings=is_wall(face)), 0
    else:
        rules, inset_mm = replace(BARS, longest_mm=longest), BAR_INSET_MM
    try:
        found = supports_across(boarded(face, support=layer), rules, inset_mm=inset_mm)
    except InputError as error:
        raise CannotTakeOff(plain(error, face)) from error
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
    material: Material, stock: list[Material], pieces: list[tuple[str, str, int]], first: int
) -> tuple[list[dict], dict[str, Material]]:
    """Cut pieces (face key, label, length) from the lengths the material comes in.

    Returns the lengths used, numbered from `first`, and the materials by key. No piece is longer than all of them.
    """
    family = _family(material, stock)
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


def _family(material: Material, stock: list[Material]) -> dict[str, Material]:
    """The material and the same goods in other lengths, by key."""
    family = {m.key: m for m in stock if m.form == Material.Form.LENGTH and _same_section(m, material)}
    return family | {material.key: material}


def _same_section(one: Material, other: Material) -> bool:
    """Same goods in another length: kind, width, thickness and mass by the metre agree, and it has a price."""
    names = ("kind", "width_mm", "thickness_mm", "mass_kg_m")
    return all(getattr(one, name) == getattr(other, name) for name in names) and one.price is not None


def batts_for(face: Face, material: Material) -> int:
    """Whole slabs cut to the bays between the studs of a face. Raises CannotTakeOff."""
    short, long = sorted((material.width_mm, material.length_mm))
    support = support_layer(face)
    if support is None or spacing_of(face, support)["direction"] != "vertical":
        return math.ceil(face.area_mm2 * (1 + float(material.waste_percent) / 100) / (short * long))
    try:
        plan = batts_between(
            boarded(face), batt_width_mm=short, batt_length_mm=long, support_width_mm=STUD_FACE_MM, seconds=0.4
        )
    except InputError as error:
        raise CannotTakeOff(plain(error, face)) from error
    return plan.batts


def drops_for(face: Face, material: Material) -> list[int]:
    """Lengths of the drops of a membrane across a face, standing, or lying where a drop is longer than the roll."""
    run, drop = face.width_mm, face.height_mm
    if drop > material.length_mm:
        run, drop = drop, run
    try:
        plan = roll_drops(run, drop, roll_width_mm=material.width_mm, roll_length_mm=material.length_mm, seconds=0.3)
    except InputError as error:
        raise CannotTakeOff(plain(error, face)) from error
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


def screw_fault(length_mm: int, through_mm: float, into: str, bar_depth_mm: float) -> str | None:
    """Why a screw must not be used here, or None."""
    try:
        check_screw(length_mm, [through_mm], into=into, bar_depth_mm=bar_depth_mm)
    except InputError as error:
        return error.message
    return None
