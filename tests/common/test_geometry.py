"""Rectilinear shapes: areas add up, labels find room, and lines stop at openings."""

from hypothesis import given
from hypothesis import strategies as st

from contractor.common.geometry import Box, box_round, cut_outs, largest_box, spans_at


def rectangle(x: int, y: int, width: int, height: int) -> list[list[int]]:
    return [[x, y], [x + width, y], [x + width, y + height], [x, y + height]]


def area_of(outline: list[list[int]]) -> float:
    """The surveyor's (shoelace) formula."""
    around = zip(outline, outline[1:] + outline[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in around)) / 2


@st.composite
def stairs(draw):
    """A shape that steps up from left to right or back down again: L, U and worse, but always in one part."""
    widths = draw(st.lists(st.integers(50, 900), min_size=1, max_size=5))
    heights = draw(st.lists(st.integers(100, 2700), min_size=len(widths), max_size=len(widths)))
    left, bottom = draw(st.integers(0, 4000)), draw(st.integers(0, 500))
    top, x = [], left
    for width, height in zip(widths, heights, strict=True):
        top += [[x, bottom + height], [x + width, bottom + height]]
        x += width
    return [[left, bottom], *top, [x, bottom]]


@given(stairs())
def test_what_is_cut_out_and_what_is_left_make_the_rectangle(outline):
    whole = box_round(outline)

    assert area_of(outline) + sum(part.area_mm2 for part in cut_outs(outline)) == whole.area_mm2


@given(stairs())
def test_a_label_has_its_room_inside_the_shape(outline):
    room = largest_box(outline)

    assert box_round(outline).holds(room)
    for x in (room.x_mm + 1, room.right_mm - 1):
        assert any(low <= room.y_mm and room.top_mm <= high for low, high in spans_at([outline], x_mm=x))


def test_a_plain_rectangle_has_nothing_cut_out():
    assert cut_outs(rectangle(5, 10, 1195, 2385)) == []


def test_a_notch_in_an_edge_is_one_part_measured_on_the_piece():
    notched = [[1200, 10], [2100, 10], [2100, 895], [1495, 895], [1495, 2105], [2100, 2105], [2100, 2395], [1200, 2395]]

    assert cut_outs(notched) == [Box(x_mm=295, y_mm=885, width_mm=605, height_mm=1210)]


def test_a_line_stops_at_an_opening_and_goes_on_behind_it():
    wall, window = rectangle(0, 0, 4200, 2400), rectangle(1500, 900, 1200, 1200)

    assert spans_at([wall, window], x_mm=1800) == [(0, 900), (2100, 2400)]
    assert spans_at([wall, window], y_mm=660) == [(0, 4200)]
    assert spans_at([wall, window], x_mm=600) == [(0, 2400)]


def test_a_door_that_stands_on_the_floor_leaves_only_what_is_over_it():
    wall, door = rectangle(0, 0, 3600, 2400), rectangle(600, 0, 900, 2040)

    assert spans_at([wall, door], x_mm=900) == [(2040, 2400)]
