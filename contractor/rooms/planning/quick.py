"""A take-off by the build-up's own rates, without laying boards or cutting lengths: quick, and near enough to plan with.

It has the form that is priced (faces, preparation, labour), so that a plan's prices go through the same rule as a
quote's. Where the take-off buys whole packs, this counts what is used, with the waste that the rates hold.
"""

import math
from collections.abc import Iterable
from decimal import Decimal

from contractor.catalogue.models import BuildUpLayer, Material
from contractor.rooms.inputs import Inputs
from contractor.rooms.takeoff.buying import pack_holds
from contractor.rooms.takeoff.faces import Face, faces_of
from contractor.rooms.takeoff.labour import RATE_KEY, factors_for, hours_for, preparation_of

BEADS = 2  # of sealant along every edge, where a layer gives no rate of its own
BEAD_MM2 = 60


def quick_takeoff(inputs: Inputs) -> dict:
    """Faces, preparation and labour of what `inputs` builds, as the pricing reads them."""
    faces = faces_of(inputs)
    sound = [face for face in faces if not face.problem]
    told = [_face(inputs, face) for face in faces]
    return {
        "faces": told,
        "preparation": preparation_of(inputs, sound),
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
        "problems": [],
    }


def _face(inputs: Inputs, face: Face) -> dict:
    factors = [] if face.problem else factors_for(inputs, face)
    build_up = face.choice.build_up
    return {
        "key": face.key,
        "room": face.room.name,
        "label": face.label,
        "build_up": build_up.name,
        "build_up_key": build_up.key,
        "surface_kind": face.surface.face if face.surface else build_up.surface,
        "unit": build_up.unit,
        "quantity": f"{face.quantity:.2f}",
        "area_m2": f"{face.area_m2:.2f}",
        "boxes": face.boxes,
        "labour_hours": "0.00" if face.problem else f"{hours_for(face, factors):.2f}",
        "labour_factors": [{"name": f.name, "factor": f"{f.factor.normalize():f}"} for f in factors],
        "materials_cost": "0.00" if face.problem else f"{_materials_cost(face):.2f}",
        "problem": face.problem,
    }


def _materials_cost(face: Face) -> Decimal:
    layers = face.choice.build_up.layers.all()
    cost = sum((_layer_cost(face, layer) for layer in layers if layer.material), Decimal(0))
    for fixing in face.choice.build_up.fixings.all():
        count = face.quantity * fixing.per_unit * (1 + fixing.material.waste_percent / 100)
        cost += _used(fixing.material, count, fixing.material.pack_unit)
    return cost


def _layer_cost(face: Face, layer: BuildUpLayer) -> Decimal:
    if layer.quantity_per_unit:
        return _used(layer.material, face.quantity * layer.quantity_per_unit, layer.quantity_unit)
    if layer.material.form == Material.Form.TUBE and layer.material.volume_ml:
        ml = Decimal(_perimeter_mm(face.outline_mm) * BEADS * BEAD_MM2) / 1000
        return _used(layer.material, ml / layer.material.volume_ml, "tube")
    return Decimal(0)


def _used(material: Material, quantity: Decimal, unit: str) -> Decimal:
    """What so much of a material costs, by the part of a pack."""
    held = pack_holds(material, unit) or Decimal(1)
    return quantity / held * (material.price or Decimal(0))


def _perimeter_mm(ring: Iterable[tuple[int, int]]) -> int:
    corners = list(ring)
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return round(sum(math.dist(a, b) for a, b in pairs))
