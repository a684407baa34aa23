"""The walk round a room: lengths along the walls with the turn at the end of each, as typed, and whether it closes.

Pure numbers. Plan coordinates in mm: the first wall starts at (0, 0) and runs along x; y runs down the plan, into the
room, so that a walk with the room on the right hand runs clockwise as seen from above, and left to right along each
wall as seen from inside. Wall number k starts at corner number k; numbers begin with 1.

Surveying here is common practice: a misclosure within 5 mm of reading for each wall is spread over the walls in
proportion to their lengths (compass rule).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

READING_MM = 5
FULL_TURN = 360.0
Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Leg:
    """One wall: its length (None: not measured), the turn at its end in degrees (to the right, clockwise, above zero),
    and at its start the height from floor to ceiling and how far the floor lies below a level line (or above: < 0)."""

    length_mm: int | None
    turn_deg: float = 90.0
    height_mm: int = 2400
    floor_mm: int = 0


@dataclass(frozen=True, kw_only=True)
class HeightAt:
    """A height from floor to ceiling measured along a wall. Two with the same `fold` (1, 2 …) are the ends of a line in
    which the ceiling changes its slope; two at the same place are a step, the first on its left."""

    wall: int
    at_mm: int
    height_mm: int
    fold: int = 0


@dataclass(frozen=True, kw_only=True)
class Diagonal:
    """A length measured from corner to corner, as a check."""

    from_corner: int
    to_corner: int
    length_mm: int


@dataclass(frozen=True, kw_only=True)
class Walk:
    """A whole walk as typed. `corner` names the corner from which it starts."""

    legs: tuple[Leg, ...]
    heights: tuple[HeightAt, ...] = ()
    diagonals: tuple[Diagonal, ...] = ()
    corner: str = ""
    worked_out: tuple[int, ...] = ()  # numbers of the walls whose length follows from the others

    @classmethod
    def rectangle(cls, length_mm: int, width_mm: int, height_mm: int) -> "Walk":
        sides = (length_mm, width_mm, length_mm, width_mm)
        return cls(legs=tuple(Leg(length_mm=side, height_mm=height_mm) for side in sides))

    @classmethod
    def from_json(cls, kept: dict) -> "Walk":
        return cls(
            legs=tuple(Leg(**leg) for leg in kept["walls"]),
            heights=tuple(HeightAt(**height) for height in kept.get("heights", ())),
            diagonals=tuple(Diagonal(**diagonal) for diagonal in kept.get("diagonals", ())),
            corner=kept.get("corner", ""),
            worked_out=tuple(kept.get("worked_out", ())),
        )

    def to_json(self) -> dict:
        return {
            "corner": self.corner,
            "walls": [vars(leg) for leg in self.legs],
            "heights": [vars(height) for height in self.heights],
            "diagonals": [vars(diagonal) for diagonal in self.diagonals],
            "worked_out": list(self.worked_out),
        }

    @property
    def length_mm(self) -> int:
        return sum(leg.length_mm or 0 for leg in self.legs)

    @property
    def tolerance_mm(self) -> int:
        return READING_MM * len(self.legs)


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A wall whose change by `by_mm`, or a corner (at the end of that wall) whose turn by `by_deg`, would close it."""

    wall: int
    by_mm: int = 0
    by_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Misclosure:
    """How far the end of the walk lies from its start, and what may be wrong, the likeliest first."""

    x_mm: float
    y_mm: float
    turns_deg: float  # what the turns add up to more than a full turn
    tolerance_mm: int
    suspects: tuple[Suspect, ...] = field(default=())

    @property
    def mm(self) -> int:
        return round(math.hypot(self.x_mm, self.y_mm))

    @property
    def closes(self) -> bool:
        return self.mm <= self.tolerance_mm and abs(self.turns_deg) < 5


def directions(legs: Sequence[Leg]) -> list[Point]:
    """The unit vector along each wall."""
    found, heading = [], 0.0
    for leg in legs:
        found.append((math.cos(math.radians(heading)), math.sin(math.radians(heading))))
        heading += leg.turn_deg
    return found


def walked(legs: Sequence[Leg]) -> list[Point]:
    """The corners as walked, one more than walls: the last is where the walk ends."""
    points = [(0.0, 0.0)]
    for leg, (along_x, along_y) in zip(legs, directions(legs), strict=True):
        x, y = points[-1]
        points.append((x + along_x * (leg.length_mm or 0), y + along_y * (leg.length_mm or 0)))
    return points


def completed(walk: Walk) -> Walk | None:
    """The walk with up to two lengths that were not measured worked out from the others; None where that can't be."""
    unknown = [i for i, leg in enumerate(walk.legs) if leg.length_mm is None]
    if not unknown:
        return walk
    along = np.array(directions(walk.legs))
    if len(unknown) > 2 or (len(unknown) == 2 and abs(np.linalg.det(along[unknown])) < 0.02):
        return None
    end = np.array(walked(walk.legs)[-1])
    lengths = np.linalg.lstsq(along[unknown].T, -end, rcond=None)[0]
    if min(lengths) < 1:
        return None
    legs = list(walk.legs)
    for i, length_mm in zip(unknown, lengths, strict=True):
        legs[i] = replace(legs[i], length_mm=round(float(length_mm)))
    return replace(walk, legs=tuple(legs), worked_out=tuple(i + 1 for i in unknown))


def misclosure_of(walk: Walk) -> Misclosure:
    """How far the walk is from closing; every length known."""
    x_mm, y_mm = walked(walk.legs)[-1]
    off = Misclosure(
        x_mm=x_mm,
        y_mm=y_mm,
        turns_deg=sum(leg.turn_deg for leg in walk.legs) - FULL_TURN,
        tolerance_mm=walk.tolerance_mm,
    )
    return off if off.closes else replace(off, suspects=tuple(_suspects(walk, off)))


def _suspects(walk: Walk, off: Misclosure) -> list[Suspect]:
    """Single changes that would close the walk: of a turn taken the wrong way, of a length, of an angle."""
    if abs(off.turns_deg) >= 5:
        return [
            Suspect(wall=i + 1, by_deg=-2 * leg.turn_deg)
            for i, leg in enumerate(walk.legs)
            if abs(2 * leg.turn_deg - off.turns_deg) < 5
        ]
    end, found = np.array([off.x_mm, off.y_mm]), []
    for i, along in enumerate(np.array(directions(walk.legs))):
        by_mm = -float(end @ along)
        if np.linalg.norm(end + by_mm * along) <= off.tolerance_mm and walk.legs[i].length_mm + by_mm >= 1:
            found.append((abs(by_mm), Suspect(wall=i + 1, by_mm=round(by_mm))))
    for i, corner in enumerate(np.array(walked(walk.legs))[1:-1], start=1):
        arm = end - corner  # turning at a corner swings the end round it
        swing = np.array([-arm[1], arm[0]])
        by_rad = -float(end @ swing) / float(swing @ swing)
        if np.linalg.norm(end + by_rad * swing) <= off.tolerance_mm and abs(by_rad) < 0.2:
            found.append((2 * off.mm, Suspect(wall=i, by_deg=round(math.degrees(by_rad), 1))))
    return [suspect for _, suspect in sorted(found, key=lambda row: row[0])]


def adjusted(walk: Walk) -> list[Point]:
    """The corners with the misclosure spread over the walls in proportion to their lengths; they close exactly."""
    points = walked(walk.legs)
    end_x, end_y = points[-1]
    whole, so_far, found = walk.length_mm or 1, 0, []
    for (x, y), leg in zip(points, walk.legs, strict=False):
        found.append((x - end_x * so_far / whole, y - end_y * so_far / whole))
        so_far += leg.length_mm or 0
    return found
