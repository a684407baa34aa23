"""The shape of a room: plan, heights, the elevation of each wall and the true size of its ceiling.

`room_shape(room)` is what drawings, predictions and the take-off ask. Plan coordinates as in walk.py: mm, x along the
first wall, y down the plan into the room; z up from a level line through the floor at the first corner.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from shapely import LineString, Polygon

from contractor.rooms.ceiling import Facet, facets_of
from contractor.rooms.models import Room, Surface
from contractor.rooms.rings import Ring, from_bottom_left, without_doubles
from contractor.rooms.walk import HeightAt, Leg, Misclosure, Point, Walk, adjusted, misclosure_of, walked

LEVEL_DEG = 2  # a ceiling sloped less than this is called level


@dataclass(frozen=True, kw_only=True)
class Wall:
    """One wall of the walk. `start` and `end` on the plan run left to right as seen from inside; `outline_mm` is its
    elevation from its bottom left corner. `surface` is the surface drawn on it, where there is one."""

    number: int
    length_mm: int
    start: Point
    end: Point
    start_height_mm: int
    end_height_mm: int
    outline_mm: Ring
    surface: Surface | None = None

    @property
    def letter(self) -> str:
        return self.surface.letter if self.surface else wall_letter(self.number)

    @property
    def along(self) -> Point:
        """The unit vector from its left end to its right."""
        length = LineString([self.start, self.end]).length or 1.0
        return (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length

    @property
    def inward(self) -> Point:
        """The unit vector into the room."""
        x, y = self.along
        return -y, x

    def place(self, along_mm: float, into_mm: float = 0.0) -> Point:
        """A point of the plan by its distance from the wall's left end and into the room. Lengths along the wall are as
        measured; the plan's are those that close."""
        scale = LineString([self.start, self.end]).length / self.length_mm if self.length_mm else 1.0
        (along_x, along_y), (in_x, in_y) = self.along, self.inward
        along_mm *= scale
        return (
            self.start[0] + along_x * along_mm + in_x * into_mm,
            self.start[1] + along_y * along_mm + in_y * into_mm,
        )


@dataclass(frozen=True, kw_only=True)
class RoomShape:
    """`corners_mm[k]` is the left end of `walls[k]`; `heights_mm` and `floors_mm` (floor below the level line) are at
    the corners. `facets` are the flat parts of the ceiling. Areas in mm², volume in mm³."""

    corners_mm: list[tuple[int, int]]
    heights_mm: list[int]
    floors_mm: list[int]
    walls: list[Wall]
    facets: list[Facet]
    misclosure: Misclosure
    walk: Walk
    floor_outline_mm: Ring
    floor_surface: Surface | None
    area_mm2: float
    volume_mm3: float
    problems: list[str] = field(default_factory=list)

    @property
    def plan(self) -> Polygon:
        return Polygon(self.corners_mm)

    @property
    def area_m2(self) -> float:
        return self.area_mm2 / 1e6

    @property
    def lowest_mm(self) -> int:
        return min([*self.heights_mm, *(height.height_mm for height in self.walk.heights)])

    @property
    def highest_mm(self) -> int:
        return max([*self.heights_mm, *(height.height_mm for height in self.walk.heights)])

    @property
    def is_level(self) -> bool:
        return self.lowest_mm == self.highest_mm

    @property
    def extent_mm(self) -> tuple[int, int]:
        """Greatest length along the first wall and greatest width across it."""
        xs, ys = [x for x, _ in self.corners_mm], [y for _, y in self.corners_mm]
        return max(xs) - min(xs), max(ys) - min(ys)

    def wall_of(self, surface: Surface) -> Wall | None:
        return next((wall for wall in self.walls if wall.surface == surface), None)


def shared_edge_mm(shape: RoomShape, one: Surface, other: Surface) -> int | None:
    """The edge at which two surfaces of a walk meet; None where they do not, or one is not of the walk."""
    walls = [wall for wall in (shape.wall_of(one), shape.wall_of(other)) if wall]
    if len(walls) == 2:
        before, after = sorted(walls, key=lambda wall: wall.number)
        if (before.number, after.number) == (1, len(shape.walls)):
            before, after = after, before
        return after.start_height_mm if after.number == before.number % len(shape.walls) + 1 else None
    if len(walls) == 1:
        if shape.floor_surface in (one, other):
            return walls[0].length_mm
        facet = next((facet for facet in shape.facets if facet.surface in (one, other)), None)
        edge_mm = round(facet.edge_along_mm(walls[0].start, walls[0].end)) if facet else 0
        return edge_mm or None
    return None


def walk_of(room: Room) -> Walk:
    """The room's walk. One surveyed by length, width and height alone is a rectangle, whose walls A to D may have
    lengths of their own. Reads `room.surfaces`, which is mostly loaded."""
    if room.outline:
        return Walk.from_json(room.outline)
    own = {s.letter: s.length_mm for s in room.surfaces.all() if s.face == Surface.Face.WALL} if room.pk else {}
    sides = zip("ABCD", [room.length_mm, room.width_mm] * 2, strict=True)
    return Walk(legs=tuple(Leg(length_mm=own.get(side, mm), height_mm=room.height_mm) for side, mm in sides))


def room_shape(room: Room) -> RoomShape:
    """The room's shape with its surfaces. Reads `room.surfaces`, which is mostly loaded; one query if not."""
    return shape_of(walk_of(room), list(room.surfaces.all()) if room.pk else [])


def shape_of(walk: Walk, surfaces: Sequence[Surface] = ()) -> RoomShape:
    """The shape of a walk whose lengths are all known. One that crosses itself has area and volume nought, and says so
    among its problems."""
    corners = adjusted(walk)
    by_place = {(s.face, place_of(s, len(walk.legs))): s for s in surfaces}
    walls = _walls(walk, [*corners, corners[0]], by_place)
    plan = Polygon(corners) if len(corners) > 2 else Polygon()
    problems: list[str] = []
    facets: list[Facet] = []
    if plan.is_valid and plan.area:
        ceilings = {place: s for (face, place), s in by_place.items() if face == Surface.Face.CEILING}
        facets, problems = facets_of(walk, walls, plan, ceilings)
    else:
        problems = ["The walls cross one another: look at the turns."]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    # The floor is seen from above with the first wall at the top: its own y runs up.
    floor = tuple((round(x - min(xs)), round(max(ys) - y)) for x, y in reversed(corners))
    return RoomShape(
        corners_mm=[(round(x), round(y)) for x, y in corners],
        heights_mm=[leg.height_mm for leg in walk.legs],
        floors_mm=[leg.floor_mm for leg in walk.legs],
        walls=walls,
        facets=facets,
        misclosure=misclosure_of(walk),
        walk=walk,
        floor_outline_mm=from_bottom_left(floor),
        floor_surface=by_place.get((Surface.Face.FLOOR, 1)),
        area_mm2=plan.area if plan.is_valid else 0.0,
        volume_mm3=sum(facet.volume_mm3 for facet in facets),
        problems=problems,
    )


def walls_as_walked(walk: Walk, surfaces: Sequence[Surface] = ()) -> list[Wall]:
    """The walls as far as their lengths are known, each from where the last one ended, whether they close or not."""
    known = next((i for i, leg in enumerate(walk.legs) if leg.length_mm is None), len(walk.legs))
    by_place = {(s.face, place_of(s, len(walk.legs))): s for s in surfaces}
    return _walls(walk, walked(walk.legs[:known]), by_place) if known else []


def place_of(surface: Surface, walls: int) -> int | None:
    """Which wall, or flat part of the ceiling, the surface is. Rooms surveyed before they were walked round have their
    walls A to D on the sides of a rectangle."""
    if surface.place is not None:
        return surface.place
    if surface.face != Surface.Face.WALL:
        return 1
    number = ord(surface.letter[:1] or "?") - ord("A") + 1
    return number if walls == 4 and len(surface.letter) == 1 and 1 <= number <= 4 else None


def wall_letter(number: int) -> str:
    """A, B … Z, then AA, AB …"""
    return chr(64 + number) if number <= 26 else f"A{chr(64 + number - 26)}"


def facet_name(facet: Facet) -> str:
    return "Sloped ceiling" if facet.slope_deg >= LEVEL_DEG else "Ceiling"


def _walls(walk: Walk, corners: list[Point], by_place: dict) -> list[Wall]:
    """The walls between `corners`, one more than walls."""
    return [
        Wall(
            number=number,
            length_mm=leg.length_mm,
            start=start,
            end=end,
            start_height_mm=leg.height_mm,
            end_height_mm=walk.legs[number % len(walk.legs)].height_mm,
            outline_mm=_elevation(walk, number),
            surface=by_place.get((Surface.Face.WALL, number)),
        )
        for number, (leg, (start, end)) in enumerate(zip(walk.legs, pairwise(corners), strict=False), start=1)
    ]


def _elevation(walk: Walk, number: int) -> Ring:
    """The wall as seen from inside, from its bottom left corner: y = 0 is the lowest point of its floor."""
    leg, after = walk.legs[number - 1], walk.legs[number % len(walk.legs)]
    length_mm, along = leg.length_mm, [height for height in walk.heights if height.wall == number]
    lowest = max(leg.floor_mm, after.floor_mm)

    def floor_mm(at_mm: int) -> float:
        share = at_mm / length_mm if length_mm else 0
        return lowest - (leg.floor_mm + (after.floor_mm - leg.floor_mm) * share)

    top = [(0, leg.height_mm), *((h.at_mm, h.height_mm) for h in _in_order(along)), (length_mm, after.height_mm)]
    above = [(at_mm, round(floor_mm(at_mm) + height_mm)) for at_mm, height_mm in top]
    ring = [(0, round(floor_mm(0))), (length_mm, round(floor_mm(length_mm))), *reversed(above)]
    return without_doubles(ring)


def _in_order(along: list[HeightAt]) -> list[HeightAt]:
    return sorted(along, key=lambda height: height.at_mm)  # stable: of two at one place the first stays on the left
