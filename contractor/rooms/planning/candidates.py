"""What may be built on each place of a room and what it takes up; and what may not, with the reason."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field, replace

from contractor.catalogue.models import BuildUp
from contractor.rooms.inputs import Choice, Inputs
from contractor.rooms.models import Patch, Room, Rule, Surface
from contractor.rooms.planning.quick import quick_takeoff
from contractor.rooms.rules import blocks, verdicts
from contractor.rooms.rules.facts import facts_of_build_up
from contractor.rooms.selectors_schemes import Place, places_of, why_unfit
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


@dataclass(frozen=True)
class Limit:
    """A limit on a place, as it is told; one on weight holds for all that joists carry."""

    what: str
    is_depth: bool = False


WEIGHT = Limit("the weight allowed on the joists")


@dataclass(frozen=True, kw_only=True)
class Refused:
    """`limits` are those that alone stand in the way: lift them all and it may be built. Empty where more does."""

    place: Place
    build_up: BuildUp
    reason: str
    limits: frozenset[Limit] = frozenset()


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """What the office asks of every single place, beyond what the survey gives. None: no bound.

    `depth_at_mm` by patch id goes before `depth_mm`; nothing is built where it is 0.
    """

    depth_mm: int | None = None
    depth_at_mm: Mapping[int, int] = field(default_factory=dict)
    joists_kg_m2: float | None = None

    def depth_on_mm(self, patch: Patch) -> int | None:
        return self.depth_at_mm.get(patch.pk, self.depth_mm)


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
    found = verdicts(place.ruled, build_up, sheet=inputs.rules)
    forbidden = [verdict.reason for verdict in blocks(found)]
    if forbidden:
        return Refused(place=place, build_up=build_up, reason=" ".join(forbidden))
    remarks = tuple(v.reason for v in found if v.kind in (Rule.Effect.WARN, Rule.Effect.GATE) and v.counts)
    if place.patch is None:
        return candidate_of(inputs, place, build_up, remarks=remarks)
    adds_kg_m2 = float(facts_of_build_up(build_up, place.patch)["adds_kg_m2"])
    beyond = _beyond(build_up, place, adds_kg_m2, bounds)
    if why_not or beyond:
        with _deep_enough(place.patch, build_up):
            is_barred_by_limits_alone = not why_unfit(build_up, place.patch)
        return Refused(
            place=place,
            build_up=build_up,
            reason=_capital(why_not or next(iter(beyond.values()))),
            limits=frozenset(beyond) if is_barred_by_limits_alone else frozenset(),
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
    with _deep_enough(place.patch, build_up) if despite_depth else nullcontext():
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
def _deep_enough(patch: Patch, build_up: BuildUp) -> Iterator[None]:
    """The row in memory gives the depth needed for a while, if it gives any: to ask what more depth would bring.

    Nothing is saved.
    """
    given_mm = patch.depth_limit_mm
    patch.depth_limit_mm = given_mm and max(given_mm, int(build_up.depth_mm) + 1)
    try:
        yield
    finally:
        patch.depth_limit_mm = given_mm


def _on_joists(place: Place) -> bool:
    return place.patch is not None and place.patch.surface.face in LEVEL


def _beyond(build_up: BuildUp, place: Place, adds_kg_m2: float, bounds: Bounds) -> dict[Limit, str]:
    """The limits, of the survey or of the plan, that a build-up on a patch goes beyond, each with a reason."""
    found = {}
    given_mm, allowed_mm = place.patch.depth_limit_mm, bounds.depth_on_mm(place.patch)
    least_mm = min((limit for limit in (given_mm, allowed_mm) if limit is not None), default=0)
    if build_up.depth_mm > least_mm:
        whose = f"{given_mm} mm is given" if least_mm == given_mm else f"the plan allows {allowed_mm} mm"
        limit = Limit(f"the limit of {least_mm} mm at {place.name}", is_depth=True)
        found[limit] = f"needs {build_up.depth_mm.normalize():f} mm and {whose}"
    if _on_joists(place) and bounds.joists_kg_m2 is not None and adds_kg_m2 > bounds.joists_kg_m2:
        weight = f"adds {adds_kg_m2:.1f} kg/m² to the joists"
        found[WEIGHT] = f"{weight} and the plan allows {bounds.joists_kg_m2:g} kg/m²"
    return found


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _area_lost_m2(place: Place, area_m2: float, depth_mm: float) -> float:
    """Floor taken by a wall's lining: its depth along the width of the patch, where the patch comes down to the floor."""
    if place.patch is None or place.patch.surface.face != Surface.Face.WALL:
        return 0.0
    patch, height_mm = place.patch, place.patch.surface.height_mm
    if not patch.is_rest:
        return 0.0 if patch.y_mm > 0 else depth_mm * patch.width_mm / 1e6
    return depth_mm * area_m2 / height_mm
