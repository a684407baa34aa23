"""Where a patch lies on its surface, as a polygon in millimetres from the surface's bottom left."""

from shapely import Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from contractor.rooms.models import Patch, Surface


def patch_shape(surface: Surface, patch: Patch) -> BaseGeometry:
    """The patch before openings: what the surface's edge and the strips left clear leave of its rectangle, or what
    all other patches leave of the surface."""
    wall = Polygon(surface.ring)
    others = [other for other in surface.patches.all() if not other.is_rest and other.pk != patch.pk]
    if not patch.is_rest:
        wall = wall.intersection(patch.outline.shape)
        others = [] if patch.is_strip else [other for other in others if other.is_strip]
    return wall.difference(unary_union([other.outline.shape for other in others])) if others else wall


def clear_shape(patch: Patch) -> BaseGeometry:
    """The patch less the openings in it."""
    openings = [opening.outline.shape for opening in patch.surface.openings.all()]
    shape = patch_shape(patch.surface, patch)
    return shape.difference(unary_union(openings)) if openings else shape
