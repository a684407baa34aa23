"""What may be built on each place of a room and what it takes up; and what may not, with the reason."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace

from contractor.catalogue.models import BuildUp
from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Room, Rule, Surface
from contractor.rooms.planning.quick import quick_takeoff
from contractor.rooms.rules import blocks, verdicts
from contractor.rooms.rules.facts import facts_of_build_up
from contractor.rooms.selectors_schemes import Place, places_of
from contractor.rooms.takeoff.faces import net_area_mm2

LEVEL = (Surface.Face.CEILING, Surface.Face.FLOOR)  # carried by joists


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A build-up on a place: `takeoff` is a quick one of it alone, in the form that is priced (see quick.py)."""

    place: Place
    choice: Choice
    takeoff: Mapping
    depth_mm: float
    area_lost_m2: float
    adds_kg_m2: float
    mass_kg: float
    remarks: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return str(self.choice.build_up.pk)


@dataclass(frozen=True, kw_only=True)
class Refused:
    """`for_depth` and `for_weight` say that nothing but the depth given, or the weight allowed, stands in the way."""

    place: Place
    build_up: BuildUp
    reason: str
    for_depth: bool = False
    for_weight: bool = False


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """What the office asks of every single place, beyond what the survey gives. None: no bound."""

    depth_mm: int | None = None
    joists_kg_m2: float | None = None


@dataclass(frozen=True)
class Offered:
    places: list[Place]
    candidates: list[Candidate]
    refused: list[Refused]


def offered(inputs: Inputs, room: Room, build_ups: Mapping[int, BuildUp], bounds: Bounds) -> Offered:
    """Everything in the catalogue for the room, tried on each place. `build_ups` by id, with their layers."""
    places = places_of([room])
    candidates: list[Candidate] = []
    refused: list[Refused] = []
    for place in places:
        for fit in place.fits:
            build_up = build_ups[fit.build_up.pk]
            found = _tried(inputs, place, build_up, fit.why_not, bounds)
            (candidates if isinstance(found, Candidate) else refused).append(found)
    return Offered(places, candidates, refused)


def only(inputs: Inputs, place: Place, choice: Choice) -> Inputs:
    """The inputs with nothing built but this."""
    return replace(
        inputs,
        on_patch={place.patch.pk: choice} if place.patch else {},
        on_opening={place.opening.pk: choice} if place.opening else {},
        on_side_path={place.side_path.pk: choice} if place.side_path else {},
    )


def _tried(inputs: Inputs, place: Place, build_up: BuildUp, why_not: str, bounds: Bounds) -> Candidate | Refused:
    adds_kg_m2, remarks = 0.0, ()
    if place.patch is not None:
        found = verdicts(place.patch, build_up, sheet=inputs.rules)
        forbidden = [verdict.reason for verdict in blocks(found)]
        if forbidden:
            return Refused(place=place, build_up=build_up, reason=" ".join(forbidden))
        remarks = tuple(v.reason for v in found if v.kind in (Rule.Effect.WARN, Rule.Effect.GATE) and v.counts)
        adds_kg_m2 = float(facts_of_build_up(build_up, place.patch)["adds_kg_m2"])
    reason = why_not or _beyond(build_up, adds_kg_m2 if _on_joists(place) else 0.0, bounds)
    if reason:
        for_weight = not why_not and "kg" in reason
        return Refused(
            place=place,
            build_up=build_up,
            reason=reason[:1].upper() + reason[1:],
            for_depth=place.patch is not None and place.patch.depth_limit_mm is not None and not for_weight,
            for_weight=for_weight,
        )
    return candidate_of(inputs, place, build_up, adds_kg_m2=adds_kg_m2, remarks=remarks)


def candidate_of(
    inputs: Inputs,
    place: Place,
    build_up: BuildUp,
    *,
    adds_kg_m2: float = 0.0,
    remarks: Iterable[str] = (),
    despite_depth: bool = False,
) -> Candidate | Refused:
    """The candidate with what it takes; refused where it cannot be taken off."""
    choice = Choice(build_up=build_up)
    with _deep_enough(place, build_up) if despite_depth else nullcontext():
        takeoff = quick_takeoff(only(inputs, place, choice))
    problems = [face["problem"] for face in takeoff["faces"] if face["problem"]]
    if problems or not takeoff["faces"]:
        return Refused(
            place=place, build_up=build_up, reason=problems[0] if problems else "Nothing is left to build on"
        )
    area_m2 = net_area_mm2(place.patch.surface, place.patch) / 1e6 if place.patch else 0.0
    depth_mm = float(build_up.depth_mm) if place.patch else 0.0
    return Candidate(
        place=place,
        choice=choice,
        takeoff=takeoff,
        depth_mm=depth_mm,
        area_lost_m2=_area_lost_m2(place, area_m2, depth_mm),
        adds_kg_m2=adds_kg_m2,
        mass_kg=max(adds_kg_m2, 0.0) * area_m2 if _on_joists(place) else 0.0,
        remarks=tuple(dict.fromkeys(remarks)),
    )


@contextmanager
def _deep_enough(place: Place, build_up: BuildUp) -> Iterator[None]:
    """The row in memory gives the depth needed for a while: to ask what more depth would bring. Nothing is saved."""
    given_mm = place.patch.depth_limit_mm
    place.patch.depth_limit_mm = max(given_mm, int(build_up.depth_mm) + 1)
    try:
        yield
    finally:
        place.patch.depth_limit_mm = given_mm


def _on_joists(place: Place) -> bool:
    return place.patch is not None and place.patch.surface.face in LEVEL


def _beyond(build_up: BuildUp, adds_kg_m2: float, bounds: Bounds) -> str:
    if bounds.depth_mm is not None and build_up.depth_mm > bounds.depth_mm:
        return f"needs {build_up.depth_mm.normalize():f} mm and the plan allows {bounds.depth_mm} mm"
    if bounds.joists_kg_m2 is not None and adds_kg_m2 > bounds.joists_kg_m2:
        return f"adds {adds_kg_m2:.1f} kg/m² to the joists and the plan allows {bounds.joists_kg_m2:g} kg/m²"
    return ""


def _area_lost_m2(place: Place, area_m2: float, depth_mm: float) -> float:
    """Floor taken by a wall's lining: its depth along the width of the patch, where the patch comes down to the floor."""
    if place.patch is None or place.patch.surface.face != Surface.Face.WALL:
        return 0.0
    patch, height_mm = place.patch, place.patch.surface.height_mm
    if not patch.is_rest:
        return 0.0 if patch.y_mm > 0 else depth_mm * patch.width_mm / 1e6
    return depth_mm * area_m2 / height_mm
