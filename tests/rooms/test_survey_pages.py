"""The survey's pages: forms that keep what was typed, drawings that follow the typing, and a fixed number of queries."""

import pytest
from django.urls import reverse

from contractor.rooms.models import Opening, Patch, Room, SidePath, Surface
from tests.factories import (
    ConstructionFactory,
    FixtureFactory,
    JobFactory,
    OpeningFactory,
    PatchFactory,
    RoomFactory,
    SidePathFactory,
    SurfaceFactory,
)

PREVIEW = {"HTTP_HX_REQUEST": "true", "HTTP_HX_TARGET": "drawing"}


def url(name, pk):
    return reverse(f"rooms:{name}", args=[pk])


def surface_data(surface, **changes):
    data = {
        "letter": surface.letter,
        "name": surface.name,
        "role": surface.role,
        "length_mm": surface.length_mm,
        "height_mm": surface.height_mm,
        "construction": "",
        "condition": "sound",
        "depth_limit_mm": "",
        "boxes": "0",
        "out_of_true_mm": "0",
    }
    return data | changes


def errors_of(response) -> dict:
    assert response.status_code == 200
    return {field: list(messages) for field, messages in response.context["form"].errors.items()}


@pytest.fixture
def wall(db):
    wall = SurfaceFactory(letter="B", name="Party wall", length_mm=3600, height_mm=2400)
    PatchFactory(surface=wall, name="Whole wall")
    return wall


class TestRoom:
    def test_deleting_needs_a_post(self, office):
        room = RoomFactory()
        assert office.get(url("room-delete", room.pk)).status_code == 405
        assert office.post(url("room-delete", room.pk)).status_code == 302
        assert not Room.objects.exists()


class TestSurface:
    def test_a_new_surface_takes_the_next_letter_and_the_size_of_its_side(self, office):
        room = RoomFactory(length_mm=4200, width_mm=3600, height_mm=2400)
        SurfaceFactory(room=room, letter="A")

        form = office.get(url("surface-new", room.pk)).context["form"]
        assert (form["letter"].value(), form["length_mm"].value(), form["height_mm"].value()) == ("B", 3600, 2400)

        form = office.get(url("surface-new", room.pk) + "?face=ceiling").context["form"]
        assert (form["name"].value(), form["length_mm"].value(), form["height_mm"].value()) == ("Ceiling", 4200, 3600)

    def test_saving_makes_the_rest_with_its_construction_condition_and_depth(self, office):
        room = RoomFactory()
        brick = ConstructionFactory()
        blank = Surface(letter="b", name="Party wall", role="separating", length_mm=3600, height_mm=2400)
        data = surface_data(blank, construction=brick.pk, condition="blown", depth_limit_mm="100", boxes="2")

        office.post(url("surface-new", room.pk), data)

        surface = Surface.objects.get()
        rest = surface.patches.get()
        assert (surface.letter, surface.face, surface.boxes) == ("B", "wall", 2)
        assert (rest.is_rest, rest.construction, rest.condition, rest.depth_limit_mm) == (True, brick, "blown", 100)

    def test_what_takes_part_must_say_what_it_is_built_of(self, office):
        room = RoomFactory()
        blank = Surface(letter="B", name="Party wall", role="separating", length_mm=3600, height_mm=2400)

        response = office.post(url("surface-new", room.pk), surface_data(blank, depth_limit_mm="95"))

        assert errors_of(response) == {"construction": ["Say what it is built of: it takes part."]}
        assert 'value="95"' in response.content.decode()
        assert not Surface.objects.exists()

    def test_a_flanking_surface_needs_its_junction_and_its_length_has_a_usual_value(self, office, wall):
        side = SurfaceFactory(room=wall.room, letter="A", role="other", length_mm=4200, height_mm=2400)
        data = surface_data(side, role="flanking", construction=ConstructionFactory().pk)

        response = office.post(url("surface", side.pk), data)
        assert errors_of(response) == {"junction": ["Say how this surface meets the separating one."]}
        assert response.context["form"].junction_is_at_fault()

        office.post(url("surface", side.pk), data | {"junction": "rigid_t"})
        side.refresh_from_db()
        assert (side.role, side.junction, side.junction_length_mm) == ("flanking", "rigid_t", 2400)

    def test_a_letter_is_given_once(self, office, wall):
        other = SurfaceFactory(room=wall.room, letter="C", role="other")

        response = office.post(url("surface", other.pk), surface_data(other, letter="b"))

        assert errors_of(response) == {"letter": ["Another surface of this room has that letter."]}

    def test_a_wall_cannot_shrink_below_its_patches_and_nothing_typed_is_lost(self, office, wall):
        PatchFactory(surface=wall, is_rest=False, name="Right alcove", x_mm=2600, width_mm=1000, height_mm=2400)
        OpeningFactory(surface=wall, x_mm=100, y_mm=900, width_mm=600, height_mm=1300)
        construction = wall.patches.get(is_rest=True).construction_id
        data = surface_data(wall, length_mm="3500", height_mm="2100", construction=construction, name="New name")

        response = office.post(url("surface", wall.pk), data)

        assert errors_of(response) == {
            "length_mm": [
                "Right alcove reaches 3,600 mm from the left. Move or narrow it before the surface is made"
                " 3,500 mm long."
            ],
            "height_mm": ["Right alcove reaches 2,400 mm up. Lower it before the surface is made 2,100 mm high."],
        }
        assert 'value="New name"' in response.content.decode()
        wall.refresh_from_db()
        assert (wall.length_mm, wall.name) == (3600, "Party wall")

    def test_save_and_go_on_leads_round_the_room(self, office, wall):
        following = SurfaceFactory(room=wall.room, letter="C", role="other")
        data = surface_data(wall, construction=wall.patches.get().construction_id)

        assert office.post(url("surface", wall.pk), data | {"and_next": "1"}).url == url("surface", following.pk)
        assert office.post(url("surface", wall.pk), data).url == url("surface", wall.pk)

    def test_the_elevation_follows_the_typing_and_marks_what_is_edited(self, office, wall):
        data = surface_data(wall, length_mm="3 725", construction=wall.patches.get().construction_id)

        response = office.post(url("surface", wall.pk), data, **PREVIEW, HTTP_HX_TRIGGER_NAME="length_mm")

        page = response.content.decode()
        assert page.strip().startswith("<figure")
        assert 'font-weight="700">3,725</text>' in page
        wall.refresh_from_db()
        assert wall.length_mm == 3600

    def test_a_retired_construction_stays_where_it_is_in_use(self, office, wall):
        rest = wall.patches.get()
        rest.construction.is_active = False
        rest.construction.save()

        office.post(url("surface", wall.pk), surface_data(wall, construction=rest.construction_id, boxes="3"))

        wall.refresh_from_db()
        assert wall.boxes == 3

    def test_old_fabric_in_an_old_home_raises_the_caution(self, office, wall):
        wall.patches.update(condition="board_on_dabs")
        caution = "may hold asbestos"

        assert caution in office.get(url("surface", wall.pk)).content.decode()
        home = wall.room.job.property
        home.built = "2000_on"
        home.save()
        assert caution not in office.get(url("surface", wall.pk)).content.decode()


class TestPatch:
    @pytest.fixture
    def data(self, wall):
        return {
            "name": "Left alcove",
            "x_mm": "0",
            "width_mm": "900",
            "y_mm": "0",
            "height_mm": "",
            "projection_mm": "0",
            "depth_limit_mm": "100",
            "construction": wall.patches.get().construction_id,
            "condition": "sound",
        }

    def test_it_reaches_the_top_where_no_height_is_given(self, office, wall, data):
        office.post(url("patch-new", wall.pk), data | {"y_mm": "900"})

        patch = Patch.objects.get(is_rest=False)
        assert (patch.name, patch.y_mm, patch.height_mm) == ("Left alcove", 900, 1500)

    def test_it_must_lie_on_the_wall_and_beside_the_others(self, office, wall, data):
        PatchFactory(surface=wall, is_rest=False, name="Chimney breast", x_mm=1000, width_mm=1400, height_mm=2400)

        response = office.post(url("patch-new", wall.pk), data | {"x_mm": "800", "width_mm": "3000"})

        assert errors_of(response) == {
            "width_mm": ["This reaches 200 mm past the right-hand end: the surface is 3,600 mm long."],
            "x_mm": ["This lies over Chimney breast by 1,400 mm across and 2,400 mm up."],
        }
        assert 'value="3000"' in response.content.decode()
        assert Patch.objects.filter(is_rest=False).count() == 1

    def test_the_preview_draws_it_where_it_is_typed_and_says_what_is_wrong(self, office, wall, data):
        response = office.post(
            url("patch-new", wall.pk), data | {"x_mm": "2900"}, **PREVIEW, HTTP_HX_TRIGGER_NAME="x_mm"
        )

        page = response.content.decode()
        assert "reaches 200 mm past" in page
        assert 'font-weight="700">2,900</text>' in page
        assert "This field is required" not in page
        assert Patch.objects.count() == 1

    def test_an_empty_form_draws_the_wall_as_it_stands(self, office, wall):
        response = office.post(url("patch-new", wall.pk), {}, **PREVIEW)
        assert response.status_code == 200
        assert "<svg" in response.content.decode()

    def test_the_rest_has_no_page_of_its_own(self, office, wall):
        assert office.get(url("patch", wall.patches.get().pk)).status_code == 404

    def test_change_and_delete(self, office, wall, data):
        office.post(url("patch-new", wall.pk), data)
        patch = Patch.objects.get(is_rest=False)

        office.post(url("patch", patch.pk), data | {"width_mm": "950", "height_mm": "2400"})
        patch.refresh_from_db()
        assert patch.width_mm == 950
        assert office.post(url("patch-delete", patch.pk)).url == url("surface", wall.pk)
        assert Patch.objects.get().is_rest


class TestOpening:
    data = {"kind": "window", "x_mm": "900", "width_mm": "1200", "y_mm": "900", "height_mm": "1200"}

    def test_it_is_cut_into_the_wall_and_drawn(self, office, wall):
        response = office.post(url("opening-new", wall.pk), self.data, follow=True)

        assert Opening.objects.get().x_mm == 900
        assert ">W1</text>" in response.content.decode()

    def test_it_must_lie_on_the_wall_and_beside_the_others(self, office, wall):
        OpeningFactory(surface=wall, kind="door", x_mm=2000, y_mm=0, width_mm=800, height_mm=2000)

        response = office.post(url("opening-new", wall.pk), self.data | {"y_mm": "1500"})

        assert errors_of(response) == {
            "x_mm": ["This lies over The door at 2,000 mm by 100 mm across and 500 mm up."],
            "height_mm": ["This reaches 300 mm past the top edge: the surface is 2,400 mm high."],
        }

    def test_preview_change_and_delete(self, office, wall):
        opening = OpeningFactory(surface=wall)

        page = office.post(url("opening", opening.pk), self.data | {"width_mm": "1300"}, **PREVIEW).content.decode()
        assert ">1,300</text>" in page
        opening.refresh_from_db()
        assert opening.width_mm == 1200
        office.post(url("opening", opening.pk), self.data | {"width_mm": "1300"})
        opening.refresh_from_db()
        assert opening.width_mm == 1300
        office.post(url("opening-delete", opening.pk))
        assert not Opening.objects.exists()


class TestSidePath:
    def test_the_kind_decides_what_must_be_measured(self, office):
        room = RoomFactory()
        page = url("side-path-new", room.pk)

        assert errors_of(office.post(page, {"kind": "void"})) == {
            "length_mm": ["Length of floor edge along the wall is needed."]
        }
        assert errors_of(office.post(page, {"kind": "leak"})) == {"open_area_mm2": ["Estimate the open area."]}
        office.post(page, {"kind": "flue"})
        path = SidePath.objects.get()
        assert (path.kind, path.name) == ("flue", "Chimney flue")

    def test_a_void_is_as_long_as_the_separating_wall_to_begin_with(self, office, wall):
        form = office.get(url("side-path-new", wall.room_id) + "?kind=void").context["form"]
        assert (form["kind"].value(), form["length_mm"].value()) == ("void", 3600)

    def test_change_and_delete(self, office):
        path = SidePathFactory(kind="void", name="Void", length_mm=3600)

        office.post(url("side-path", path.pk), {"kind": "void", "name": "Void under B", "length_mm": "3500"})
        path.refresh_from_db()
        assert (path.name, path.length_mm) == ("Void under B", 3500)
        assert office.post(url("side-path-delete", path.pk)).url == url("room", path.room_id)
        assert not SidePath.objects.exists()


@pytest.mark.parametrize("name", ["room", "room-edit", "surface", "patch", "opening", "side-path"])
def test_what_does_not_exist_is_not_found(office, name):
    assert office.get(url(name, 999)).status_code == 404


def surveyed(job, rows):
    """`rows` rooms, each with `rows` surfaces, patches and openings of each, and side paths."""
    for r in range(rows):
        room = RoomFactory(job=job, name=f"Room {r}")
        for s in range(rows):
            wall = SurfaceFactory(room=room, letter="ABC"[s])
            PatchFactory(surface=wall)
            for p in range(rows):
                PatchFactory(surface=wall, is_rest=False, x_mm=p * 500, width_mm=400, height_mm=2400)
                OpeningFactory(surface=wall, x_mm=p * 600, y_mm=900, width_mm=500, height_mm=500)
                FixtureFactory(surface=wall, x_mm=p * 600)
        SidePathFactory.create_batch(rows, room=room)
    return room


@pytest.mark.parametrize("rows", [1, 3])
@pytest.mark.parametrize("name", ["survey", "room", "surface", "patch-new"])
def test_pages_take_the_same_queries_for_one_row_and_three(office, count_queries, name, rows):
    job = JobFactory()
    room = surveyed(job, rows)
    surface = room.surfaces.first()
    pk = {"survey": job.number, "room": room.pk, "surface": surface.pk, "patch-new": surface.pk}[name]
    page = url(name, pk)
    office.get(page)

    # Beside these every page reads the thread of steps, whose number of queries other steps decide.
    thread = _queries_of_thread(job)
    expected = {"survey": 11, "room": 13, "surface": 17, "patch-new": 11}
    assert count_queries(office, page) - thread == expected[name]


def _queries_of_thread(job):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from contractor.jobs.thread import thread_for

    with CaptureQueriesContext(connection) as queries:
        thread_for(job, current="survey")
    return len(queries)
