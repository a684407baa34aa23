"""Turns a surveyed room and the treatments chosen for it into the engine's inputs, and its result into JSON."""

from dataclasses import replace

import numpy as np

from acoustics import (
    BANDS_HZ,
    ENGINE_VERSION,
    Face,
    FlankingPath,
    InputError,
    Junction,
    KnownLining,
    Lining,
    PathResult,
    Prediction,
    ReceivingRoom,
    SeparatingPatch,
    predict_room,
)
from acoustics.ratings import airborne_weighted_db
from contractor.catalogue.bridge import element_of, flanking_element_of, lining_of, opening_lining_of
from contractor.catalogue.models import Construction
from contractor.jobs.models import NoiseHeard
from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Patch, Room, Surface
from contractor.rooms.prediction.heard.bridge import heard_of
from contractor.rooms.prediction.impact.bridge import impact_of
from contractor.rooms.prediction.patches import LEAST_AREA_MM2, opening_name, patch_name
from contractor.rooms.prediction.resonance.bridge import remark_on, resonances_heard
from contractor.rooms.prediction.side_effects.bridge import side_effects_of
from contractor.rooms.prediction.side_paths.bridge import side_path_of
from contractor.rooms.preparation import face_comes_off
from contractor.rooms.takeoff.faces import net_area_mm2

__all__ = ["ENGINE_VERSION", "CannotPredict", "engine_prediction", "predict", "receiving_room"]

MUSICAL = {NoiseHeard.Kind.MUSIC, NoiseHeard.Kind.INSTRUMENT}
NOT_AIRBORNE = {
    NoiseHeard.Kind.FOOTSTEPS: "footsteps",
    NoiseHeard.Kind.FURNITURE: "furniture and doors",
    NoiseHeard.Kind.PIPES: "pipes",
    NoiseHeard.Kind.APPLIANCE: "appliances",
}


class CannotPredict(ValueError):
    """The survey does not hold enough to predict a room; the message says what to add or change."""


def predict(inputs: Inputs, room: Room) -> dict:
    """The prediction of one room as JSON. Raises CannotPredict."""
    factor = float(inputs.uncertainty_factor)
    result = with_ranges_times(factor, engine_prediction(receiving_room(inputs, room)))
    try:
        impact, side_effects = impact_of(inputs, room), side_effects_of(inputs, room)
    except InputError as error:
        raise CannotPredict(f"{room.name}: {error.message} ({error.field}).") from error
    heard = resonances_heard(inputs, room)
    paths = _paths(result, _surfaces_by_path(room), heard)
    return {
        "room": room.name,
        "volume_m3": round(room.volume_m3, 2),
        "bands_hz": list(BANDS_HZ),
        "before": _side(result.before),
        "after": _side(result.after),
        "uncertainty_factor": factor,
        "paths": paths,
        "limit_text": result.limit_text,
        "notices": _notices(inputs.noises, result) + _resonances(paths, heard),
        **heard_of(inputs.noises, room, result, impact),
        "impact": impact,
        "side_effects": side_effects,
    }


def engine_prediction(room: ReceivingRoom) -> Prediction:
    """The engine's own answer. Raises CannotPredict."""
    try:
        return predict_room(room)
    except InputError as error:
        raise CannotPredict(f"{error.message} ({error.field}).") from error


def with_ranges_times(factor: float, result: Prediction) -> Prediction:
    """The same prediction with the uncertainty of both sides widened or narrowed; no level moves.

    Each way in keeps its own: what a firm measures is the sum of all of them.
    """
    before, after = (
        replace(
            side,
            uncertainty_db=side.uncertainty_db * factor,
            band_uncertainty_db=tuple(factor * spread for spread in side.band_uncertainty_db),
        )
        for side in (result.before, result.after)
    )
    return replace(result, before=before, after=after)


def receiving_room(inputs: Inputs, room: Room) -> ReceivingRoom:
    """The engine's room: separating patches and openings, flanking surfaces, side paths, and what is built on them."""
    separating: list[SeparatingPatch] = []
    flanking: list[FlankingPath] = []
    for surface in room.surfaces.all():
        if surface.role == Surface.Role.SEPARATING:
            separating += _separating(inputs, surface)
        elif surface.role == Surface.Role.FLANKING:
            flanking += _flanking(inputs, surface)
    if not separating:
        raise CannotPredict(f"{room.name}: say in the survey which surface stands between this room and the noise.")
    try:
        return ReceivingRoom(
            volume_m3=room.volume_m3,
            reverberation_s=float(room.reverberation_s),
            separating=tuple(separating),
            flanking=tuple(flanking),
            side_paths=tuple(
                side_path_of(room, path, inputs.on_side_path.get(path.pk)) for path in room.side_paths.all()
            ),
            spectrum="music" if any(noise.kind in MUSICAL for noise in inputs.noises) else "pink",
            called=_called(room),
        )
    except InputError as error:
        raise CannotPredict(f"{room.name}: {error.message} ({error.field}).") from error


def _called(room: Room) -> str:
    """What stands between the room and the noise, as a sentence calls it."""
    names = [s.name for s in room.surfaces.all() if s.role == Surface.Role.SEPARATING]
    return f"{names[0][:1].lower()}{names[0][1:]}" if len(names) == 1 else "separating surface"


def _separating(inputs: Inputs, surface: Surface) -> list[SeparatingPatch]:
    found = []
    for patch in surface.patches.all():
        area_mm2 = net_area_mm2(surface, patch)
        if area_mm2 < LEAST_AREA_MM2:
            continue
        with _named(surface, patch):
            element, lining = _treated(inputs, surface, patch)
            found.append(
                SeparatingPatch(name=patch_name(surface, patch), area_m2=area_mm2 / 1e6, element=element, lining=lining)
            )
    for opening in surface.openings.all():
        if opening.construction is not None:
            with _named(surface, opening):
                found.append(
                    SeparatingPatch(
                        name=opening_name(surface, opening),
                        area_m2=opening.width_mm * opening.height_mm / 1e6,
                        element=element_of(opening.construction),
                        lining=_in_opening(opening.construction, inputs.on_opening.get(opening.pk)),
                    )
                )
    return found


def _in_opening(found: Construction, choice: Choice | None) -> Lining | KnownLining | None:
    return opening_lining_of(choice.build_up, on=found) if choice else None


def _flanking(inputs: Inputs, surface: Surface) -> list[FlankingPath]:
    """One path per patch of a flanking surface; the length of the junction is shared out by area."""
    areas = {patch: net_area_mm2(surface, patch) for patch in surface.patches.all()}
    areas = {patch: area for patch, area in areas.items() if area >= LEAST_AREA_MM2}
    whole = sum(areas.values())
    found = []
    for patch, area_mm2 in areas.items():
        part = area_mm2 / whole
        with _named(surface, patch):
            _, lining = _treated(inputs, surface, patch)
            from_above = surface.face == Surface.Face.FLOOR
            element = flanking_element_of(patch.construction, seen_from_above=from_above)
            far = surface.far_construction or patch.construction
            far_m2 = float(surface.far_area_m2) * part if surface.far_area_m2 else area_mm2 / 1e6
            found.append(
                FlankingPath(
                    name=patch_name(surface, patch),
                    source=Face(element=flanking_element_of(far, seen_from_above=from_above), area_m2=far_m2),
                    receiving=Face(element=element, area_m2=area_mm2 / 1e6, lining=lining),
                    junction=Junction(kind=surface.junction, length_m=surface.junction_length_mm * part / 1000),
                )
            )
    return found


def _treated(inputs: Inputs, surface: Surface, patch: Patch):
    """The element as found and the lining, which counts what the work takes off or puts into the old construction."""
    choice = inputs.on_patch.get(patch.pk)
    from_above = surface.face == Surface.Face.FLOOR
    element = element_of(patch.construction, seen_from_above=from_above)
    if choice is None:
        return element, None
    lining = lining_of(
        choice.build_up,
        on=patch.construction,
        seen_from_above=from_above,
        face_comes_off=face_comes_off(patch, inputs.rules),
    )
    return element, lining


class _named:
    """Says which surface and thing an engine's error is about."""

    def __init__(self, surface: Surface, thing) -> None:
        self.what = f"{surface.letter} {surface.name}, {thing}" if str(thing) != surface.name else str(surface)

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind, error, trace) -> None:
        if isinstance(error, InputError):
            raise CannotPredict(f"{self.what}: {error.message} ({error.field}).") from error


def _surfaces_by_path(room: Room) -> dict[str, Surface]:
    surfaces = {}
    for surface in room.surfaces.all():
        for patch in surface.patches.all():
            surfaces[patch_name(surface, patch)] = surface
        for opening in surface.openings.all():
            surfaces[opening_name(surface, opening)] = surface
    return surfaces


def _grouped(result: Prediction) -> list[list[PathResult]]:
    """The three routes over one junction are told as one way in."""
    groups: dict[str, list[PathResult]] = {}
    for path in result.paths:
        groups.setdefault(path.group, []).append(path)
    return list(groups.values())


def _paths(result: Prediction, surfaces: dict[str, Surface], heard: dict[str, tuple[int, str]]) -> list[dict]:
    groups = _grouped(result)
    before, after = (
        np.array([_summed([getattr(route, name) for route in routes]) for routes in groups])
        for name in ("reduction_before_db", "reduction_after_db")
    )
    rated = zip(airborne_weighted_db(before), airborne_weighted_db(after), strict=True)
    paths = [
        _path(routes, surfaces.get(routes[0].group), was, now, (int(rated_before), int(rated_after)))
        for routes, was, now, (rated_before, rated_after) in zip(groups, before, after, rated, strict=True)
    ]
    for path in paths:
        if path["name"] in heard:
            place = path["name"]
            remark = remark_on(place, heard[place], path["reduction_before_db"], path["reduction_after_db"])
            path["remarks"] = [remark, *path["remarks"]]
    return paths


def _path(routes: list[PathResult], surface: Surface | None, before, after, rated: tuple[int, int]) -> dict:
    first = routes[0]
    is_flanking = first.kind in ("Ff", "Df", "Fd")
    return {
        "name": first.group,
        "kind": "flanking" if is_flanking else first.kind,
        "surface": surface.letter if surface else None,
        "share_before": sum(route.share_before for route in routes),
        "share_after": sum(route.share_after for route in routes),
        "reduction_before_db": _tenths(before),
        "reduction_after_db": _tenths(after),
        "weighted_before_db": rated[0],
        "weighted_after_db": rated[1],
        # The routes over one junction share what is not known of it: they do not average out.
        "uncertainty_db": round(max(route.uncertainty_db for route in routes), 1),
        "uncertainty_after_db": round(max(route.uncertainty_after_db for route in routes), 1),
        "remarks": list(dict.fromkeys(notice.text for route in routes for notice in route.notices)),
        "basis": _flanking_basis(surface) if is_flanking and surface else first.basis,
    }


def _resonances(paths: list[dict], heard: dict[str, tuple[int, str]]) -> list[dict]:
    """The remarks on resonances once more, for where the ways in are not told one by one."""
    return [{"code": "resonance_heard", "text": path["remarks"][0]} for path in paths if path["name"] in heard]


def _flanking_basis(surface: Surface) -> str:
    junction = surface.get_junction_display().partition(":")[0]
    return f"ISO 12354-1 by band, all three routes; junction: {junction[0].lower()}{junction[1:]}"


def _summed(reductions_db: list) -> np.ndarray:
    return -10 * np.log10(np.sum(10 ** (-np.array(reductions_db) / 10), axis=0))


def _side(result) -> dict:
    return {
        "standardized_db": _tenths(result.standardized_db),
        "weighted_db": result.weighted_db,
        "c_db": result.c_db,
        "ctr_db": result.ctr_db,
        "uncertainty_db": round(result.uncertainty_db, 1),
        "band_uncertainty_db": _tenths(result.band_uncertainty_db),
    }


def _notices(noises: list[NoiseHeard], result: Prediction) -> list[dict]:
    told = {}
    struck = list(dict.fromkeys(NOT_AIRBORNE[noise.kind] for noise in noises if noise.kind in NOT_AIRBORNE))
    if struck:
        text = f"Told of: {', '.join(struck)}. These shake the building itself; this prediction is of sound through the air."
        told[text] = "not_airborne"
    for notice in [*result.notices, *(n for path in result.paths for n in path.notices)]:
        told[notice.text] = notice.code
    return [{"code": code, "text": text} for text, code in told.items()]


def _tenths(levels_db) -> list[float]:
    return [round(float(level), 1) for level in levels_db]
