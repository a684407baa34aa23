"""Shares and gains of one noise by way in, from the engine's paths."""

from collections.abc import Container, Sequence
from dataclasses import dataclass, replace

import numpy as np

from acoustics import SOURCES
from acoustics.bands import a_weighted_shares
from acoustics.paths import named_paths
from contractor.jobs.models import NoiseHeard
from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Patch, Room
from contractor.rooms.prediction.bridge import receiving_room
from contractor.rooms.prediction.patches import opening_name, patch_name

FOOTSTEPS = "footsteps"
FIRST_OF = {
    NoiseHeard.Kind.SPEECH: "speech_normal",
    NoiseHeard.Kind.TELEVISION: "television",
    NoiseHeard.Kind.MUSIC: "music_bass",
    NoiseHeard.Kind.INSTRUMENT: "music_bass",
    NoiseHeard.Kind.FOOTSTEPS: FOOTSTEPS,
}
NOISES = {key: source.label for key, source in SOURCES.items()} | {FOOTSTEPS: "Footsteps"}


@dataclass(frozen=True, kw_only=True)
class Gain:
    """What one treatment does to a noise, in dB: as the only one built, and as the last to be added to the others."""

    where: str
    build_up: str
    alone_db: float
    last_db: float


@dataclass(frozen=True, kw_only=True)
class StripCost:
    """What a strip left clear costs, in dB of a noise, against a lining that goes all the way."""

    strip: Patch
    where: str
    reason: str
    cost_db: float


@dataclass(frozen=True)
class Built:
    """One treatment: the field of Inputs that holds it, the id there, and where it is."""

    field: str
    pk: int
    where: str
    choice: Choice


@dataclass(frozen=True)
class Gains:
    rows: list[Gain]
    together_db: float
    strips: list[StripCost]


def shares_of(paths: Sequence[dict], noise: str) -> list[tuple[float, float]]:
    """(before, after) share of each path of a prediction's JSON in the A-weighted level of a noise; each sums to one."""
    sides = []
    for side in ("reduction_before_db", "reduction_after_db"):
        energy = 10.0 ** (-np.array([path[side] for path in paths]) / 10.0) @ _weights(noise)
        sides.append(energy / energy.sum())
    return [(float(before), float(after)) for before, after in zip(*sides, strict=True)]


def gain_db(paths: Sequence[dict], noise: str) -> float:
    """How much less of a noise arrives after the work, A-weighted."""
    before, after = (
        float((10.0 ** (-np.array([path[side] for path in paths]) / 10.0) @ _weights(noise)).sum())
        for side in ("reduction_before_db", "reduction_after_db")
    )
    return 10.0 * float(np.log10(before / after))


def gains_of(inputs: Inputs, room: Room, noise: str) -> Gains:
    """What each treatment of the room that `inputs` build does, and what its strips cost. Raises CannotPredict."""

    built = _built_in(inputs, room)

    def energy(pairs: Sequence[Built]) -> float:
        chosen: dict[str, dict[int, Choice]] = {"on_patch": {}, "on_opening": {}, "on_side_path": {}}
        for one in pairs:
            chosen[one.field][one.pk] = one.choice
        return _energy(replace(inputs, **chosen), room, noise)

    nothing, everything = energy([]), energy(built)
    rows = [
        Gain(
            where=one.where,
            build_up=one.choice.build_up.name,
            alone_db=_less_db(nothing, energy([one])),
            last_db=_less_db(energy([other for other in built if other is not one]), everything),
        )
        for one in built
    ]
    return Gains(
        rows=sorted(rows, key=lambda row: -row.alone_db),
        together_db=_less_db(nothing, everything),
        strips=strips_of(inputs, room, noise),
    )


def _built_in(inputs: Inputs, room: Room) -> list[Built]:
    """Every treatment of one room, with the name of the way that it is on."""
    found = []
    for surface in room.surfaces.all():
        for patch in surface.patches.all():
            if choice := inputs.on_patch.get(patch.pk):
                found.append(Built("on_patch", patch.pk, patch_name(surface, patch), choice))
        for opening in surface.openings.all():
            if choice := inputs.on_opening.get(opening.pk):
                found.append(Built("on_opening", opening.pk, opening_name(surface, opening), choice))
    for path in room.side_paths.all():
        if choice := inputs.on_side_path.get(path.pk):
            found.append(Built("on_side_path", path.pk, path.name, choice))
    return found


def strips_of(inputs: Inputs, room: Room, noise: str) -> list[StripCost]:
    """Every strip left clear beside a lining that `inputs` build, dearest first. Raises CannotPredict."""
    strips = [
        (surface, patch)
        for surface in room.surfaces.all()
        for patch in surface.patches.all()
        if patch.is_strip and patch.strip_of_id in inputs.on_patch
    ]
    if not strips:
        return []
    now = _energy(inputs, room, noise)
    found = []
    for surface, patch in strips:
        whole = replace(inputs, on_patch=inputs.on_patch | {patch.pk: inputs.on_patch[patch.strip_of_id]})
        found.append(
            StripCost(
                strip=patch,
                where=patch_name(surface, patch),
                reason=patch.get_strip_reason_display(),
                cost_db=_less_db(now, _energy(whole, room, noise)),
            )
        )
    return sorted(found, key=lambda row: -row.cost_db)


def strips_in(inputs: Inputs, predicted: Container[str]) -> list[StripCost]:
    """The same over all rooms that could be predicted, for the noise told of first."""
    noise = first_noise(inputs.noises)
    airborne = "speech_normal" if noise == FOOTSTEPS else noise
    rooms = [room for room in inputs.rooms if str(room.pk) in predicted]
    return [strip for room in rooms for strip in strips_of(inputs, room, airborne)]


def first_noise(noises: Sequence[NoiseHeard]) -> str:
    """The noise that the household told of first, of those that something can be said of."""
    return next((FIRST_OF[noise.kind] for noise in noises if noise.kind in FIRST_OF), "speech_normal")


def _energy(inputs: Inputs, room: Room, noise: str) -> float:
    weights = _weights(noise)
    return float(sum(path.after @ weights for path in named_paths(receiving_room(inputs, room))))


def _weights(noise: str) -> np.ndarray:
    return a_weighted_shares(SOURCES[noise].levels_db)


def _less_db(before: float, after: float) -> float:
    return 10.0 * float(np.log10(before / after))
