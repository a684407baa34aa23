"""Impact sound from the floor above, where the household told of it: indicative, direct way only."""

from acoustics import Element, KnownElement, improvement_db
from acoustics.impact import ImpactResult, predict_impact
from contractor.catalogue.bridge import element_of, lining_of, treated_element
from contractor.jobs.models import NoiseHeard
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Patch, Room, Surface
from contractor.rooms.prediction.patches import LEAST_AREA_MM2
from contractor.rooms.preparation import face_comes_off
from contractor.rooms.takeoff.faces import net_area_mm2

STRUCK = {NoiseHeard.Kind.FOOTSTEPS, NoiseHeard.Kind.FURNITURE}
NOT_FROM_ABOVE = (
    "Footsteps or furniture are told of, and no ceiling of this room stands between it and the noise. What reaches a "
    "room through walls or from below when a floor is struck is not predicted."
)


def impact_of(inputs: Inputs, room: Room) -> dict | None:
    """None where no blows on a floor are told of; `why_not` where they cannot be predicted; else both sides.

    Where the ceiling has several parts, the one that lets most through is told of. Raises InputError.
    """
    if not any(noise.kind in STRUCK for noise in inputs.noises):
        return None
    above = [
        patch
        for surface in room.surfaces.all()
        if surface.role == Surface.Role.SEPARATING and surface.face == Surface.Face.CEILING
        for patch in surface.patches.all()
        if net_area_mm2(surface, patch) >= LEAST_AREA_MM2
    ]
    if not above:
        return {"why_not": NOT_FROM_ABOVE}
    sides = [_both_sides(inputs, patch, room.volume_m3) for patch in above]
    before, after = (max(side, key=lambda result: result.standardized_weighted_db) for side in zip(*sides, strict=True))
    return {"before": _told(before), "after": _told(after)}


def _both_sides(inputs: Inputs, patch: Patch, volume_m3: float) -> tuple[ImpactResult, ImpactResult]:
    found = element_of(patch.construction)
    before = predict_impact(found, volume_m3)
    built = _with_ceiling(inputs, patch, found)
    return before, predict_impact(built, volume_m3) if built else before


def _with_ceiling(inputs: Inputs, patch: Patch, found: Element | KnownElement) -> Element | KnownElement | None:
    choice = inputs.on_patch.get(patch.pk)
    if choice is None:
        return None
    strips = face_comes_off(patch, inputs.rules)
    if isinstance(found, Element):
        return treated_element(choice.build_up, patch.construction, face_comes_off=strips)
    lining = lining_of(choice.build_up, on=patch.construction, face_comes_off=strips)
    gained = zip(found.reduction_db, improvement_db(found, lining), strict=True)
    return KnownElement(
        reduction_db=tuple(db + float(gain) for db, gain in gained), surface_mass_kg_m2=found.surface_mass_kg_m2
    )


def _told(result: ImpactResult) -> dict:
    return {
        "weighted_db": result.standardized_weighted_db,
        "ci_db": result.ci_db,
        "standardized_db": [round(level, 1) for level in result.standardized_db],
        "uncertainty_db": round(result.uncertainty_db, 1),
    }
