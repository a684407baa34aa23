"""Where a patch lies on its surface, as a polygon in millimetres from the surface's bottom left."""

from functools import lru_cache

from shapely import Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from contractor.rooms.models import Patch, Surface
from contractor.rooms.placing import Part
from contractor.rooms.rings import Ring


def patch_shape(surface: Surface, patch: Patch) -> BaseGeometry:
    """The patch before openings: what the surface's edge and the strips left clear leave of its rectangle, or what
    all other patches leave of the surface."""
    others = [other for other in surface.patches.all() if not other.is_rest and other.pk != patch.pk]
    if not patch.is_rest:
        others = [] if patch.is_strip else [other for other in others if other.is_strip]
    own = None if patch.is_rest else patch.outline
    return _shape(surface.ring, own, tuple(other.outline for other in others))


@lru_cache(maxsize=4096)
def _shape(ring: Ring, own: Part | None, others: tuple[Part, ...]) -> BaseGeometry:
    """Kept: a page asks for the same patch many times."""
    wall = Polygon(ring)
    if own is not None:
        wall = wall.intersection(own.shape)
    return wall.difference(unary_union([other.shape for other in others])) if others else wall


def clear_area_mm2(surface: Surface, patch: Patch) -> float:
    """Area of the patch less the openings in it."""
    return _clear_area_mm2(patch_shape(surface, patch), tuple(opening.outline for opening in surface.openings.all()))


@lru_cache(maxsize=4096)
def _clear_area_mm2(shape: BaseGeometry, openings: tuple[Part, ...]) -> float:
    return shape.difference(unary_union([opening.shape for opening in openings])).area if openings else shape.area


def clear_shape(patch: Patch) -> BaseGeometry:
    """The patch less the openings in it."""
    openings = [opening.outline.shape for opening in patch.surface.openings.all()]
    shape = patch_shape(patch.surface, patch)
    return shape.difference(unary_union(openings)) if openings else shape
