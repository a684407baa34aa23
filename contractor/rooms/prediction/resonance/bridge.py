"""Resonances of what is built that lie in the noises told of.

Around the frequency where a lining swings on the air or mat behind it, it insulates less than its mass promises, and
may let more through than the bare wall did.
"""

from acoustics import BANDS_HZ
from acoustics.buildup import resonances_hz
from contractor.catalogue.bridge import treated_element
from contractor.catalogue.models import BuildUp
from contractor.jobs.models import NoiseHeard
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Patch, Room, Surface
from contractor.rooms.prediction.patches import patch_name
from contractor.rooms.preparation import face_comes_off

Kind = NoiseHeard.Kind
# Where each noise carries its strength, in Hz, and what it is called (common practice).
CARRIED_HZ = {
    Kind.MUSIC: (40, 250, "the music with bass"),
    Kind.INSTRUMENT: (40, 500, "the instrument"),
    Kind.TELEVISION: (80, 500, "the television"),
    Kind.SPEECH: (100, 1000, "the voices"),
    Kind.FOOTSTEPS: (30, 200, "the footsteps"),
    Kind.FURNITURE: (50, 500, "the furniture moved"),
}
FROM_ABOVE = {Kind.FOOTSTEPS, Kind.FURNITURE}  # these reach the room through its ceiling
HARM_DB = 0.5


def resonances_heard(inputs: Inputs, room: Room) -> dict[str, tuple[int, str]]:
    """By the name of the treated place, the lowest resonance in Hz that lies in a noise told of, and that noise."""
    kinds = [noise.kind for noise in inputs.noises if noise.kind in CARRIED_HZ]
    found = {}
    for surface in room.surfaces.all():
        is_above = surface.face == Surface.Face.CEILING
        told = [CARRIED_HZ[kind] for kind in kinds if is_above or kind not in FROM_ABOVE]
        for patch in surface.patches.all():
            choice = inputs.on_patch.get(patch.pk)
            heard = _heard(inputs, surface, patch, choice.build_up, told) if choice else None
            if heard is not None:
                found[patch_name(surface, patch)] = heard
    return found


def _heard(
    inputs: Inputs, surface: Surface, patch: Patch, build_up: BuildUp, told: list[tuple[int, int, str]]
) -> tuple[int, str] | None:
    element = treated_element(
        build_up,
        patch.construction,
        seen_from_above=surface.face == Surface.Face.FLOOR,
        face_comes_off=face_comes_off(patch, inputs.rules),
    )
    for hz in resonances_hz(element) if element is not None else ():
        for low, high, noise in told:
            if low <= hz <= high:
                return round(hz), noise
    return None


def remark_on(place: str, heard: tuple[int, str], before_db: list[float], after_db: list[float]) -> str:
    """A sentence for the place, from its reductions by band as it is and after the work."""
    hz, noise = heard
    band = min(range(len(BANDS_HZ)), key=lambda n: abs(BANDS_HZ[n] - hz))
    near = range(max(band - 1, 0), min(band + 2, len(BANDS_HZ)))
    harm_db = max(before_db[n] - after_db[n] for n in near)
    effect = "around it the lining does little"
    if harm_db > HARM_DB:
        effect = f"there it lets up to {harm_db:.0f} dB more through than before"
    return f"{place}: its resonance at {hz} Hz lies in {noise} that they hear; {effect}."
