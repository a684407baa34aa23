"""Where a strip left clear lies: along an edge of the patch it is cut from, or round a fixture on it."""

from shapely import Polygon, box, unary_union
from shapely.affinity import translate

from contractor.rooms.models import Fixture, Patch, Surface
from contractor.rooms.rings import Ring

EDGES = {"left": "At its left", "right": "At its right", "top": "At its top", "bottom": "At its bottom"}
LEAST_MM2 = 1_000
# What a strip round a fixture is mostly left clear for.
REASONS = {
    Fixture.Kind.NIB: Patch.StripReason.NIB,
    Fixture.Kind.CORNICE: Patch.StripReason.CORNICE,
    Fixture.Kind.UNIT: Patch.StripReason.UNIT,
    Fixture.Kind.STAIR: Patch.StripReason.STAIR,
    Fixture.Kind.PIPE: Patch.StripReason.PIPE,
    Fixture.Kind.RADIATOR: Patch.StripReason.PIPE,
    Fixture.Kind.AIR_BRICK: Patch.StripReason.AIR_BRICK,
}


def strip_shapes(patch: Patch, place: str, clear_mm: int, *, beside: list[Polygon] = ()) -> list[Polygon]:
    """The strip or strips of `clear_mm` at a `place` of `patch` ("left", "right", "top", "bottom", or "fixture-" and an
    id), from left to right; one edge is more than one strip where something interrupts it. What lies in `beside`, other
    strips, is left out. Reads the surface's patches and fixtures."""
    surface = patch.surface
    ring = Polygon(surface.ring)
    whole = ring if patch.is_rest else ring.intersection(patch.outline.shape)
    band = _band(surface, whole, place, clear_mm).intersection(whole)
    if patch.is_rest:
        others = [other.outline.shape for other in surface.patches.all() if not other.is_rest and not other.is_strip]
        band = band.difference(unary_union(others)) if others else band
    band = band.difference(unary_union(beside)) if beside else band
    pieces = [p for p in getattr(band, "geoms", [band]) if p.geom_type == "Polygon" and p.area >= LEAST_MM2]
    return sorted(pieces, key=lambda piece: piece.bounds)


def _band(surface: Surface, whole: Polygon, place: str, clear_mm: int):
    left, bottom, right, top = whole.bounds
    if place == "left":
        return box(left, bottom, left + clear_mm, top)
    if place == "right":
        return box(right - clear_mm, bottom, right, top)
    if place == "top":  # along a slope as well, measured upright
        return whole.difference(translate(whole, 0, -clear_mm))
    if place == "bottom":
        return whole.difference(translate(whole, 0, clear_mm))
    fixture = next((f for f in surface.fixtures.all() if place == f"fixture-{f.pk}"), None)
    if fixture is None:
        return Polygon()
    part = fixture.outline
    return box(part.x_mm - clear_mm, part.y_mm - clear_mm, part.right_mm + clear_mm, part.top_mm + clear_mm)


def placed_as(shape: Polygon) -> dict:
    """The columns of a patch that has this shape."""
    left, bottom, right, top = (round(edge) for edge in shape.bounds)
    ring: Ring = tuple((round(x), round(y)) for x, y in shape.exterior.coords[:-1])
    is_plain = abs(shape.area - (right - left) * (top - bottom)) < LEAST_MM2
    return {
        "x_mm": left,
        "y_mm": bottom,
        "width_mm": right - left,
        "height_mm": top - bottom,
        "outline_mm": [] if is_plain else [list(corner) for corner in ring],
    }


def places_of(surface: Surface) -> list[tuple[str, str]]:
    """Where a lining on the surface may have to stop short, as choices."""
    from contractor.rooms.fixture_drawing import fixture_marks

    round_it = [
        (f"fixture-{fixture.pk}", f"Round {mark}, {str(fixture).lower()}")
        for fixture, mark in fixture_marks(surface.fixtures.all())
        if not fixture.is_box
    ]
    return [*EDGES.items(), *round_it]


def strip_name(reason: str) -> str:
    if reason == Patch.StripReason.OTHER:
        return "Strip left clear"
    label = Patch.StripReason(reason).label
    return f"Strip {label[:1].lower()}{label[1:]}".partition(",")[0]
