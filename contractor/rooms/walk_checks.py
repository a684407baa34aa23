"""The check sums of a walk in words: whether it closes, by how much and where not, and what nothing checks."""

from contractor.common.templatetags.wording import mm
from contractor.rooms.shape import RoomShape, wall_letter
from contractor.rooms.walk import Diagonal, Misclosure, Suspect

FLAT_MM = 10  # out of one plane by less is how ceilings are
SPREAD = "spread over the walls in proportion to their lengths"


def corner(number: int, walls: int) -> str:
    """The corner at the left end of wall `number`, named by the walls that meet there."""
    return f"{wall_letter((number - 2) % walls + 1)}–{wall_letter((number - 1) % walls + 1)}"


def gap_said(off: Misclosure, walls: int) -> str:
    """By how much a walk does not close, at which corner, and what may be wrong."""
    likely = [_suspected(suspect, walls) for suspect in off.suspects[:3]]
    advice = f"{' or '.join(likely)} would close it: measure again there." if likely else ""
    advice = advice or "No single length explains it: walk round again, and look at the turns."
    where = f"its end lies {mm(off.mm)} from its start, at the corner {corner(1, walls)}"
    return f"The room does not close: {where}. {advice}"


def _suspected(suspect: Suspect, walls: int) -> str:
    if suspect.by_mm:
        return f"{wall_letter(suspect.wall)} {changed(suspect)}"
    return f"another {abs(suspect.by_deg):g}° at the corner {corner(suspect.wall + 1, walls)}"


def changed(suspect: Suspect) -> str:
    return f"{mm(abs(suspect.by_mm))} {'longer' if suspect.by_mm > 0 else 'shorter'}"


def sums_said(shape: RoomShape) -> list[str]:
    """What the sizes of a room say of themselves, the gravest first."""
    walk, off, walls = shape.walk, shape.misclosure, len(shape.walls)
    said = []
    if not off.closes:
        said += [gap_said(off, walls), f"Kept as it is: the gap is {SPREAD}."]
    elif walk.worked_out:
        letters = " and ".join(wall_letter(number) for number in walk.worked_out)
        said.append(f"{letters}: worked out from the others, so nothing checks the sizes.")
    elif off.mm:
        said.append(
            f"It closes within {mm(off.mm)}; up to {mm(off.tolerance_mm)} is reading (5 mm for each wall), and is {SPREAD}."
        )
    for diagonal in walk.diagonals:
        ends = f"{corner(diagonal.from_corner, walls)} to {corner(diagonal.to_corner, walls)}"
        said.append(f"Diagonal {ends}: {diagonal_said(shape, diagonal)}")
    said += [
        f"The ceiling is out of one plane by {mm(facet.off_plane_mm)}: where it folds, give both ends of the fold."
        for facet in shape.facets
        if facet.off_plane_mm > FLAT_MM
    ]
    return said


def diagonal_said(shape: RoomShape, diagonal: Diagonal) -> str:
    (x1, y1), (x2, y2) = (shape.corners_mm[n - 1] for n in (diagonal.from_corner, diagonal.to_corner))
    reckoned_mm = round(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5)
    off_mm = diagonal.length_mm - reckoned_mm
    if abs(off_mm) <= shape.misclosure.tolerance_mm:
        return f"agrees with the walls within {mm(abs(off_mm))}." if off_mm else "agrees with the walls."
    more = "longer" if off_mm > 0 else "shorter"
    return f"{mm(abs(off_mm))} {more} than the {mm(reckoned_mm)} that walls and turns make: the room is out of square."
