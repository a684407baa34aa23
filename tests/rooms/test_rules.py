"""The rules of the survey: common practice in the trade as marked on each, weighed on patches and build-ups.

Thresholds tested from both sides: plaster hollow over a fifth or in a place over 0.5 m² comes off whole; up to a fifth
it is patched; board on dabs and old linings come off; bare masonry is parged; no third leaf; a light base is damped;
nothing stands before an air brick; under 40 mm helps speech only; out of true over 10 mm in 1.8 m; a ceiling that
gains over 15 kg/m² or a floor over 25 kg/m² goes to an engineer (an office threshold, from memory).
"""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from contractor.catalogue.models import BuildUp, Construction, LabourAllowance
from contractor.catalogue.services import load_seed
from contractor.jobs.cautions import reasons_for
from contractor.jobs.models import Gate
from contractor.jobs.services import noise_save
from contractor.rooms.inputs import build_ups_with_layers, surveyed_rooms
from contractor.rooms.models import Finding, Fixture, Patch, Rule, RuleOverride
from contractor.rooms.rules import blocks, rule_sheet, verdicts, works
from contractor.rooms.rules.book import shipped
from contractor.rooms.rules.facts import FACTS
from tests.factories import (
    BuildUpFactory,
    BuildUpLayerFactory,
    FixtureFactory,
    JobFactory,
    OpeningFactory,
    PatchFactory,
    RoomFactory,
    SchemeFactory,
    SidePathFactory,
    SurfaceFactory,
    TreatmentFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db


def weigh(patch, build_up=None):
    return verdicts(patch, build_up, sheet=rule_sheet(patch.surface.room.job))


def names(found, kind=None):
    return [v.rule for v in found if kind is None or v.kind == kind]


def work(patch):
    return [(w.allowance_key, w.quantity_per_m2) for w in works(weigh(patch))]


def wall(**fields):
    return PatchFactory(surface=SurfaceFactory(length_mm=3000, height_mm=2400), **fields)


def find(patch, *, hollow=(), damp=(), skipped=(), **fields):
    marks = {
        "hollow": [list(c) for c in hollow],
        "damp": [list(c) for c in damp],
        "skipped": [list(c) for c in skipped],
    }
    return Finding.objects.create(surface=patch.surface, was_tapped=True, marks=marks, **fields)


def cells(columns, rows):
    return [(c, r) for c in columns for r in rows]


@pytest.fixture
def catalogue():
    load_seed()
    return {b.key: b for b in build_ups_with_layers()}


class TestHollowPlaster:
    """A wall of 3000 by 2400 is 10 by 8 cells of 300: a cell is 1.25 %, or 0.09 m²."""

    def test_up_to_a_fifth_in_small_places_is_cut_out_and_filled_by_its_own_share(self):
        patch = wall(condition="sound")
        find(patch, hollow=[(0, 0), (2, 0), (4, 0), (6, 0)])  # 5 %, none larger than a cell
        assert work(patch) == [("patch-hollow-plaster", Decimal("0.05"))]

    @pytest.mark.parametrize(
        "hollow, comes_off",
        [
            ([*cells(range(0, 10, 2), [0, 2, 4]), (1, 7)], False),  # 16 single cells: exactly a fifth
            ([*cells(range(0, 10, 2), [0, 2, 4]), (1, 7), (3, 7)], True),  # 17: more
            (cells(range(5), [0]), False),  # one place of 0.45 m²
            (cells(range(3), [0, 1]), True),  # one place of 0.54 m², though only 7.5 %
            (cells(range(3), [0]) + cells(range(4, 7), [0]), False),  # the same area in two places
        ],
    )
    def test_more_than_a_fifth_or_half_a_square_metre_comes_off(self, hollow, comes_off):
        patch = wall(condition="sound")
        find(patch, hollow=hollow)
        assert ("strip-plaster" in dict(work(patch))) == comes_off

    @pytest.mark.parametrize(
        "found",
        [{"damp": [(0, 0)]}, {"has_salts": True}, {"is_crumbling": True}, {"moisture_percent": Decimal("20.1")}],
    )
    def test_damp_salts_and_crumbling_bring_it_off_too(self, found):
        patch = wall(condition="sound")
        find(patch, **found)
        assert [key for key, _ in work(patch)] == ["strip-plaster", "bag-and-carry", "parge-masonry"]

    def test_what_was_not_reached_counts_neither_way(self):
        patch = wall(condition="sound")
        find(patch, hollow=[(0, 0), (2, 0), (4, 0)], skipped=cells(range(10), range(1, 8)))  # 3 of 10
        assert "strip-plaster" in dict(work(patch))

    def test_the_reason_says_what_was_found(self):
        patch = wall(condition="sound")
        find(patch, hollow=cells(range(10), [0, 1]), damp=[(0, 0)])
        verdict = next(v for v in weigh(patch) if v.rule == "unsound-plaster-off")
        assert verdict.found == (
            "Hollow when knocked on: 25 %",
            "Largest hollow place: 1.8 m²",
            "Damp to the hand: 1.2 %",
        )

    def test_each_patch_has_the_share_of_its_own_place_outside_the_openings(self):
        rest = wall(condition="sound")
        alcove = PatchFactory(
            surface=rest.surface, is_rest=False, name="Alcove", x_mm=0, y_mm=0, width_mm=1500, height_mm=2400
        )
        OpeningFactory(surface=rest.surface, kind="door", x_mm=2100, y_mm=0, width_mm=900, height_mm=2100)
        find(rest, hollow=cells(range(2), [0]))  # 0.18 m² of the alcove's 3.6 m²
        assert work(alcove) == [("patch-hollow-plaster", Decimal("0.05"))]
        assert work(rest) == []

    def test_a_build_up_that_takes_the_face_down_leaves_no_plaster_to_patch(self, catalogue):
        patch = wall(condition="lath", construction=made("lath-and-plaster-stud"))
        find(patch, hollow=[(0, 0)])
        assert work(patch) == [("patch-hollow-plaster", Decimal("0.012"))]
        assert works(weigh(patch, catalogue["partition-bar-upgrade-50"])) == []

    def test_the_measured_share_goes_before_the_word(self):
        patch = wall(condition="part_hollow")
        assert work(patch) == [("patch-hollow-plaster", Decimal("0.2"))]
        find(patch)
        assert work(patch) == []


class TestGapsInBareMasonry:
    @pytest.mark.parametrize("kind, packed", [("leak", True), ("void", True), ("pipe", False)])
    def test_joist_ends_are_packed_and_edges_sealed_where_sound_comes_round(self, kind, packed):
        patch = wall(condition="board_on_dabs")
        SidePathFactory(room=patch.surface.room, kind=kind)
        assert ("pack-joist-ends" in dict(work(patch))) == packed

    def test_not_behind_plaster_that_stays(self):
        patch = wall(condition="sound")
        SidePathFactory(room=patch.surface.room, kind="leak")
        assert work(patch) == []


class TestWhatIsBuilt:
    def test_an_old_lining_is_stripped_so_a_new_one_is_no_third_leaf(self, catalogue):
        patch = PatchFactory(condition="existing_lining", construction=made("one-brick-board-on-dabs"))
        assert blocks(weigh(patch, catalogue["independent-steel-lining-95"])) == []

    def test_kept_all_the_same_it_forbids_the_new_one(self, catalogue):
        patch = PatchFactory(condition="existing_lining", construction=made("one-brick-board-on-dabs"))
        override(patch, "old-lining-off")
        assert names(blocks(weigh(patch, catalogue["independent-steel-lining-95"]))) == ["no-triple-leaf"]

    def test_a_hollow_partition_takes_no_second_void_but_may_be_opened(self, catalogue):
        patch = PatchFactory(condition="board", construction=made("stud-partition"))
        found = blocks(weigh(patch, catalogue["independent-steel-lining-95"]))
        assert names(found) == ["no-triple-leaf", "damp-a-ringing-base"]
        assert blocks(weigh(patch, catalogue["partition-bar-upgrade-50"])) == []

    def test_a_thin_block_wall_wants_damping_and_a_brick_one_does_not(self, catalogue):
        thin = PatchFactory(construction=made("light-block-plastered"))
        brick = PatchFactory(construction=made("one-brick-plastered"))
        plain, damped = catalogue["independent-steel-lining-95"], catalogue["slim-bar-lining-50"]
        assert names(blocks(weigh(thin, plain))) == ["damp-a-ringing-base"]
        assert blocks(weigh(thin, damped)) == blocks(weigh(brick, plain)) == []

    def test_a_frame_fixed_hard_to_the_wall_is_a_bridge(self):
        build_up = BuildUpFactory()
        BuildUpLayerFactory(build_up=build_up, role="support", connection="timber_stud", material=None, order=1)
        BuildUpLayerFactory(build_up=build_up, role="board", order=2)
        assert names(blocks(weigh(PatchFactory(), build_up))) == ["no-bridge"]

    def test_nothing_goes_before_an_air_brick_whatever_anybody_says(self, catalogue):
        patch = PatchFactory(construction=made("one-brick-plastered"))
        Fixture.objects.create(
            surface=patch.surface, kind="air_brick", fate="stays", x_mm=300, y_mm=150, width_mm=225, height_mm=75
        )
        override(patch, "air-brick-stays-clear")
        assert names(blocks(weigh(patch, catalogue["slim-bar-lining-50"]))) == ["air-brick-stays-clear"]

    def test_beside_the_air_brick_a_lining_may_go(self, catalogue):
        rest = PatchFactory(construction=made("one-brick-plastered"))
        Fixture.objects.create(
            surface=rest.surface, kind="air_brick", fate="stays", x_mm=300, y_mm=150, width_mm=225, height_mm=75
        )
        clear = PatchFactory(
            surface=rest.surface, is_rest=False, name="Clear", x_mm=200, y_mm=0, width_mm=450, height_mm=300,
            construction=rest.construction, depth_limit_mm=None,
        )  # fmt: skip
        assert blocks(weigh(rest, catalogue["slim-bar-lining-50"])) == []
        assert names(blocks(weigh(clear, catalogue["slim-bar-lining-50"]))) == ["air-brick-stays-clear"]

    def test_every_shipped_lining_of_walls_may_go_on_a_plastered_brick_wall(self, catalogue):
        patch = PatchFactory(construction=made("one-brick-plastered"))
        on_walls = [b for b in catalogue.values() if b.surface == BuildUp.Surface.WALL and not b.replaces_face]
        assert len(on_walls) >= 6
        assert {b.key: blocks(weigh(patch, b)) for b in on_walls} == {b.key: [] for b in on_walls}

    @pytest.mark.parametrize("heard, expected", [("music", True), ("speech", False)])
    def test_bass_asks_for_depth_and_heavy_boards(self, catalogue, heard, expected):
        patch = PatchFactory(construction=made("one-brick-plastered"))
        noise_save(job=patch.surface.room.job, kind=heard)
        slim, deep = catalogue["slim-clip-lining-50"], catalogue["independent-steel-lining-95"]
        bass = {"bass-needs-depth", "bass-needs-boards"}
        assert (bass <= set(names(weigh(patch, slim), "warn"))) == expected
        assert not bass & set(names(weigh(patch, deep)))

    def test_weights_overhead_and_underfoot_go_to_an_engineer(self, catalogue):
        ceiling = PatchFactory(surface=SurfaceFactory(face="ceiling"), construction=made("timber-floor-board-ceiling"))
        floor = PatchFactory(surface=SurfaceFactory(face="floor"), construction=made("timber-floor-board-ceiling"))
        assert "ceiling-load" in names(weigh(ceiling, catalogue["independent-ceiling-205"]), "gate")  # two of 12.8
        assert "floor-load" in names(weigh(floor, catalogue["platform-floor-62"]), "gate")  # 18 and 19 mm boards
        assert "floor-load" not in names(weigh(floor, catalogue["floor-mat-12"]), "gate")

    def test_a_lining_deeper_than_the_frame_leaves_needs_a_reveal(self, catalogue):
        patch = PatchFactory(construction=made("one-brick-plastered"))
        find(patch, frame_clear_mm=60)
        assert "reveal-detail" in names(weigh(patch, catalogue["independent-steel-lining-95"]))
        assert "reveal-detail" not in names(weigh(patch, catalogue["slim-bar-lining-50"]))


class TestWarningsOfThePatch:
    @pytest.mark.parametrize(
        "depth, said",
        [
            (39, "little-depth"),
            (40, "slim-depth"),
            (60, "slim-depth"),
            (61, None),
            (89, None),
            (90, "free-frame-depth"),
        ],
    )
    def test_the_depth_says_what_fits(self, depth, said):
        found = names(weigh(PatchFactory(depth_limit_mm=depth)))
        assert [n for n in ("little-depth", "slim-depth", "free-frame-depth") if n in found] == ([said] if said else [])

    @pytest.mark.parametrize("gap, warned", [(10, False), (11, True)])
    def test_out_of_true(self, gap, warned):
        patch = PatchFactory(surface=SurfaceFactory(out_of_true_mm=gap))
        assert ("wall-out-of-true" in names(weigh(patch))) == warned

    def test_lights_footsteps_boxes_units_and_vibration(self):
        job = JobFactory()
        noise_save(job=job, kind="footsteps", is_felt=True)
        ceiling = PatchFactory(surface=SurfaceFactory(room=RoomFactory(job=job), face="ceiling", boxes=1))
        OpeningFactory(surface=ceiling.surface, kind="unit")
        Fixture.objects.create(surface=ceiling.surface, kind="downlight", x_mm=900, y_mm=900, width_mm=80, height_mm=80)
        assert set(names(weigh(ceiling), "warn")) >= {
            "footsteps-at-source", "lights-in-the-ceiling", "boxes-move", "units-kept-apart", "felt-noise",
        }  # fmt: skip


class TestGates:
    def test_breaking_out_old_fabric_asks_for_asbestos_to_be_settled(self):
        old = PatchFactory(condition="blown")
        assert "asbestos-before-breaking-out" in names(weigh(old), "gate")
        new = PatchFactory(condition="blown")
        new.surface.room.job.property.built = "2000_on"
        assert "asbestos-before-breaking-out" not in names(weigh(new), "gate")
        assert "asbestos-before-breaking-out" not in names(weigh(PatchFactory(condition="sound")), "gate")

    def test_flues_voids_beams_points_damp_and_consents(self):
        room = RoomFactory()
        for kind in ("flue", "void", "beam"):
            SidePathFactory(room=room, kind=kind)
        room.job.property.is_listed = True
        patch = PatchFactory(surface=SurfaceFactory(room=room, boxes=1))
        find(patch, damp=[(0, 0)])
        gates = {v.gate for v in weigh(patch) if v.kind == "gate"}
        assert gates == {"flue", "ventilation", "structure", "electrics", "consent", "asbestos"}


class TestTheBook:
    def test_every_shipped_rule_asks_known_facts_and_names_known_work(self):
        load_seed()
        allowances = set(LabourAllowance.objects.values_list("key", flat=True))
        for rule in shipped().values():
            assert rule.reason and rule.origin and rule.conditions, rule.key
            assert rule.effect in Rule.Effect.values
            assert bool(rule.works) == (rule.effect == "work"), rule.key
            assert (rule.gate in Gate.Kind.values) == (rule.effect == "gate"), rule.key
            assert {w["allowance"] for w in rule.works} <= allowances
            for condition in rule.conditions:
                fact = FACTS[condition["fact"]]
                if not fact.is_number:
                    assert condition["value"] in dict(fact.choices), (rule.key, condition)
                elif condition["value"] not in FACTS:
                    float(condition["value"])

    def test_the_office_may_move_a_threshold_or_put_a_rule_out_of_force(self):
        patch = wall(condition="sound")
        find(patch, hollow=[*cells(range(0, 10, 2), [0, 2, 4]), (1, 7), (3, 7), (5, 7), (7, 7)])  # 23.75 %
        assert "strip-plaster" in dict(work(patch))

        values = changed("unsound-plaster-off", "hollow_percent", "25")
        row = Rule.objects.create(**values)
        fill = Rule.objects.create(**changed("hollow-patches-filled", "hollow_percent", "25", how="at_most"))
        assert work(patch) == [("patch-hollow-plaster", Decimal("0.238"))]
        fill.is_active = False
        fill.save()
        assert work(patch) == []
        row.delete()
        assert "strip-plaster" in dict(work(patch))

    def test_a_rule_of_the_offices_own(self):
        Rule.objects.create(
            key="lime-needs-asking", name="Old lime", effect="warn", reason="Ask about lime.",
            conditions=[{"fact": "condition", "is": "is", "value": "sound"}],
        )  # fmt: skip
        assert "lime-needs-asking" in names(weigh(wall(condition="sound")))
        assert "lime-needs-asking" not in names(weigh(wall(condition="bare")))

    def test_an_override_sets_the_work_aside_and_is_told_with_its_reason(self):
        patch = wall(condition="board_on_dabs")
        given = override(patch, "board-on-dabs-off")
        verdict = next(v for v in weigh(patch) if v.rule == "board-on-dabs-off")
        assert work(patch) == []
        assert (verdict.override.reason, verdict.override.by) == (given.reason, given.by.display_name)

    def test_weighing_a_loaded_survey_asks_the_database_nothing(self, catalogue):
        job = JobFactory()
        room = RoomFactory(job=job)
        for _ in range(2):
            PatchFactory(surface=SurfaceFactory(room=room))
        with CaptureQueriesContext(connection) as queries:
            sheet = rule_sheet(job)
        assert len(queries) == 4
        rooms = surveyed_rooms(job)
        with CaptureQueriesContext(connection) as queries:
            for surface in rooms[0].surfaces.all():
                for patch in surface.patches.all():
                    for build_up in catalogue.values():
                        verdicts(patch, build_up, sheet=sheet)
        assert len(queries) == 0


def made(key):
    return Construction.objects.get(key=key)


def override(patch: Patch, rule: str) -> RuleOverride:
    return RuleOverride.objects.create(
        patch=patch, rule_key=rule, rule_name=rule, reason="The owner wants the old panelling kept.", by=UserFactory()
    )


def changed(key: str, fact: str, value: str, how: str = "over") -> dict:
    """A shipped rule with one bound moved, as a row."""
    rule = shipped()[key]
    conditions = [dict(c) | ({"value": value} if c["fact"] == fact and c["is"] == how else {}) for c in rule.conditions]
    return {
        "key": key, "name": rule.name, "position": rule.position, "effect": rule.effect, "reason": rule.reason,
        "conditions": conditions, "works": [dict(w) for w in rule.works], "fabric": rule.fabric,
    }  # fmt: skip


class TestWhyAGateIsNeeded:
    def test_a_reason_is_told_once_with_its_places_and_the_homes_own_not_again(self):
        room = RoomFactory(name="Study")
        home = room.job.property
        home.tenure = "leasehold"
        home.save()
        for letter in "AB":
            PatchFactory(surface=SurfaceFactory(room=room, letter=letter, name="Wall", boxes=1))
        reasons = reasons_for(room.job)
        assert reasons["electrics"] == [
            "Sockets, switches or lights are on a surface to be built on. In: Study, A Wall; Study, B Wall."
        ]
        assert reasons["consent"] == ["The home is leasehold."]

    def test_what_an_option_would_build_counts(self, catalogue):
        ceiling = PatchFactory(surface=SurfaceFactory(face="ceiling"), construction=made("timber-floor-board-ceiling"))
        job = ceiling.surface.room.job
        assert "structure" not in reasons_for(job)
        TreatmentFactory(scheme=SchemeFactory(job=job), patch=ceiling, build_up=catalogue["independent-ceiling-205"])
        assert "more than 15" in reasons_for(job)["structure"][0]

    def test_what_nobody_builds_on_asks_for_nothing(self):
        patch = PatchFactory(surface=SurfaceFactory(boxes=1), depth_limit_mm=None)
        assert "electrics" not in reasons_for(patch.surface.room.job)

    def test_sockets_count_for_the_patch_they_are_on(self):
        rest = wall()
        alcove = PatchFactory(
            surface=rest.surface, is_rest=False, name="Alcove", x_mm=0, y_mm=0, width_mm=900, height_mm=2400
        )
        FixtureFactory(surface=rest.surface, kind="socket", x_mm=300, y_mm=450, width_mm=150, height_mm=90)
        assert "boxes-move" in names(weigh(alcove)) and "boxes-move" not in names(weigh(rest))
