"""What hangs on a surface, and strips that a lining leaves clear."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, unary_union

from contractor.rooms import services
from contractor.rooms.models import Fixture, Patch, Room, Surface
from contractor.rooms.patch_shape import patch_shape
from contractor.rooms.shape import room_shape
from contractor.rooms.strips import strip_shapes
from contractor.rooms.takeoff.faces import net_area_mm2
from contractor.rooms.walk import Walk
from tests.factories import FixtureFactory, PatchFactory, SurfaceFactory, UserFactory
from tests.rooms.walks import loft_walk, walked_room

PREVIEW = {"HTTP_HX_REQUEST": "true", "HTTP_HX_TARGET": "drawing"}


def url(name, pk):
    return reverse(f"rooms:{name}", args=[pk])


@pytest.fixture
def wall(db):
    wall = SurfaceFactory(letter="B", name="Party wall", length_mm=4000, height_mm=2400)
    PatchFactory(surface=wall, name="Whole wall", depth_limit_mm=100)
    return wall


@pytest.fixture
def gable(db):
    """Wall F of the loft: 3.6 m long, 1.4 m high at its left, 2.4 m from one metre on."""
    wall = walked_room(walk_=loft_walk()).surfaces.get(letter="F")
    PatchFactory(surface=wall, name="Whole wall")
    return wall


def strip(patch, place, clear_mm=100, reason="nib"):
    return services.strip_save(patch=patch, place=place, clear_mm=clear_mm, reason=reason, user=UserFactory())


def fixture_data(**changes):
    data = {"kind": "socket", "x_mm": 500, "width_mm": 146, "y_mm": 450, "height_mm": 86, "projection_mm": 0}
    return data | {"fate": "moves", "note": ""} | changes


class TestFixtures:
    def test_it_begins_with_the_usual_sizes_and_is_saved(self, office, wall):
        page = office.get(url("fixture-new", wall.pk) + "?kind=beam")
        form = page.context["form"]
        assert (form["width_mm"].value(), form["height_mm"].value(), form["y_mm"].value()) == (4000, 200, 2200)

        office.post(url("fixture-new", wall.pk), fixture_data(is_back_to_back="on"))

        socket = wall.fixtures.get()
        assert (socket.kind, socket.x_mm, socket.fate, socket.is_back_to_back) == ("socket", 500, "moves", True)
        page = office.get(url("surface", wall.pk)).content.decode()
        assert "Back to back" in page and ">s1</text>" in page

    @pytest.mark.parametrize("kind", Fixture.Kind.values)
    def test_every_kind_is_entered_and_drawn(self, office, wall, kind):
        fate = "stays" if kind == "air_brick" else "comes_off"
        data = fixture_data(kind=kind, fate=fate)
        if kind == "downlight":  # hangs on a ceiling
            Surface.objects.filter(pk=wall.pk).update(face="ceiling")
        office.post(url("fixture-new", wall.pk), data)
        page = office.get(url("surface", wall.pk)).content.decode()
        assert Fixture.Kind(kind).label.lower() in page.partition("<desc")[2].partition("</desc>")[0]

    def test_errors_stand_beside_their_field(self, office, wall):
        response = office.post(
            url("fixture-new", wall.pk), fixture_data(kind="air_brick", fate="moves", x_mm=3900, is_back_to_back="on")
        )
        errors = response.context["form"].errors
        assert "An air brick stays" in errors["fate"][0]
        assert "Only sockets" in errors["is_back_to_back"][0]
        assert "46 mm past the right-hand end" in errors["width_mm"][0]
        assert not Fixture.objects.exists()

    def test_the_database_holds_the_rules_too(self, wall):
        with pytest.raises(ValidationError, match="airs the timbers"):
            services.fixture_save(
                fixture=Fixture(surface=wall, kind="air_brick", fate="moves", x_mm=1, width_mm=1, height_mm=1)
            )

    def test_it_stays_under_a_sloped_edge(self, office, gable):
        response = office.post(url("fixture-new", gable.pk), fixture_data(x_mm=100, y_mm=1600))
        assert response.context["form"].errors["height_mm"] == [
            "This reaches past the edge: at its left side the surface is 1,500 mm high."
        ]
        office.post(url("fixture-new", gable.pk), fixture_data(x_mm=1200, y_mm=1600))
        assert gable.fixtures.count() == 1

    def test_the_dimension_being_typed_is_marked(self, office, wall):
        page = office.post(
            url("fixture-new", wall.pk), fixture_data(x_mm=730), **PREVIEW, HTTP_HX_TRIGGER_NAME="x_mm"
        ).content.decode()
        assert 'font-weight="700">730<' in page
        assert not Fixture.objects.exists()

    def test_deleting_takes_the_strip_round_it(self, office, wall):
        nib = FixtureFactory(surface=wall, kind="nib", fate="stays", x_mm=3800, y_mm=0, width_mm=200, height_mm=2400)
        strip(wall.patches.get(), f"fixture-{nib.pk}", 50)
        office.post(url("fixture-delete", nib.pk))
        assert not Fixture.objects.exists()
        assert [p.name for p in wall.patches.all()] == ["Whole wall"]


@pytest.mark.django_db
class TestStrips:
    def test_one_press_leaves_a_strip_clear_that_stays_in_the_prediction(self, office, wall):
        rest = wall.patches.get()
        before = net_area_mm2(wall, rest)
        data = {"patch": rest.pk, "place": "right", "clear_mm": "120", "reason": "unit"}

        office.post(url("strip-new", wall.pk), data)

        made = wall.patches.get(is_rest=False)
        assert (made.x_mm, made.y_mm, made.width_mm, made.height_mm) == (3880, 0, 120, 2400)
        assert (made.name, made.is_strip, made.strip_of, made.depth_limit_mm) == (
            "Strip beside a fitted unit",
            True,
            rest,
            None,
        )
        assert (made.construction, made.condition) == (rest.construction, rest.condition)
        wall = Surface.objects.get(pk=wall.pk)
        assert net_area_mm2(wall, rest) == before - 120 * 2400
        assert net_area_mm2(wall, made) == 120 * 2400

    def test_it_is_drawn_before_it_is_saved(self, office, wall):
        data = {"patch": wall.patches.get().pk, "place": "left", "clear_mm": "120", "reason": "nib"}
        page = office.post(url("strip-new", wall.pk), data, **PREVIEW).content.decode()
        assert "Strip at a nib or pier, 120 mm wide" in page and "stroke-dasharray" in page
        assert wall.patches.count() == 1

    def test_a_reason_is_asked_for(self, office, wall):
        data = {"patch": wall.patches.get().pk, "place": "left", "clear_mm": "120", "reason": ""}
        response = office.post(url("strip-new", wall.pk), data)
        assert list(response.context["form"].errors) == ["reason"]
        assert 'value="120"' in response.content.decode()

    def test_it_is_changed_and_moved(self, office, wall):
        rest = wall.patches.get()
        (made,) = strip(rest, "right")
        data = {"patch": rest.pk, "place": "left", "clear_mm": "80", "reason": "nib"}
        office.post(url("patch", made.pk), data)
        only = wall.patches.get(is_rest=False)
        assert (only.strip_place, only.x_mm, only.width_mm) == ("left", 0, 80)

    def test_under_a_sloped_top_it_follows_the_slope(self, gable):
        (made,) = strip(gable.patches.get(), "top", 100, "cornice")
        assert made.outline_mm
        whole = Polygon(gable.ring).area
        assert made.outline.shape.area == pytest.approx(3600 * 100, rel=0.01)
        gable = Surface.objects.get(pk=gable.pk)
        assert net_area_mm2(gable, gable.patches.get(is_rest=True)) == pytest.approx(whole - 360_000, rel=0.01)

    def test_an_edge_that_a_chimney_breast_interrupts_makes_two(self, wall):
        PatchFactory(surface=wall, is_rest=False, name="Breast", x_mm=1400, width_mm=1200, height_mm=2400)
        made = strip(wall.patches.get(is_rest=True), "top", 100, "cornice")
        assert [(p.x_mm, p.width_mm) for p in made] == [(0, 1400), (2600, 1400)]
        assert strip(wall.patches.get(is_rest=True), "top", 60, "cornice")[0].pk == made[0].pk
        services.patch_delete(patch=made[1], user=UserFactory())
        assert not wall.patches.exclude(strip_reason="").exists()

    def test_strips_that_meet_share_no_place(self, wall):
        rest = wall.patches.get()
        strip(rest, "top", 100, "cornice")
        strip(rest, "left", 200)
        strips = wall.patches.exclude(strip_reason="")
        assert sum(p.outline.shape.area for p in strips) == pytest.approx(
            unary_union([p.outline.shape for p in strips]).area
        )

    def test_nothing_there_is_told(self, office, wall):
        rest = wall.patches.get()
        strip(rest, "right", 100)
        nib = FixtureFactory(surface=wall, kind="nib", fate="stays", x_mm=3920, y_mm=0, width_mm=60, height_mm=2400)
        data = {"patch": rest.pk, "place": f"fixture-{nib.pk}", "clear_mm": "10", "reason": "nib"}
        response = office.post(url("strip-new", wall.pk), data)
        assert "left clear already" in response.context["form"].errors["place"][0]

    def test_it_goes_along_when_the_wall_grows(self):
        room = walked_room()
        wall = room.surfaces.get(letter="B")
        (made,) = strip(PatchFactory(surface=wall), "right", 100)
        drawn = [w.surface.pk for w in room_shape(Room.objects.get()).walls]
        services.room_walk(
            room=Room.objects.get(), walk=Walk.rectangle(4200, 3800, 2500), drawn=drawn, user=UserFactory()
        )
        made.refresh_from_db()
        assert (made.x_mm, made.height_mm) == (3700, 2500)

    def test_it_takes_the_construction_of_what_it_is_cut_from(self, wall):
        (made,) = strip(wall.patches.get(), "right")
        other = PatchFactory().construction
        services.surface_save(surface=wall, construction=other, condition="blown", depth_limit_mm=50)
        made.refresh_from_db()
        assert (made.construction, made.condition, made.depth_limit_mm) == (other, "blown", None)

    def test_the_database_refuses_a_strip_that_is_built_on(self, wall):
        (made,) = strip(wall.patches.get(), "right")
        made.depth_limit_mm = 50
        with pytest.raises(ValidationError, match="nothing is built on it"):
            made.full_clean()


@given(
    st.sampled_from(["left", "right", "top", "bottom"]),
    st.integers(10, 600),
    st.integers(200, 2000),
    st.integers(400, 1500),
)
def test_a_strip_lies_within_what_it_is_cut_from(place, clear_mm, x_mm, width_mm):
    corners = [[0, 0], [4000, 0], [4000, 1500], [3000, 2400], [0, 2400]]
    wall = Surface(pk=1, length_mm=4000, height_mm=2400, outline_mm=corners)
    rest = Patch(pk=1, surface=wall, is_rest=True, name="Rest")
    breast = Patch(pk=2, surface=wall, name="Breast", x_mm=x_mm, y_mm=0, width_mm=width_mm, height_mm=2400)
    wall._prefetched_objects_cache = {"patches": Loaded([rest, breast]), "fixtures": Loaded([])}
    own = patch_shape(wall, rest)
    pieces = strip_shapes(rest, place, clear_mm)
    for piece in pieces:
        assert own.buffer(1e-6).covers(piece)
    area = sum(piece.area for piece in pieces)
    assert area <= clear_mm * (2400 if place in ("left", "right") else 4000) + 1
    if place == "bottom":  # the foot is level and only the breast stands in it
        assert area == pytest.approx(clear_mm * (4000 - width_mm))


class Loaded(list):
    """Stands in for a relation that is loaded."""

    def all(self):
        return self
