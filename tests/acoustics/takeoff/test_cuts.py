"""Cuts that free pieces from a sheet."""

import pytest

from acoustics.takeoff import Placed
from acoustics.takeoff.cuts import cut_order


def placed(label, x, y, w, h):
    return Placed(label=label, x_mm=x, y_mm=y, width_mm=w, height_mm=h)


def test_a_whole_sheet_needs_no_cut():
    assert cut_order(1200, 2400, (placed("a", 0, 0, 1200, 2400),), 0) == ((), ())


def test_the_largest_offcut_comes_off_whole_and_first():
    cuts, left = cut_order(1200, 2400, (placed("a", 0, 0, 600, 1000), placed("b", 600, 0, 500, 900)), 0)
    assert (cuts[0].x1_mm, cuts[0].y1_mm, cuts[0].x2_mm, cuts[0].y2_mm) == (0, 1000, 1200, 1000)
    assert (left[-1].width, left[-1].height) == (1200, 1400) or any(p.height == 1400 for p in left)


def test_the_saw_takes_its_kerf():
    cuts, left = cut_order(1000, 500, (placed("a", 0, 0, 400, 500), placed("b", 404, 0, 400, 500)), 4)
    # 400 + 4 + 400 + 4 leaves 192
    assert [cut.x1_mm for cut in cuts] == [804, 400]
    assert [(p.x, p.width) for p in left] == [(808, 192)]


def test_a_pinwheel_cannot_be_cut_edge_to_edge():
    wheel = (placed("a", 0, 0, 2, 1), placed("b", 2, 0, 1, 2), placed("c", 1, 2, 2, 1), placed("d", 0, 1, 1, 2))
    with pytest.raises(ValueError, match="edge-to-edge"):
        cut_order(3, 3, wheel, 0)
