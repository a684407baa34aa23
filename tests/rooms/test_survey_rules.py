"""Rules of the survey: what lies where, what is missing, and the preparation that a condition asks for.

The preparation rules are common practice in the trade (sound plaster stays, hollow board and blown plaster come off,
bare masonry is parged).
"""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from contractor.accounts.models import AuditEntry
from contractor.jobs.services import noise_save
from contractor.rooms import services
from contractor.rooms.gaps import mismatches, warnings_for
from contractor.rooms.models import Finding, Opening, Patch, Room, SidePath, Surface
from contractor.rooms.placing import Part, beyond, overlap
from contractor.rooms.preparation import preparation_for
from contractor.rooms.rules import rule_sheet
from contractor.rooms.selectors import job_gaps, survey_state, usual_junction_length_mm
from tests.factories import (
    ConstructionFactory,
    ConstructionLayerFactory,
    JobFactory,
    MaterialFactory,
    OpeningFactory,
    PatchFactory,
    RoomFactory,
    SurfaceFactory,
    TreatmentFactory,
    UserFactory,
)

WALL = ((0, 0), (3600, 0), (3600, 2400), (0, 2400))


def part(x_mm, y_mm, width_mm, height_mm, name="It"):
    return Part(x_mm=x_mm, y_mm=y_mm, width_mm=width_mm, height_mm=height_mm, name=name)


def test_a_part_that_reaches_out_says_by_how_much():
    assert beyond(part(3000, 0, 800, 2400), WALL) == {
        "width_mm": "This reaches 200 mm past the right-hand end: the surface is 3,600 mm long."
    }
    assert beyond(part(0, 2500, 800, 100), WALL) == {
        "y_mm": "This reaches 200 mm past the top edge: the surface is 2,400 mm high."
    }
    assert beyond(part(0, 0, 3600, 2400), WALL) == {}


def test_overlap_names_the_other_and_touching_is_none():
    alcove = part(0, 0, 1000, 2400, "Left alcove")
    assert overlap(part(900, 0, 500, 2400), [alcove]) == "This lies over Left alcove by 100 mm across and 2,400 mm up."
    assert overlap(part(1000, 0, 500, 2400), [alcove]) is None


lengths = st.integers(0, 60)
sizes = st.integers(1, 60)
parts = st.builds(part, lengths, lengths, sizes, sizes)


@given(parts, parts)
def test_overlap_agrees_with_counting_squares(a, b):
    def squares(p):
        return {(x, y) for x in range(p.x_mm, p.right_mm) for y in range(p.y_mm, p.top_mm)}

    assert (overlap(a, [b]) is not None) == bool(squares(a) & squares(b))
    assert (overlap(a, [b]) is None) == (overlap(b, [a]) is None)


@pytest.mark.django_db
class TestRooms:
    def test_deleting_leaves_a_line_in_the_record(self):
        services.room_delete(room=RoomFactory(name="Study"), user=UserFactory())

        assert not Room.objects.exists()
        assert AuditEntry.objects.get().detail == {"room": "Study"}


@pytest.mark.django_db
class TestSurfaces:
    def test_the_rest_is_made_with_the_surface_and_changed_in_place(self):
        brick, block = ConstructionFactory(), ConstructionFactory()
        wall = SurfaceFactory.build(room=RoomFactory(), letter="A")

        services.surface_save(surface=wall, construction=brick, condition="sound", depth_limit_mm=100)
        services.surface_save(surface=wall, construction=block, condition="blown", depth_limit_mm=None)

        rest = Patch.objects.get()
        assert (rest.is_rest, rest.name, rest.construction) == (True, "Whole wall", block)
        assert (rest.condition, rest.depth_limit_mm) == ("blown", None)

    def test_what_takes_part_needs_a_construction(self):
        with pytest.raises(ValidationError, match="built of"):
            services.surface_save(surface=SurfaceFactory.build(room=RoomFactory(), letter="A"))
        assert not Surface.objects.exists()

    def test_a_junction_is_as_long_as_the_edge_that_both_share(self):
        room = RoomFactory()
        SurfaceFactory(room=room, letter="B", length_mm=3600, height_mm=2400)
        wall = SurfaceFactory(room=room, letter="A", role="other", length_mm=4200, height_mm=2450)
        floor = SurfaceFactory(room=room, letter="F", role="other", face="floor", length_mm=4200, height_mm=3600)

        assert usual_junction_length_mm(wall) == 2450
        assert usual_junction_length_mm(floor) == 3600

        room.surfaces.filter(letter="B").update(face="ceiling")
        assert usual_junction_length_mm(wall) == 4200

    def test_the_first_patch_turns_the_whole_into_the_rest_and_back(self):
        wall = SurfaceFactory()
        rest = PatchFactory(surface=wall)
        patch = Patch(surface=wall, name="Alcove", width_mm=900, height_mm=2400, construction=rest.construction)

        services.patch_save(patch=patch)
        assert wall.patches.get(is_rest=True).name == "Rest of the wall"
        services.patch_delete(patch=patch, user=UserFactory())
        assert wall.patches.get().name == "Whole wall"

    def test_the_rest_cannot_be_deleted(self):
        with pytest.raises(ValidationError):
            services.patch_delete(patch=PatchFactory(), user=UserFactory())

    def test_patches_and_openings_are_kept_on_the_wall_and_apart(self):
        wall = SurfaceFactory(length_mm=3600, height_mm=2400)
        rest = PatchFactory(surface=wall)
        window = OpeningFactory(surface=wall, x_mm=900, y_mm=900, width_mm=1200, height_mm=1200)
        patch = Patch(surface=wall, name="Nib", x_mm=3500, width_mm=200, height_mm=2400)
        patch.construction = rest.construction

        with pytest.raises(ValidationError) as refused:
            services.patch_save(patch=patch)
        assert list(refused.value.message_dict) == ["width_mm"]
        with pytest.raises(ValidationError, match="over The window at 900 mm"):
            services.opening_save(opening=Opening(surface=wall, kind="door", x_mm=2000, width_mm=800, height_mm=2000))
        services.opening_save(opening=window)  # itself is not in its own way

    def test_deleting_a_patch_takes_what_was_planned_for_it(self):
        patch = PatchFactory(is_rest=False, width_mm=900, height_mm=2400)
        TreatmentFactory(patch=patch)

        services.patch_delete(patch=patch, user=UserFactory())

        assert not Patch.objects.filter(pk=patch.pk).exists()


def missing(job):
    return [gap.text for gap in job_gaps(job)]


@pytest.mark.django_db
class TestGaps:
    def test_they_go_one_by_one_as_the_survey_is_filled(self):
        job = JobFactory()
        assert missing(job) == [
            "No noise yet: note what is heard.",
            "No room yet: add the room in which the noise is heard.",
        ]
        assert survey_state(job) == ("now", "No room yet")
        noise_save(job=job, kind="speech")

        room = RoomFactory(job=job, name="Study")
        assert missing(job) == [
            "Study: say which surface lies between us and the noise.",
            "Study: say which walls, ceiling or floor run past it. They limit the result.",
        ]
        party = SurfaceFactory(room=room, letter="B", name="Party wall")
        SurfaceFactory(
            room=room, letter="A", name="Wall A", role="flanking", junction="rigid_t", junction_length_mm=2400
        )
        assert missing(job) == [
            "Study, A Wall A: say what it is built of.",
            "Study, B Party wall: say what it is built of.",
        ]
        for surface in room.surfaces.all():
            PatchFactory(surface=surface, depth_limit_mm=None)
        door = OpeningFactory(surface=party, kind="door")
        assert missing(job) == [
            "Study, B Party wall: ask what depth the customer will give.",
            "Study, B Party wall: say what the door is made of.",
        ]
        assert survey_state(job) == ("now", "2 things missing")
        party.patches.update(depth_limit_mm=100)
        Opening.objects.filter(pk=door.pk).update(construction=ConstructionFactory(kind="door"))
        assert missing(job) == [
            "Study, B Party wall: knock on the plaster. How much of it is hollow is a guess so far."
        ]
        Finding.objects.create(surface=party, was_tapped=True)
        assert missing(job) == []
        assert survey_state(job) == ("done", "1 room")

    def test_what_the_home_is_and_whose_is_asked_for(self):
        job = JobFactory(property__built="unknown", property__tenure="unknown")
        assert [text[:28] for text in missing(job)[1:3]] == [
            "Ask when the home was built:",
            "Ask whether the home is owne",
        ]

    def test_each_leads_to_a_page_that_mends_it(self, office):
        job = JobFactory(property__built="unknown")
        wall = SurfaceFactory(room=RoomFactory(job=job))
        PatchFactory(surface=wall)
        for gap in [*job_gaps(job), *job_gaps(JobFactory())]:
            assert office.get(gap.url).status_code == 200, gap

    @pytest.mark.parametrize("condition, asked", [("sound", True), ("lath", True), ("bare", False), ("board", False)])
    def test_only_plaster_that_is_built_on_is_knocked_on(self, condition, asked):
        patch = PatchFactory(condition=condition)
        assert any("knock" in text for text in missing(patch.surface.room.job)) == asked
        Patch.objects.update(depth_limit_mm=None)
        assert not any("knock" in text for text in missing(patch.surface.room.job))

    def test_sizes_that_do_not_close_are_named_with_their_corner(self):
        room = RoomFactory(length_mm=4200, width_mm=3600, height_mm=2400)
        for letter, length_mm in zip("ABCD", [4200, 3600] * 2, strict=True):
            SurfaceFactory(room=room, letter=letter, name=f"Wall {letter}", length_mm=length_mm)
        SurfaceFactory(room=room, letter="E", name="Ceiling", face="ceiling", length_mm=4200, height_mm=3600)
        assert mismatches(room) == []
        room.surfaces.filter(letter="C").update(length_mm=4150)
        room.surfaces.filter(letter="B").update(height_mm=2430)
        room.surfaces.filter(letter="E").update(height_mm=3000)
        assert mismatches(room) == [
            "B Wall B: 30 mm more than the room's height. Measure again from floor to ceiling.",
            "C Wall C: 50 mm less than the room's length. Measure again at the corner with D.",
            "E Ceiling: 600 mm less than the room's width. Measure again along wall B.",
        ]

    def test_warnings_only_for_what_is_built_on(self):
        wall = SurfaceFactory(boxes=2, out_of_true_mm=12)
        patch = PatchFactory(surface=wall, condition="board_on_dabs", depth_limit_mm=35)
        assert len(warnings_for(wall, rule_sheet(wall.room.job))) == 3
        patch.depth_limit_mm = None
        patch.save()
        assert warnings_for(wall, rule_sheet(wall.room.job)) == []


def keys(patch):
    return [
        (step.allowance_key, step.quantity_per_m2)
        for step in preparation_for(patch, rule_sheet(patch.surface.room.job))
    ]


@pytest.mark.django_db
class TestPreparation:
    parge = ("parge-masonry", Decimal(1))

    @pytest.mark.parametrize(
        "condition, first",
        [
            ("blown", "strip-plaster"),
            ("board_on_dabs", "strip-board-on-dabs"),
            ("existing_lining", "strip-existing-lining"),
        ],
    )
    def test_what_comes_off_masonry_is_carried_out_and_the_wall_parged(self, condition, first):
        steps = keys(PatchFactory(condition=condition))

        assert [key for key, _ in steps] == [first, "bag-and-carry", "parge-masonry"]
        assert steps[0][1] == 1
        assert Decimal("0.005") < steps[1][1] < Decimal("0.04")  # 5 to 40 kg from a square metre

    def test_sound_plaster_stays(self):
        assert keys(PatchFactory(condition="sound")) == []

    def test_bare_masonry_is_parged(self):
        assert keys(PatchFactory(condition="bare")) == [self.parge]

    def test_a_fifth_of_hollow_plaster_is_made_good(self):
        assert keys(PatchFactory(condition="part_hollow")) == [("patch-hollow-plaster", Decimal("0.2"))]

    def test_a_light_wall_is_not_parged_when_its_lining_comes_off(self):
        stud = ConstructionFactory(layer=None)
        ConstructionLayerFactory(construction=stud, material=MaterialFactory(is_masonry=False))
        steps = keys(PatchFactory(condition="existing_lining", construction=stud))
        assert [key for key, _ in steps] == ["strip-existing-lining", "bag-and-carry"]

    def test_a_blown_ceiling_comes_down_whole(self):
        ceiling = SurfaceFactory(face="ceiling")
        steps = keys(PatchFactory(surface=ceiling, condition="blown"))
        assert [key for key, _ in steps] == ["strip-lath-ceiling", "bag-and-carry"]

    def test_every_step_is_an_allowance_of_the_catalogue_and_has_its_reason(self):
        from contractor.catalogue.models import LabourAllowance
        from contractor.catalogue.services import load_seed

        load_seed()
        known = set(LabourAllowance.objects.values_list("key", flat=True))
        for face in Surface.Face.values:
            for condition in Patch.Condition.values:
                patch = PatchFactory(surface=SurfaceFactory(face=face), condition=condition)
                for step in preparation_for(patch, rule_sheet(patch.surface.room.job)):
                    assert step.allowance_key in known
                    assert step.reason


@pytest.mark.django_db
def test_a_side_path_is_saved_whole():
    path = SidePath(room=RoomFactory(), kind="void", name="Joined floor void", length_mm=3600)
    assert services.side_path_save(side_path=path).pk
