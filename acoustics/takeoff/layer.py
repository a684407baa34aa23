"""One layer of one surface as chosen: its pieces, its joints, and what is awkward about it."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from acoustics.takeoff.geometry import Shape

Span = tuple[int, int, int]  # at, low, high
# What a layout is spared at the same number of sheets: pieces narrower than the rules ask, boxes at a joint,
# pieces narrower than hoped for, pieces, pieces that are no rectangles, cuts
SLIVER_TROUBLE, BOX_TROUBLE, NARROW_TROUBLE = 3.0, 0.5, 0.6
PIECE_TROUBLE, SHAPE_TROUBLE, CUT_TROUBLE = 0.1, 0.02, 0.01


@dataclass(frozen=True)
class Stagger:
    """Distances in force while a layer is laid; eased where a surface cannot keep them."""

    layers: int
    courses: int
    seams: int
    corner: bool = True
    min_width: int = 150
    eased: bool = False


@dataclass(frozen=True)
class LayerPlan:
    """One layer: its pieces in the working frame and where its boards meet."""

    orientation: str
    shapes: tuple[Shape, ...]
    joints: tuple[Span, ...]
    seams: tuple[Span, ...]
    slivers: int
    trouble: float

    rects: tuple[tuple[int, int], ...]  # to cut, along the short and the long side of the board
    cutouts: tuple[tuple[int, int, int], ...] = ()  # (shape, short, long) of what openings leave

    @functools.cached_property
    def giving(self) -> frozenset[int]:
        """Shapes that leave a cut-out."""
        return frozenset(index for index, _, _ in self.cutouts)

    @property
    def turned(self) -> bool:
        return self.orientation == "across"


def make_plan(field, orientation, shapes, joints, seams, short, long) -> LayerPlan | None:
    """The plan of these shapes, or None where one is larger than the board."""
    across = orientation == "across"
    slivers, narrow, cuts, rects = 0, 0.0, 0, []
    target = max(1, field.rules.target_width_mm)
    for shape in shapes:
        wide, tall = (shape.height, shape.width) if across else (shape.width, shape.height)
        rects.append((wide, tall))
        if wide > short or tall > long:
            return None
        slivers += shape.width < field.rules.min_width_mm or shape.height < field.rules.min_height_mm
        narrow += max(0.0, 1 - min(wide, tall) / target)
        cuts += (wide < short) + (tall < long)
    cutouts = _cutouts(field, shapes, across) if field.rules.reuse_cutouts and field.holes else ()
    shaped = sum(1 for s in shapes if len(s.ring) != 4 or s.holes)
    trouble = SLIVER_TROUBLE * slivers + NARROW_TROUBLE * narrow + PIECE_TROUBLE * len(shapes)
    trouble += SHAPE_TROUBLE * shaped + CUT_TROUBLE * (cuts + len(seams))
    if field.boxes:
        trouble += BOX_TROUBLE * sum(field.near_boxes(True, *span) for span in joints)
        trouble += BOX_TROUBLE * sum(field.near_boxes(False, *span) for span in seams)
    return LayerPlan(orientation, tuple(shapes), tuple(joints), tuple(seams), slivers, trouble, tuple(rects), cutouts)


def _cutouts(field, shapes, across) -> tuple[tuple[int, int, int], ...]:
    """Rectangles left where an opening is cut from a board, less two kerfs, if worth keeping."""
    rules, found = field.rules, []
    for index, shape in enumerate(shapes):
        if len(shape.ring) == 4 and not shape.holes:
            continue
        for width, height in shape.left_over():
            size = (width - 2 * rules.kerf_mm, height - 2 * rules.kerf_mm)
            if min(size) >= rules.keep_short_mm and max(size) >= rules.keep_long_mm:
                found.append((index, *(size[::-1] if across else size)))
    return tuple(found)
