"""The walk's page: it makes and changes surfaces, keeps what hangs on them, draws while typing and checks its sums."""

import pytest
from django.urls import reverse

from contractor.rooms import services
from contractor.rooms.models import Room, Surface
from contractor.rooms.selectors import usual_junction_length_mm
from contractor.rooms.services.walk import DoesNotFit
from contractor.rooms.shape import room_shape
from contractor.rooms.walk import Walk
from tests.factories import (
    FixtureFactory,
    JobFactory,
    OpeningFactory,
    PatchFactory,
    RoomFactory,
    SurfaceFactory,
    TreatmentFactory,
    UserFactory,
)
from tests.rooms.walks import L_LENGTHS, L_TURNS, loft_walk, walk, walk_data, walked_room

PREVIEW = {"HTTP_HX_REQUEST": "true", "HTTP_HX_TARGET": "drawing"}
TURNS = ["right", "right", "left", "right", "right", "right"]
FOLD = [
    {"wall": 4, "at_mm": 600, "height_mm": 2400, "fold": 1},
    {"wall": 6, "at_mm": 1000, "height_mm": 2400, "fold": 1},
]


def url(name, pk):
    return reverse(f"rooms:{name}", args=[pk])


def errors_of(response) -> dict:
    """Every message beside its field."""
    assert response.status_code == 200
    typed = response.context["typed"]
    forms = [typed.facts, *typed.walls, *typed.heights, *typed.diagonals]
    return {form.add_prefix(f): list(texts) for form in forms for f, texts in form.errors.items()}


class TestNewRoom:
    def test_it_comes_with_its_surfaces_clockwise_then_ceiling_and_floor(self, office):
        job = JobFactory()
        data = walk_data(L_LENGTHS, TURNS, heights=FOLD, corner="Left of the door")
        data |= {"walls-4-height_mm": "1400", "walls-5-height_mm": "1.4 m"}

        response = office.post(url("room-new", job.number), data, follow=True)

        room = Room.objects.get()
        assert response.redirect_chain[-1][0] == url("room", room.pk)
        found = [(s.letter, s.name, s.face, s.place, s.length_mm, s.height_mm) for s in room.surfaces.all()]
        assert found == [
            ("A", "Wall A", "wall", 1, 4200, 2400),
            ("B", "Wall B", "wall", 2, 2000, 2400),
            ("C", "Wall C", "wall", 3, 1500, 2400),
            ("D", "Wall D", "wall", 4, 1600, 2400),
            ("E", "Wall E", "wall", 5, 2700, 1400),
            ("F", "Wall F", "wall", 6, 3600, 2400),
            ("G", "Ceiling", "ceiling", 1, 4200, 2600),
            ("H", "Sloped ceiling", "ceiling", 2, 2700, 1414),
            ("I", "Floor", "floor", 1, 4200, 3600),
        ]
        sloped = room.surfaces.get(letter="F")
        assert sloped.ring == ((0, 0), (3600, 0), (3600, 2400), (1000, 2400), (0, 1400))
        assert sloped.area_mm2 == 3600 * 2400 - 500_000
        assert room.volume_m3 == pytest.approx(29.178)
        assert (room.length_mm, room.width_mm, room.height_mm) == (4200, 3600, 2400)
        page = response.content.decode()
        assert "1,400 to 2,400 mm" in page and "Left of the door" in page

    def test_two_lengths_may_be_left_to_be_worked_out(self, office):
        office.post(url("room-new", JobFactory().number), walk_data((4200, "3.6 m", "", "")))

        room = Room.objects.get()
        assert [s.length_mm for s in room.surfaces.filter(face="wall")] == [4200, 3600, 4200, 3600]
        page = office.get(url("room", room.pk)).content.decode()
        assert "C and D: worked out from the others, so nothing checks the sizes." in page
        form = office.get(url("room-edit", room.pk)).context["typed"]
        assert [row["length_mm"].value() for row in form.walls] == [4200, 3600, None, None]

    def test_more_are_asked_for_beside_their_walls(self, office):
        response = office.post(url("room-new", JobFactory().number), walk_data((4200, "", "", "")))
        assert list(errors_of(response)) == ["walls-1-length_mm"]
        assert "Measure this wall" in errors_of(response)["walls-1-length_mm"][0]

    def test_errors_stand_beside_their_field_and_typing_is_kept(self, office):
        job = JobFactory()
        RoomFactory(job=job, name="Study")
        data = walk_data((4200, "about 3600", 4200, 3600), notes="Damp patch")
        data |= {"walls-0-turn": "right_by", "heights-TOTAL_FORMS": 1, "heights-0-wall": 1, "heights-0-at_mm": 5000}
        data |= {"heights-0-height_mm": 2300}

        response = office.post(url("room-new", job.number), data)

        assert errors_of(response) == {
            "name": ["This job already has a room of that name."],
            "walls-0-angle_deg": ["By how many degrees does the walk turn here?"],
            "walls-1-length_mm": ["Enter a length such as 2385 (millimetres) or 2.385 m."],
            "heights-0-at_mm": ["Wall A is only 4,200 mm long."],
        }
        page = response.content.decode()
        assert 'value="about 3600"' in page and "Damp patch" in page
        assert not Room.objects.filter(job=job).exclude(name="Study").exists()


class TestCheckSums:
    def test_a_gap_is_told_beside_the_walls_that_would_close_it(self, office):
        response = office.post(url("room-new", JobFactory().number), walk_data((4000, 3000, 3900, 3000)))

        errors = errors_of(response)
        assert errors["walls-0-length_mm"][0].startswith(
            "The room does not close: its end lies 100 mm from its start, at the corner D–A. A 100 mm shorter"
        )
        assert errors["walls-2-length_mm"] == ["Or this wall: 100 mm longer would close the room."]
        assert "Measured twice and still so" in response.content.decode()
        assert not Room.objects.exists()

    def test_it_may_be_kept_and_is_spread(self, office):
        data = walk_data((4000, 3000, 3900, 3000)) | {"keep_gap": "1"}
        office.post(url("room-new", JobFactory().number), data)

        room = Room.objects.get()
        assert [s.length_mm for s in room.surfaces.filter(face="wall")] == [4000, 3000, 3900, 3000]
        page = office.get(url("room", room.pk)).content.decode()
        assert "does not close" in page and "Kept as it is" in page

    def test_a_gross_gap_is_no_room_out_of_square(self, office):
        data = walk_data((4000, 3000, 2000, 3000)) | {"keep_gap": "1"}
        response = office.post(url("room-new", JobFactory().number), data)
        assert "does not close" in errors_of(response)["walls-0-length_mm"][0]
        assert not Room.objects.exists()

    def test_turns_that_do_not_go_once_round_are_told(self, office):
        turns = list(TURNS)
        turns[2] = "right"
        response = office.post(url("room-new", JobFactory().number), walk_data(L_LENGTHS, turns))
        ((field, (text,)),) = errors_of(response).items()
        assert field.endswith("-turn")
        assert "The turns add up to 540°" in text

    def test_a_diagonal_is_checked(self, office):
        diagonals = [{"from_corner": 1, "to_corner": 3, "length_mm": 5060}]
        office.post(url("room-new", JobFactory().number), walk_data((4000, 3000, 4000, 3000), diagonals=diagonals))

        page = office.get(url("room", Room.objects.get().pk)).content.decode()
        assert "Diagonal D–A to B–C: 60 mm longer than the 5,000 mm that walls and turns make" in page


class TestDrawing:
    def test_plan_and_elevations_are_drawn_while_typing_and_nothing_is_saved(self, office):
        data = walk_data(L_LENGTHS, TURNS, heights=FOLD) | {"walls-4-height_mm": "1400", "walls-5-height_mm": "1400"}
        response = office.post(
            url("room-new", JobFactory().number), data, **PREVIEW, HTTP_HX_TRIGGER_NAME="walls-3-length_mm"
        )
        page = response.content.decode()
        assert page.strip().startswith("<figure")
        assert page.count('font-weight="700">1,600<') == 2  # on the plan and on the wall's elevation
        assert page.count("<svg") == 1 + 1 + 9
        assert "Floor 12.7 m², volume 29.2 m³." in page
        assert not Room.objects.exists()

    def test_the_height_being_typed_is_marked_on_its_wall(self, office):
        data = walk_data((4200, 3600, 4200, 3600)) | {"walls-1-height_mm": "2430"}
        response = office.post(
            url("room-new", JobFactory().number), data, **PREVIEW, HTTP_HX_TRIGGER_NAME="walls-1-height_mm"
        )
        assert 'font-weight="700">2,430<' in response.content.decode()

    def test_walls_are_drawn_from_the_first_length_on(self, office):
        data = walk_data((4200, 3600, "", "", ""))
        page = office.post(url("room-new", JobFactory().number), data, **PREVIEW).content.decode()
        assert ">4,200</text>" in page and ">3,600</text>" in page
        empty = office.post(url("room-new", JobFactory().number), walk_data(("",) * 4), **PREVIEW).content.decode()
        assert "The plan appears when the first length is typed" in empty

    def test_a_gap_is_drawn(self, office):
        page = office.post(
            url("room-new", JobFactory().number), walk_data((4000, 3000, 3900, 3000)), **PREVIEW
        ).content.decode()
        assert "Dashed: the gap" in page and "does not close" in page


class TestRows:
    """Without a script rows are added and taken out by a button that saves nothing."""

    def test_a_wall_is_put_in_and_the_others_keep_what_was_typed(self, office):
        heights = [{"wall": 3, "at_mm": 500, "height_mm": 2300, "fold": ""}]
        data = walk_data((4200, 3600, 4100, ""), heights=heights) | {"row": "add walls 2"}

        response = office.post(url("room-new", JobFactory().number), data)

        typed = response.context["typed"]
        assert [row["length_mm"].value() or "" for row in typed.walls] == ["4200", "3600", "", "4100", ""]
        assert typed.heights.forms[0]["wall"].value() == "4"
        assert errors_of(response) == {}
        assert response.content.decode().count("autofocus") == 1
        assert not Room.objects.exists()

    def test_a_wall_is_taken_out_with_what_names_it(self, office):
        heights = [{"wall": 2, "at_mm": 500, "height_mm": 2300, "fold": ""}]
        data = walk_data((4200, 3600, 4100, 3500), heights=heights) | {"row": "remove walls 2"}
        typed = office.post(url("room-new", JobFactory().number), data).context["typed"]
        assert [row["length_mm"].value() for row in typed.walls] == ["4200", "4100", "3500"]
        assert typed.heights.forms[0]["wall"].value() == ""

    @pytest.mark.parametrize("order", ["add", "add roofs", "remove walls 99", "add walls x", "remove heights 1"])
    def test_nonsense_changes_nothing(self, office, order):
        data = walk_data((4200, 3600, 4200, 3600)) | {"row": order}
        response = office.post(url("room-new", JobFactory().number), data)
        assert response.status_code == 200
        assert len(response.context["typed"].walls.forms) in (4, 5)
        assert not Room.objects.exists()


@pytest.mark.django_db
class TestChange:
    def drawn(self, room):
        return [wall.surface.pk for wall in room_shape(room).walls]

    def test_what_hangs_on_the_walls_stays_and_new_walls_come_between(self):
        room = walked_room()
        party = room.surfaces.get(letter="B")
        Surface.objects.filter(pk=party.pk).update(name="Party wall", role="separating")
        patch, window = PatchFactory(surface=party), OpeningFactory(surface=party, x_mm=100)
        a, b, c, d = self.drawn(room)
        room = Room.objects.get()

        services.room_walk(room=room, walk=walk(L_LENGTHS, L_TURNS), drawn=[a, b, None, None, c, d], user=UserFactory())

        found = {s.letter: (s.pk, s.name, s.length_mm) for s in room.surfaces.all() if s.face == "wall"}
        assert found["B"] == (party.pk, "Party wall", 2000)
        assert (found["E"][0], found["E"][1:], found["F"][0]) == (c, ("Wall E", 2700), d)
        assert [s.letter for s in room.surfaces.exclude(face="wall")] == ["G", "H"]
        patch.refresh_from_db(), window.refresh_from_db()
        assert patch.surface_id == window.surface_id == party.pk

    def test_a_wall_that_would_leave_something_outside_is_refused_and_nothing_changes(self, office):
        room = walked_room()
        wall = room.surfaces.get(letter="A")
        PatchFactory(surface=wall, is_rest=False, name="Alcove", x_mm=3800, width_mm=400, height_mm=2400)
        data = walk_data((4000, 3600, 4000, 3600), drawn=self.drawn(room))

        response = office.post(url("room-edit", room.pk), data)

        (message,) = errors_of(response)["walls-0-length_mm"]
        assert message.startswith("A Wall A: Alcove reaches 4,200 mm from the left")
        assert 'value="4000"' in response.content.decode()
        assert Room.objects.get().length_mm == 4200
        assert room.surfaces.get(letter="C").length_mm == 4200

    def test_a_socket_above_a_new_slope_is_refused(self):
        room = walked_room()
        FixtureFactory(surface=room.surfaces.get(letter="B"), x_mm=3300, y_mm=2200)
        sloped = walk((4200, 3600, 4200, 3600), heights=(2400, 2400, 1400, 1400))
        with pytest.raises(DoesNotFit) as refused:
            services.room_walk(room=Room.objects.get(), walk=sloped, drawn=self.drawn(room), user=UserFactory())
        assert list(refused.value.faults) == [2]
        assert "would lie outside" in refused.value.faults[2][0]

    @pytest.mark.parametrize("hang", [OpeningFactory, FixtureFactory])
    def test_a_wall_with_something_on_it_does_not_go(self, hang):
        room = walked_room(walk_=walk(L_LENGTHS, L_TURNS))
        hang(surface=room.surfaces.get(letter="C"), x_mm=100)
        a, b, _, _, e, f = self.drawn(room)
        with pytest.raises(DoesNotFit, match="C Wall C goes away"):
            services.room_walk(
                room=Room.objects.get(),
                walk=Walk.rectangle(4200, 3600, 2400),
                drawn=[a, b, e, f],
                user=UserFactory(),
            )
        assert room.surfaces.count() == 8

    def test_a_planned_treatment_holds_a_wall_and_a_bare_one_goes(self):
        room = walked_room(walk_=walk(L_LENGTHS, L_TURNS))
        a, b, c, _, e, f = self.drawn(room)
        treatment = TreatmentFactory(patch=PatchFactory(surface=Surface.objects.get(pk=c)), scheme__job=room.job)
        facts = {"walk": Walk.rectangle(4200, 3600, 2400), "drawn": [a, b, e, f], "user": UserFactory()}
        with pytest.raises(DoesNotFit, match="a treatment is planned"):
            services.room_walk(room=Room.objects.get(), **facts)
        treatment.delete()
        services.room_walk(room=Room.objects.get(), **facts)
        assert [s.letter for s in room.surfaces.all()] == list("ABCDEF")

    def test_a_room_surveyed_by_three_sizes_is_walked_with_its_own_surfaces(self, office):
        room = RoomFactory(name="Study", length_mm=4200, width_mm=3600)
        for letter, length_mm in zip("ABCD", (4200, 3600, 4210, 3600), strict=True):
            SurfaceFactory(room=room, letter=letter, name=f"Side {letter}", length_mm=length_mm)
        SurfaceFactory(room=room, letter="E", name="Coved ceiling", face="ceiling", length_mm=4200, height_mm=3600)
        typed = office.get(url("room-edit", room.pk)).context["typed"]
        assert [row["length_mm"].value() for row in typed.walls] == [4200, 3600, 4210, 3600]

        data = walk_data((4200, 3600, 4210, 3600), drawn=[row["surface"].value() for row in typed.walls])
        office.post(url("room-edit", room.pk), data)

        names = [(s.letter, s.name, s.place) for s in room.surfaces.all()]
        sides = [(letter, f"Side {letter}", n) for n, letter in enumerate("ABCD", start=1)]
        assert names == [*sides, ("E", "Coved ceiling", 1), ("F", "Floor", 1)]

    def test_the_junction_of_a_wall_follows_its_height_where_it_was_the_usual_one(self):
        room = walked_room()
        wall = room.surfaces.get(letter="A")
        wall.role, wall.junction = "flanking", "rigid_t"
        services.surface_save(surface=wall, construction=PatchFactory().construction)
        assert wall.junction_length_mm == 2400
        taller = Walk.rectangle(4200, 3600, 2600)
        services.room_walk(room=Room.objects.get(pk=room.pk), walk=taller, drawn=self.drawn(room), user=UserFactory())
        wall.refresh_from_db()
        assert wall.junction_length_mm == 2600

    def test_a_junction_is_the_edge_where_two_surfaces_meet(self):
        """By hand, of the loft: the gable F is 1,400 mm high at E and 2,400 at A; the level ceiling meets it on
        2,600 mm, the slope on the root of two metres, the floor all along."""
        room = walked_room(walk_=loft_walk())
        surfaces = {s.letter: s for s in room.surfaces.all()}
        Surface.objects.filter(pk=surfaces["F"].pk).update(role="separating")
        lengths = {letter: usual_junction_length_mm(surfaces[letter]) for letter in "AEGHI"}
        assert lengths == {"A": 2400, "E": 1400, "G": 2600, "H": 1414, "I": 3600}

    def test_another_rooms_surface_is_not_taken(self, office):
        room, other = walked_room(), walked_room(name="Elsewhere")
        stolen = self.drawn(other)
        office.post(url("room-edit", room.pk), walk_data((4200, 3600, 4200, 3600), drawn=stolen))
        assert {s.room_id for s in Surface.objects.filter(pk__in=stolen)} == {other.pk}


def test_the_walls_sizes_are_asked_only_on_the_walk(office):
    room = walked_room(walk_=loft_walk())
    page = office.get(url("surface", room.surfaces.get(letter="F").pk))
    assert "length_mm" not in page.context["form"].fields
    assert "its sizes come from" in page.content.decode()


@pytest.mark.parametrize("corners", [4, 6])
def test_the_walks_page_takes_the_same_queries_for_four_walls_and_six(office, count_queries, corners):
    room = walked_room(walk_=Walk.rectangle(4200, 3600, 2400) if corners == 4 else loft_walk())
    for wall in room.surfaces.filter(face="wall"):
        PatchFactory(surface=wall)
    office.get(url("room-edit", room.pk))
    assert count_queries(office, url("room-edit", room.pk)) <= 24
