"""Outside corners: the faces of a chimney breast or pier, boarded so that no joint runs through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from acoustics.errors import InputError
from acoustics.takeoff.model import Surface


def breast_faces(
    left: Surface, front: Surface, right: Surface, *, thicknesses_mm: Sequence[int]
) -> tuple[Surface, Surface, Surface]:
    """The three faces with each layer's boards running past, or stopping at, the two outside corners.

    Outlines are those of the frame the boards are fixed to, each seen from the room, so the left cheek
    meets the front at its right edge. In odd layers the front runs past the cheeks, in even layers the
    cheeks run past the front (common practice); an edge bead covers the corner of the face layer.
    Inside corners keep the perimeter gap.
    """
    if not left.layers == front.layers == right.layers == len(thicknesses_mm):
        raise InputError("thicknesses_mm", "Give one thickness for each layer; every face has the same layers.")
    under = 0
    front_runs, cheek_runs = [], []
    for layer, thickness in enumerate(thicknesses_mm, start=1):
        over = under + thickness
        front_runs.append(over if layer % 2 else under)
        cheek_runs.append(under if layer % 2 else over)
        under = over
    gap_left, gap_front, gap_right = (face.gaps_mm.sides_mm for face in (left, front, right))
    return (
        replace(left, layer_runs_mm=tuple((0, gap_left + run) for run in cheek_runs)),
        replace(front, layer_runs_mm=tuple((gap_front + run,) * 2 for run in front_runs)),
        replace(right, layer_runs_mm=tuple((gap_right + run, 0) for run in cheek_runs)),
    )
