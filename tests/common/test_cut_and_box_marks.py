"""Numbers of cuts that stay clear of each other, and the lengths that boxes are marked out by."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from contractor.common.boards import boards_drawing, sheet_drawing
from contractor.common.cut_marks import spread

SHEET = {"number": 1, "width_mm": 1200, "height_mm": 2400, "placed": [], "cuts": []}


def strips(*edges_mm: int) -> dict:
    """A sheet ripped at these distances from the left: eight narrow strips crowd their numbers."""
    edges = [0, *edges_mm]
    placed = [
        {"label": f"L1-A-{n:02d}", "x_mm": a, "y_mm": 0, "width_mm": b - a, "height_mm": 2400}
        for n, (a, b) in enumerate(itertools.pairwise(edges), start=1)
    ]
    return SHEET | {"placed": placed, "cuts": [[x, 0, x, 2400] for x in edges_mm]}


def assert_clear(drawing) -> None:
    for i, a in enumerate(drawing.cut_marks):
        assert all((a.x - b.x) ** 2 + (a.y - b.y) ** 2 >= (a.size + b.size) ** 2 for b in drawing.cut_marks[i + 1 :])
        assert a.size <= a.x <= drawing.paper.width - a.size and a.size <= a.y <= drawing.paper.height - a.size


def test_crowded_cuts_are_numbered_side_by_side_with_leaders():
    drawing = sheet_drawing(strips(60, 120, 180, 240, 300, 360, 420, 480), box=(158, 330), lettering=12)
    assert [mark.text for mark in drawing.cut_marks] == list("12345678")
    assert_clear(drawing)
    assert all(mark.leader for mark in drawing.cut_marks)
    ends = [mark.leader.x1 for mark in drawing.cut_marks]
    assert ends == [drawing.paper.x(x) for x in (60, 120, 180, 240, 300, 360, 420, 480)]
    places = [mark.x for mark in drawing.cut_marks]
    assert places == sorted(places)  # leaders do not cross


def test_cuts_that_reach_no_edge_are_numbered_on_their_line_clear_of_the_rest():
    sheet = strips(400, 800)
    sheet["placed"] += [{"label": "L1-A-09", "x_mm": 800, "y_mm": 0, "width_mm": 200, "height_mm": 900}]
    sheet["cuts"] += [[800, 900, 1000, 900], [800, 1500, 1000, 1500]]
    drawing = sheet_drawing(sheet, box=(158, 330), lettering=12)
    assert_clear(drawing)
    within = [mark for mark in drawing.cut_marks if mark.leader is None]
    assert [mark.text for mark in within] == ["3", "4"]


@given(st.lists(st.integers(0, 2400), min_size=1, max_size=12).map(sorted), st.integers(1, 200))
def test_spread_keeps_order_and_distance_and_moves_nothing_that_has_room(wanted, apart):
    places = spread(wanted, apart, 0, 2400)
    assert all(b - a >= apart for a, b in itertools.pairwise(places))
    assert places[0] >= 0 and places[-1] <= 2400
    if all(b - a >= apart for a, b in itertools.pairwise(wanted)):
        assert places == wanted


def test_boxes_are_drawn_and_measured_from_the_piece_and_the_floor():
    cuts = [
        {"from_left_mm": left, "from_bottom_mm": 438, "above_floor_mm": 448, "width_mm": 150, "height_mm": 90}
        for left in (613, 793)
    ]
    piece = {"label": "L1-A-01", "outline_mm": [[5, 10], [1200, 10], [1200, 2395], [5, 2395]], "box_cuts": cuts}
    piece |= {"width_mm": 1195, "height_mm": 2385}
    outline = [[0, 0], [1205, 0], [1205, 2400], [0, 2400]]
    face = {"key": "a", "label": "A Wall", "outline_mm": outline, "openings_mm": []}
    drawing = boards_drawing(face, {"order": 1, "description": "Board", "pieces": [piece]})
    assert len(drawing.pieces[0].boxes) == 2
    figures = [d for d in drawing.dimensions if d.label in ("613", "793", "448")]
    assert sorted(d.label for d in figures) == ["448", "448", "613", "793"]
    levels = [d.line.y1 for d in figures if not d.is_upright]
    assert abs(levels[0] - levels[1]) > drawing.paper.lettering  # one above the other
    paper = drawing.paper
    assert [d.line.x2 for d in figures if not d.is_upright] == [paper.x(5 + 613), paper.x(5 + 793)]
    assert "In it a box, 150 by 90 mm, 613 from its left and 448 above the floor." in drawing.text


def test_a_box_in_a_joint_is_told_once_and_no_length_of_nothing():
    def piece(label: str, left: int, right: int, **cut) -> dict:
        box = {"from_bottom_mm": 438, "above_floor_mm": 448, "height_mm": 90} | cut
        outline = [[left, 10], [right, 10], [right, 2395], [left, 2395]]
        sizes = {"width_mm": right - left, "height_mm": 2385}
        return {"label": label, "outline_mm": outline, "box_cuts": [box]} | sizes

    pieces = [
        piece("L1-A-01", 5, 1200, from_left_mm=1120, width_mm=75),
        piece("L1-A-02", 1200, 2395, from_left_mm=0, width_mm=75),
    ]
    outline = [[0, 0], [2400, 0], [2400, 2400], [0, 2400]]
    face = {"key": "a", "label": "A Wall", "outline_mm": outline, "openings_mm": []}
    drawing = boards_drawing(face, {"order": 1, "description": "Board", "pieces": pieces})
    labels = [d.label for d in drawing.dimensions]
    assert labels.count("448") == 1 and labels.count("1,120") == 1 and "0" not in labels
