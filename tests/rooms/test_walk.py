"""The walk round a room as geometry: it closes, areas and volumes are those of solid geometry, elevations agree."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from contractor.rooms.rings import area_of, is_rectangle, size_of
from contractor.rooms.shape import shape_of
from contractor.rooms.walk import HeightAt, Leg, Walk, adjusted, completed, misclosure_of, walked
from contractor.rooms.walk_checks import gap_said, sums_said
from tests.rooms.walks import L_LENGTHS, L_TURNS, L, R, loft_walk, walk

sides = st.integers(600, 9000)


@st.composite
def right_angled_rooms(draw):
    """Rectangles, L-shapes and rooms with a nib, all of right angles and closed."""
    a, b, c, d = (draw(sides) for _ in range(4))
    kind = draw(st.sampled_from(["rectangle", "L", "nib"]))
    if kind == "rectangle":
        return walk((a, b, a, b))
    if kind == "L":
        return walk((a + c, b, c, d, a, b + d), (R, R, L, R, R, R))
    return walk((a + b + c, d, c, 100, b, 100, a, d), (R, R, R, L, L, R, R, R))


@st.composite
def convex_rooms(draw):
    """Rooms of any angles, from the corners of a polygon round a point; turns to a hundredth of a degree."""
    count = draw(st.integers(3, 8))
    bearings = sorted(draw(st.lists(st.integers(0, 359), min_size=count, max_size=count, unique=True)))
    corners = [(4000 * math.cos(math.radians(b)), 4000 * math.sin(math.radians(b))) for b in bearings]
    edges = [(x2 - x1, y2 - y1) for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True)]
    headings = [math.degrees(math.atan2(y, x)) for x, y in edges]
    turns = [(after - now) % 360 for now, after in zip(headings, [*headings[1:], headings[0]], strict=True)]
    legs = tuple(
        Leg(length_mm=max(1, round(math.hypot(*edge))), turn_deg=round(turn, 2))
        for edge, turn in zip(edges, turns, strict=True)
    )
    return Walk(legs=legs), Polygon(corners)


@given(right_angled_rooms())
def test_closed_outlines_close_and_the_area_is_the_shoelace_formula(room):
    shape = shape_of(room)
    assert shape.misclosure.mm == 0 and shape.misclosure.closes
    assert shape.area_mm2 == pytest.approx(area_of(tuple(shape.corners_mm)), rel=1e-9)
    assert shape.area_mm2 == pytest.approx(Polygon(shape.corners_mm).area, rel=1e-9)
    assert shape.volume_mm3 == pytest.approx(shape.area_mm2 * 2400, rel=1e-9)
    assert area_of(shape.floor_outline_mm) == pytest.approx(shape.area_mm2, rel=1e-9)


@given(convex_rooms())
def test_a_room_of_any_angles_closes_within_its_rounding_and_has_the_polygons_area(drawn):
    room, polygon = drawn
    off = misclosure_of(room)
    assert off.mm <= 10  # lengths rounded to a millimetre, turns to a hundredth of a degree
    assert Polygon(adjusted(room)).area == pytest.approx(polygon.area, rel=0.01, abs=3e5)


@given(right_angled_rooms(), st.lists(st.integers(-4, 4), min_size=8, max_size=8))
def test_the_compass_rule_shares_the_gap_by_length(room, errors):
    """Each corner is moved by the gap times the share of the way walked so far (compass rule, textbook form)."""
    legs = tuple(
        Leg(length_mm=leg.length_mm + e)
        if leg.turn_deg == R
        else Leg(length_mm=leg.length_mm + e, turn_deg=leg.turn_deg)
        for leg, e in zip(room.legs, errors, strict=False)
    )
    off = Walk(legs=legs)
    raw, moved = walked(off.legs), adjusted(off)
    gap_x, gap_y = raw[-1]
    so_far = 0
    for (x0, y0), (x1, y1), leg in zip(raw, moved, off.legs, strict=False):
        assert x0 - x1 == pytest.approx(gap_x * so_far / off.length_mm, abs=1e-6)
        assert y0 - y1 == pytest.approx(gap_y * so_far / off.length_mm, abs=1e-6)
        so_far += leg.length_mm


@given(sides, sides, st.integers(2000, 3000), st.integers(-900, 900), st.integers(-900, 900))
def test_the_volume_under_a_sloped_plane_is_area_times_the_mean_height(length, width, height, rise_x, rise_y):
    """A prism cut by a plane: base times the height at its centroid (solid geometry)."""
    heights = (height, height + rise_x, height + rise_x + rise_y, height + rise_y)
    room = Walk(legs=walk((length, width, length, width), heights=heights).legs)
    shape = shape_of(room)
    (facet,) = shape.facets
    assert shape.volume_mm3 == pytest.approx(length * width * sum(heights) / 4, rel=1e-6)
    true_mm2 = length * width * math.sqrt(1 + (rise_x / length) ** 2 + (rise_y / width) ** 2)
    assert facet.area_mm2 == pytest.approx(true_mm2, rel=1e-6)
    assert area_of(facet.outline_mm) == pytest.approx(true_mm2, rel=2e-3, abs=2e4)
    assert facet.off_plane_mm <= 1


@given(right_angled_rooms(), st.lists(st.integers(1800, 3200), min_size=8, max_size=8))
def test_neighbouring_elevations_agree_at_their_corner(room, heights):
    legs = tuple(
        Leg(length_mm=a.length_mm, turn_deg=a.turn_deg, height_mm=h) for a, h in zip(room.legs, heights, strict=False)
    )
    shape = shape_of(Walk(legs=legs))
    for wall, after in zip(shape.walls, [*shape.walls[1:], shape.walls[0]], strict=True):
        assert wall.end_height_mm == after.start_height_mm
        right = [y for x, y in wall.outline_mm if x == wall.length_mm]
        left = [y for x, y in after.outline_mm if x == 0]
        assert max(right) - min(right) == max(left) - min(left) == after.start_height_mm
        # A trapezium: half the sum of the parallel sides times the length.
        mean = (wall.start_height_mm + wall.end_height_mm) / 2
        assert area_of(wall.outline_mm) == pytest.approx(wall.length_mm * mean, rel=1e-9)


class TestLoft:
    def test_an_l_shape_with_a_fold_by_hand(self):
        """Reckoned by hand: 4.2 x 3.6 less 1.5 x 1.6 m; the last metre slopes from 2.4 m to 1.4 m at 45°."""
        shape = shape_of(loft_walk())
        level, sloped = shape.facets
        assert shape.area_mm2 == pytest.approx((4.2 * 3.6 - 1.5 * 1.6) * 1e6)
        assert shape.volume_mm3 == pytest.approx((10.02 * 2.4 + 2.7 * 1.9) * 1e9)
        assert (level.slope_deg, sloped.slope_deg) == (0, 45)
        assert size_of(sloped.outline_mm) == (2700, 1414)
        assert (shape.lowest_mm, shape.highest_mm, shape.extent_mm) == (1400, 2400, (4200, 3600))
        assert shape.walls[3].outline_mm == ((0, 0), (1600, 0), (1600, 1400), (600, 2400), (0, 2400))
        assert not shape.problems

    def test_the_ceiling_is_seen_from_below(self):
        """The notch lies on the right of the plan, and on the left for someone who looks up at it."""
        level, _ = shape_of(loft_walk()).facets
        assert (0, 0) not in level.outline_mm and (1500, 0) in level.outline_mm

    def test_a_fold_with_one_end_or_outside_the_room_is_told(self):
        room = loft_walk()
        assert shape_of(Walk(legs=room.legs, heights=room.heights[:1])).problems == ["Fold 1 needs two ends: it has 1."]
        across = (
            HeightAt(wall=2, at_mm=1000, height_mm=2400, fold=1),
            HeightAt(wall=5, at_mm=100, height_mm=2000, fold=1),
        )
        assert "does not run through the room" in shape_of(Walk(legs=room.legs, heights=across)).problems[0]


def test_a_falling_floor_slopes_the_foot_of_the_wall():
    legs = (
        Leg(length_mm=4000, height_mm=2400),
        Leg(length_mm=3000, height_mm=2425, floor_mm=25),
        Leg(length_mm=4000, height_mm=2425, floor_mm=25),
        Leg(length_mm=3000, height_mm=2400),
    )
    shape = shape_of(Walk(legs=legs))
    assert shape.walls[0].outline_mm == ((0, 25), (4000, 0), (4000, 2425), (0, 2425))  # floor falls, ceiling level
    assert shape.facets[0].slope_deg == 0
    assert shape.volume_mm3 == pytest.approx(4000 * 3000 * 2412.5)


def test_a_step_in_the_ceiling_is_two_heights_at_one_place():
    heights = (HeightAt(wall=1, at_mm=1000, height_mm=2100), HeightAt(wall=1, at_mm=1000, height_mm=2400))
    wall = shape_of(
        Walk(legs=walk((4000, 3000, 4000, 3000), heights=(2100, 2400, 2400, 2100)).legs, heights=heights)
    ).walls[0]
    assert wall.outline_mm == ((0, 0), (4000, 0), (4000, 2400), (1000, 2400), (1000, 2100), (0, 2100))


class TestClosing:
    def test_a_room_that_does_not_close_says_by_how_much_at_which_corner_and_where_to_look(self):
        off = misclosure_of(walk((4000, 3000, 3950, 3000)))
        assert (off.mm, off.closes) == (50, False)
        assert gap_said(off, 4) == (
            "The room does not close: its end lies 50 mm from its start, at the corner D–A. A 50 mm shorter or C 50 mm"
            " longer or another 1° at the corner C–D would close it: measure again there."
        )

    @given(st.integers(0, 5), st.integers(100, 1500))
    def test_the_wall_measured_wrong_is_among_those_told(self, wrong, by_mm):
        lengths = list(L_LENGTHS)
        lengths[wrong] += by_mm
        off = misclosure_of(walk(lengths, L_TURNS))
        assert off.mm == by_mm
        assert (wrong + 1, -by_mm) in {(s.wall, s.by_mm) for s in off.suspects}

    @pytest.mark.parametrize("wrong", range(6))
    def test_a_turn_taken_the_wrong_way_is_told(self, wrong):
        turns = list(L_TURNS)
        turns[wrong] = -turns[wrong]
        off = misclosure_of(walk(L_LENGTHS, turns))
        assert off.turns_deg in (-180, 180) and not off.closes
        assert wrong + 1 in {s.wall for s in off.suspects}

    def test_five_millimetres_a_wall_are_reading(self):
        assert misclosure_of(walk((4000, 3000, 4020, 3000))).closes
        assert not misclosure_of(walk((4000, 3000, 4021, 3000))).closes

    def test_walls_that_cross_are_a_problem(self):
        shape = shape_of(walk((4000, 3000, 2000, 4000, 2000, 1000), (R, R, R, L, L, L)))
        assert shape.problems and shape.area_mm2 == 0


class TestNotMeasured:
    @given(right_angled_rooms(), st.data())
    def test_two_lengths_across_each_other_follow_from_the_rest(self, room, data):
        i = data.draw(st.integers(0, len(room.legs) - 2))
        left_out = {i, i + 1}  # neighbours stand at a right angle
        legs = tuple(
            Leg(length_mm=None if n in left_out else a.length_mm, turn_deg=a.turn_deg) for n, a in enumerate(room.legs)
        )
        found = completed(Walk(legs=legs))
        assert [leg.length_mm for leg in found.legs] == [leg.length_mm for leg in room.legs]
        assert found.worked_out == (i + 1, i + 2)
        assert "so nothing checks the sizes" in sums_said(shape_of(found))[0]

    def test_parallel_walls_and_three_lengths_do_not(self):
        assert completed(walk((None, 3000, None, 3000))) is None
        assert completed(walk((4000, None, None, None))) is None

    def test_a_negative_length_is_none(self):
        assert completed(walk((4000, 3000, 5000, 3000, None), (R, R, R, L, R))) is None


def test_the_walk_comes_back_from_json():
    room = completed(
        Walk(legs=walk((4000, 3000, None, None)).legs, heights=loft_walk().heights[:1], corner="By the door")
    )
    assert Walk.from_json(room.to_json()) == room
    assert is_rectangle(shape_of(Walk(legs=room.legs)).walls[0].outline_mm)
