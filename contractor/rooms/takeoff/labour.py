"""Hours: the build-up's own, times what makes this face slower; and preparation by rule from the condition found."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Surface
from contractor.rooms.preparation import preparation_for
from contractor.rooms.takeoff.faces import Face
from contractor.rooms.takeoff.fixtures import handling_of

RATE_KEY = "fitter"
SMALL_AREA_M2, TALL_MM, OUT_OF_TRUE_MM = 5, 2700, 10  # common practice
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, kw_only=True)
class Factor:
    name: str
    factor: Decimal


def factors_for(inputs: Inputs, face: Face) -> list[Factor]:
    """The circumstances that slow the work on a face, as far as the catalogue has a factor for them."""
    surface = face.surface
    is_ceiling = surface is not None and surface.face == Surface.Face.CEILING
    is_area = face.choice.build_up.unit == "m2"
    tall = face.room.height_mm > TALL_MM
    applies = {
        "small-area": is_area and face.quantity < SMALL_AREA_M2,
        "tall-ceiling": is_ceiling and tall,
        "tall-wall": not is_ceiling and surface is not None and face.height_mm > TALL_MM and _is_wall(surface),
        "stairwell": "stair" in face.room.name.lower(),
        "occupied": inputs.job.is_occupied,
        "chimney-breast": face.patch is not None and face.patch.projection_mm > 0,
        "out-of-true": surface is not None and surface.out_of_true_mm > OUT_OF_TRUE_MM,
    }
    found = [
        Factor(name=inputs.factors[key].name, factor=inputs.factors[key].factor)
        for key, is_so in applies.items()
        if is_so and key in inputs.factors
    ]
    carry = inputs.factors.get("upper-storey")
    if carry is not None and inputs.job.storey:
        found.append(Factor(name=f"{carry.name} ({inputs.job.storey})", factor=carry.factor**inputs.job.storey))
    return found


def hours_for(face: Face, factors: list[Factor]) -> Decimal:
    """Quantity times the build-up's hours times every factor, to a hundredth of an hour."""
    hours = face.quantity * face.choice.build_up.labour_hours_per_unit
    for factor in factors:
        hours *= factor.factor
    return _hundredth(hours)


def preparation_of(inputs: Inputs, faces: list[Face]) -> list[dict]:
    """Preparation of every treated face, with its reason, hours and the rate they are charged at."""
    lines = [line for face in faces if face.patch is not None for line in _preparation(inputs, face)]
    return lines + [
        _line(inputs, face, work.allowance_key, quantity, reason, "m" if work.is_by_metre else "each")
        for face, work, quantity, reason in handling_of(faces)
    ]


def _preparation(inputs: Inputs, face: Face) -> list[dict]:
    return [
        _line(inputs, face, work.allowance_key, face.area_m2 * work.quantity_per_m2, work.reason, "m2")
        for work in preparation_for(face.patch, inputs.rules, face.choice.build_up)
    ]


def _line(inputs: Inputs, face: Face, key: str, quantity: Decimal, reason: str, unit: str) -> dict:
    """An allowance of the catalogue by its key; `unit` where the catalogue has none of that key."""
    allowance = inputs.allowances.get(key)
    hours = quantity * allowance.hours_per_unit if allowance else Decimal(0)
    return {
        "face": face.key,
        "description": allowance.name if allowance else key.replace("-", " ").capitalize(),
        "reason": reason,
        "quantity": f"{quantity:.2f}",
        "unit": allowance.unit if allowance else unit,
        "hours": f"{_hundredth(hours):.2f}",
        "hours_per_unit": f"{allowance.hours_per_unit}" if allowance else None,
        "rate_key": allowance.rate.key if allowance else RATE_KEY,
    }


def missing_allowances(inputs: Inputs, faces: list[Face]) -> list[str]:
    """Keys of preparation work that the catalogue holds no hours for."""
    wanted = {
        work.allowance_key
        for face in faces
        if face.patch is not None
        for work in preparation_for(face.patch, inputs.rules, face.choice.build_up)
    } | {work.allowance_key for _, work, _, _ in handling_of(faces)}
    return sorted(wanted - set(inputs.allowances))


def _is_wall(surface: Surface) -> bool:
    return surface.face == Surface.Face.WALL


def _hundredth(hours: Decimal) -> Decimal:
    return hours.quantize(HUNDREDTH, rounding=ROUND_HALF_UP)
