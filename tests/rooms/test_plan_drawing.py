"""The plan as numbers: walls measured from their left ends, dimensions, what stands in the room, ways round."""

from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from contractor.common.drawing import paper_for
from contractor.rooms.elevation_lines import dimensions_of
from contractor.rooms.models import Room, Surface
from contractor.rooms.plan_drawing import plan_of, plan_of_walk
from contractor.rooms.walk import Walk
from tests.factories import FixtureFactory, OpeningFactory, PatchFactory, RoomFactory, SidePathFactory, SurfaceFactory
from tests.rooms.walks import L_LENGTHS, L_TURNS, loft_walk, walk, walked_room

SVG = "{http://www.w3.org/2000/svg}"


def points(text):
    return [tuple(int(n) for n in pair.split(",")) for pair in text.split()]


def loaded(room):
    return list(room.surfaces.prefetch_related("patches", "openings", "fixtures"))


def svg_of(plan):
    return ElementTree.fromstring(render_to_string("drawings/plan.svg", {"drawing": plan}))


@pytest.mark.django_db
class TestRectangle:
    def plan(self, **openings):
        room = RoomFactory(length_mm=4000, width_mm=3000)
        for letter, length_mm in zip("ABCD", [4000, 3000, 4000, 3000], strict=True):
            wall = SurfaceFactory(room=room, letter=letter, length_mm=length_mm, role="other")
            if letter in openings:
                OpeningFactory(surface=wall, kind="window", x_mm=openings[letter], width_mm=500)
        return plan_of(room, loaded(room))

    # Left ends as seen from inside, going clockwise: A top left, B top right, C bottom right, D bottom left.
    @pytest.mark.parametrize(
        "letter, axis, ends",
        [("A", 0, (100, 600)), ("B", 1, (100, 600)), ("C", 0, (3400, 3900)), ("D", 1, (2400, 2900))],
    )
    def test_a_wall_is_measured_from_its_left_end_seen_from_inside(self, letter, axis, ends):
        plan = self.plan(**{letter: 100})
        (window,) = plan.openings
        origin = points(plan.ground)[0]
        along = [point[axis] - origin[axis] for point in points(window.points)]
        assert (min(along), max(along)) == ends
        assert not Polygon(points(window.points)).intersects(Polygon(points(plan.ground)).buffer(-1))

    def test_a_chimney_breast_stands_out_into_the_room(self):
        room = RoomFactory(length_mm=4000, width_mm=3000)
        wall = SurfaceFactory(room=room, letter="B", length_mm=3000)
        PatchFactory(surface=wall, is_rest=False, x_mm=800, width_mm=1400, height_mm=2400, projection_mm=350)

        plan = plan_of(room, loaded(room))

        (breast,) = plan.standing
        left, top, right, bottom = Polygon(points(breast.points)).bounds
        assert right - points(plan.ground)[0][0] == 4000
        assert (right - left, bottom - top, top - points(plan.ground)[0][1]) == (350, 1400, 800)

    def test_the_noise_points_into_the_room_through_the_separating_wall(self):
        room = RoomFactory(length_mm=4000, width_mm=3000)
        for letter, length_mm in zip("ABCD", [4000, 3000, 4000, 3000], strict=True):
            SurfaceFactory(room=room, letter=letter, role="separating", length_mm=length_mm)

        plan = plan_of(room, loaded(room))

        middle = Polygon(points(plan.ground)).centroid
        for wall in plan.walls:
            assert wall.arrows
            for arrow in wall.arrows:
                before = abs(arrow.x1 - middle.x) + abs(arrow.y1 - middle.y)
                after = abs(arrow.x2 - middle.x) + abs(arrow.y2 - middle.y)
                assert after < before

    def test_the_svg_says_what_each_surface_does(self):
        room = RoomFactory(name="Study")
        SurfaceFactory(room=room, letter="E", name="Ceiling", face="ceiling", role="separating")
        root = svg_of(plan_of(room, loaded(room)))
        words = " ".join(element.text for element in root.iter(f"{SVG}text"))
        assert "E ceiling: noise" in words
        assert root.find(f"{SVG}title").text == "Plan of Study"

    def test_the_dimension_being_typed_is_marked(self):
        plan = plan_of_walk(Walk.rectangle(4000, 3000, 2400), edited=2)
        assert [(d.label, d.is_marked) for d in plan.dimensions] == [
            ("4,000", False),
            ("3,000", True),
            ("4,000", False),
            ("3,000", False),
        ]


@pytest.mark.django_db
class TestWalked:
    def test_an_l_shape_has_its_corners_folds_and_heights(self):
        room = walked_room(walk_=loft_walk())
        plan = plan_of(room, loaded(room))
        assert len(points(plan.ground)) == len(plan.walls) == len(plan.dimensions) == len(plan.heights) == 6
        assert Polygon(points(plan.ground)).area == 12_720_000
        (fold,) = plan.folds
        assert fold.y1 == fold.y2
        assert {h.words for h in plan.heights} == {"h 2,400", "h 1,400"}
        assert "1,400 mm to 2,400 mm high" in plan.text

    def test_letters_and_heights_stand_clear_of_walls_and_of_each_other(self):
        room = walked_room(walk_=loft_walk())
        plan = plan_of(room, loaded(room))
        ground, unit = Polygon(points(plan.ground)), plan.paper.lettering
        spots = [(wall.mark_x, wall.mark_y) for wall in plan.walls]
        for i, (x, y) in enumerate(spots):
            assert all(abs(x - u) + abs(y - v) > 2 * unit for u, v in spots[:i])
        for height in plan.heights:
            assert ground.buffer(-0.3 * unit).contains(
                Polygon([(height.x + a, height.y + b) for a, b in ((0, 0), (1, 0), (0, 1))])
            )

    def test_what_stands_in_the_room_and_boxes_are_drawn_on_their_wall(self):
        room = walked_room(walk_=loft_walk())
        gable = room.surfaces.get(letter="F")
        FixtureFactory(surface=gable, kind="radiator", x_mm=1300, width_mm=1000, height_mm=600, projection_mm=120)
        FixtureFactory(surface=gable, kind="nib", fate="stays", x_mm=3400, y_mm=0, width_mm=200, height_mm=2400)
        FixtureFactory(surface=gable, x_mm=600)
        FixtureFactory(surface=gable, kind="cornice", fate="stays", x_mm=1200, y_mm=2300, width_mm=2000, height_mm=100)
        plan = plan_of(room, loaded(room))
        assert [part.kind for part in plan.standing] == ["radiator", "nib"]
        assert Polygon(points(plan.standing[0].points)).area == 120_000
        assert len(plan.boxes) == 1

    def test_ways_round_are_drawn_along_the_wall_to_the_noise(self):
        room = walked_room()
        Surface.objects.filter(room=room, letter="B").update(role="separating")
        PatchFactory(surface=room.surfaces.get(letter="B"))
        PatchFactory(
            surface=room.surfaces.get(letter="B"), is_rest=False, name="Breast", x_mm=1000, width_mm=1200,
            height_mm=2400, projection_mm=400,
        )  # fmt: skip
        ways = [
            SidePathFactory(room=room, kind=kind, length_mm=3600)
            for kind in ("void", "flue", "beam", "leak", "pipe", "roof_void")
        ]
        plan = plan_of(room, loaded(room), ways)
        assert [way.mark for way in plan.ways] == ["w1", "w2", "w3", "w4", "w5", "w6"]
        assert [bool(way.ring) for way in plan.ways] == [False, True, False, False, True, False]
        breast = Polygon(points(plan.standing[0].points))
        assert breast.contains(
            Polygon([(plan.ways[1].mark_x + a, plan.ways[1].mark_y + b) for a, b in ((0, 0), (1, 0), (0, 1))])
        )
        lines = {(way.line.x1, way.line.y1) for way in plan.ways if not way.ring}
        assert len(lines) == 4
        assert "w1: Joined floor void." in plan.text
        words = [element.text for element in svg_of(plan).iter(f"{SVG}text")]
        assert {"w1", "w6"} <= set(words)

    def test_a_plan_frozen_before_rooms_were_walked_is_still_drawn(self):
        paper = {"width": 100, "height": 100, "lettering": 10, "thin": 1, "outline": 2}
        block = {"x": 10, "y": 10, "width": 80, "height": 80}
        wall = {"letter": "A", "role": "separating", "band": block, "mark_x": 50, "mark_y": 5, "arrows": []}
        frozen = {"uid": "plan-1", "title": "Plan of Study", "text": "", "paper": paper, "room": block, "walls": [wall]}
        root = svg_of(frozen | {"openings": [], "breasts": [], "dimensions": [], "overhead": [[50, 50, "E ceiling"]]})
        assert [element.text for element in root.iter(f"{SVG}text")] == ["A", "E ceiling"]


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(300, 9000), min_size=6, max_size=6))
def test_any_walk_is_drawn_whether_it_closes_or_not(lengths):
    plan = plan_of_walk(walk(lengths, L_TURNS))
    root = svg_of(plan)
    assert (plan.gap is None) == bool(plan.ground)
    assert sum(1 for _ in root.iter(f"{SVG}circle")) >= 6
    for element in root.iter():
        assert "style" not in element.attrib and "class" not in element.attrib


def test_a_walk_half_typed_is_drawn_as_far_as_it_goes():
    lengths = [*L_LENGTHS[:3], None, None, None]
    plan = plan_of_walk(walk(lengths, L_TURNS))
    assert [wall.letter for wall in plan.walls] == ["A", "B", "C"]
    assert plan.gap is None and plan.ground == ""
    assert plan_of_walk(walk([None] * 6, L_TURNS)) is None


def test_an_unsaved_room_is_drawn_from_its_sizes():
    plan = plan_of(Room(length_mm=4000, width_mm=3000, height_mm=2400), [])
    assert [d.label for d in plan.dimensions] == ["4,000", "3,000", "4,000", "3,000"]


def test_a_corner_off_by_less_than_a_tape_reads_has_no_dimension_of_its_own():
    """A closed walk spreads its error: of a floor of 4,209 by 3,600 mm corners may lie 1 or 2 mm off a line."""
    ring = ((1, 0), (2707, 0), (2706, 1600), (4208, 1600), (4209, 3600), (0, 3599))
    floor = SimpleNamespace(length_mm=4209, height_mm=3600, ring=ring)
    paper = paper_for(width_mm=4209, height_mm=3600, letters_across=22, rows=(2.4, 0.6, 0.6, 0.6))
    _, dimensions = dimensions_of(paper, floor, [], None, "")
    assert [d.label for d in dimensions if not d.is_upright] == ["2,707", "1,502", "4,209"]
    assert all(int(d.label.replace(",", "")) > 1000 for d in dimensions)
