"""Parts on a surface: whether they stay on it and out of each other's way. Millimetres from the bottom left."""

from collections.abc import Iterable
from dataclasses import dataclass

from contractor.common.geometry import Box
from contractor.common.templatetags.wording import mm


@dataclass(frozen=True, kw_only=True)
class Part(Box):
    """A patch or opening as a named box."""

    name: str


def beyond(part: Part, *, length_mm: int, height_mm: int) -> dict[str, str]:
    """What reaches past the surface, as {field: message}; empty when the part lies on it."""
    problems = {}
    over_mm = part.right_mm - length_mm
    if over_mm > 0:
        field = "x_mm" if part.x_mm >= length_mm else "width_mm"
        problems[field] = f"This reaches {mm(over_mm)} past the right-hand end: the surface is {mm(length_mm)} long."
    over_mm = part.top_mm - height_mm
    if over_mm > 0:
        field = "y_mm" if part.y_mm >= height_mm else "height_mm"
        problems[field] = f"This reaches {mm(over_mm)} past the top edge: the surface is {mm(height_mm)} high."
    return problems


def overlap(part: Part, others: Iterable[Part]) -> str | None:
    """A message that names the first of `others` on which the part lies, or None. Touching edges are no overlap."""
    for other in others:
        across_mm = min(part.right_mm, other.right_mm) - max(part.x_mm, other.x_mm)
        up_mm = min(part.top_mm, other.top_mm) - max(part.y_mm, other.y_mm)
        if across_mm > 0 and up_mm > 0:
            return f"This lies over {other.name} by {mm(across_mm)} across and {mm(up_mm)} up."
    return None


def least_size(parts: Iterable[Part], *, length_mm: int, height_mm: int) -> dict[str, str]:
    """Why a surface can't shrink to this size, as {field: message}; empty when every part still lies on it."""
    parts = list(parts)
    problems = {}
    past_end = [part for part in parts if part.right_mm > length_mm]
    if past_end:
        furthest = max(past_end, key=lambda part: part.right_mm)
        problems["length_mm"] = (
            f"{furthest.name} reaches {mm(furthest.right_mm)} from the left. Move or narrow it before the surface"
            f" is made {mm(length_mm)} long."
        )
    past_top = [part for part in parts if part.top_mm > height_mm]
    if past_top:
        highest = max(past_top, key=lambda part: part.top_mm)
        problems["height_mm"] = (
            f"{highest.name} reaches {mm(highest.top_mm)} up. Lower it before the surface is made {mm(height_mm)} high."
        )
    return problems
