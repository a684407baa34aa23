"""Parts on a surface: whether they stay on it and out of each other's way. Millimetres from the bottom left."""

from collections.abc import Iterable
from dataclasses import dataclass

from shapely import Polygon, box

from contractor.common.geometry import Box
from contractor.common.templatetags.wording import mm
from contractor.rooms.rings import Ring, height_at, is_rectangle, size_of

NEGLIGIBLE_MM2 = 100


@dataclass(frozen=True, kw_only=True)
class Part(Box):
    """A patch, opening or fixture as a named box; `ring` where its shape is another."""

    name: str
    ring: Ring = ()

    @property
    def shape(self) -> Polygon:
        return Polygon(self.ring) if self.ring else box(self.x_mm, self.y_mm, self.right_mm, self.top_mm)


def beyond(part: Part, ring: Ring, *, is_clipped: bool = False) -> dict[str, str]:
    """What reaches past the surface with the outline `ring`, as {field: message}; empty when the part lies on it."""
    length_mm, height_mm = size_of(ring)
    problems = {}
    over_mm = part.right_mm - length_mm
    if over_mm > 0:
        field = "x_mm" if part.x_mm >= length_mm else "width_mm"
        problems[field] = f"This reaches {mm(over_mm)} past the right-hand end: the surface is {mm(length_mm)} long."
    over_mm = part.top_mm - height_mm
    if over_mm > 0:
        field = "y_mm" if part.y_mm >= height_mm else "height_mm"
        problems[field] = f"This reaches {mm(over_mm)} past the top edge: the surface is {mm(height_mm)} high."
    if problems or is_rectangle(ring):
        return problems
    surface = Polygon(ring)
    if part.shape.intersection(surface).area <= NEGLIGIBLE_MM2:
        return {"y_mm": "This lies wholly outside the surface."}
    if not is_clipped and part.shape.difference(surface).area > NEGLIGIBLE_MM2:
        return {"height_mm": _past_edge(part, ring)}
    return {}


def _past_edge(part: Part, ring: Ring) -> str:
    lowest_mm, side = min(
        (height_at(ring, part.x_mm), "left"), (height_at(ring, part.right_mm), "right"), key=lambda row: row[0]
    )
    if lowest_mm < part.top_mm:
        return f"This reaches past the edge: at its {side} side the surface is {mm(round(lowest_mm))} high."
    return "This reaches past the edge of the surface, which is no rectangle here."


def overlap(part: Part, others: Iterable[Part]) -> str | None:
    """A message that names the first of `others` on which the part lies, or None. Touching edges are no overlap."""
    for other in others:
        across_mm = min(part.right_mm, other.right_mm) - max(part.x_mm, other.x_mm)
        up_mm = min(part.top_mm, other.top_mm) - max(part.y_mm, other.y_mm)
        if across_mm <= 0 or up_mm <= 0:
            continue
        if part.ring or other.ring:
            if part.shape.intersection(other.shape).area <= NEGLIGIBLE_MM2:
                continue
            return f"This lies over {other.name}."
        return f"This lies over {other.name} by {mm(across_mm)} across and {mm(up_mm)} up."
    return None


def least_size(clipped: Iterable[Part], whole: Iterable[Part], ring: Ring) -> dict[str, str]:
    """Why a surface can't become `ring`, as {field: message}; empty when every part still lies on it. Those `clipped`
    may reach past a sloped edge."""
    clipped, whole = list(clipped), list(whole)
    length_mm, height_mm = size_of(ring)
    parts = [*clipped, *whole]
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
    if problems or is_rectangle(ring):
        return problems
    for part in parts:
        found = beyond(part, ring, is_clipped=part in clipped)
        if found:
            return {"height_mm": f"{part.name} would lie outside. Move it before the surface takes this shape."}
    return {}
