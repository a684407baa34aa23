"""Rules on side paths and openings: what they ask for, where they are told, and how they are set aside.

The rules themselves are common practice in the trade; the acoustics engine has no part in them.
"""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from contractor.catalogue.models import BuildUp, Construction
from contractor.rooms import services
from contractor.rooms.gate_reasons import gate_reasons
from contractor.rooms.inputs import gather, surveyed_rooms
from contractor.rooms.models import Fixture, Rule, RuleOverride, SidePath
from contractor.rooms.rule_notes import ruled_out, set_aside
from contractor.rooms.rules import rule_sheet, verdicts
from contractor.rooms.rules.book import shipped
from contractor.rooms.selectors_schemes import places_of
from tests.factories import OpeningFactory, SidePathFactory, TreatmentFactory, UserFactory
from tests.rooms.scenes import EDGE, FRAME_LINING, bedroom

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    found = bedroom()
    found.gaps = SidePathFactory(room=found.room, kind="leak", name="Gaps at the skirting", open_area_mm2=2000)
    return found


def said(scene, place, build_up_key: str | None = None) -> dict:
    """Verdicts by rule on the place as the survey's readers load it."""
    room = surveyed_rooms(scene.room.job)[0]
    openings = [opening for surface in room.surfaces.all() for opening in surface.openings.all()]
    patches = [patch for surface in room.surfaces.all() for patch in surface.patches.all()]
    loaded = next(thing for thing in [*room.side_paths.all(), *openings, *patches] if thing == place)
    build_up = BuildUp.objects.get(key=build_up_key) if build_up_key else None
    return {v.rule: v for v in verdicts(loaded, build_up, sheet=rule_sheet(scene.room.job))}


def test_a_void_whose_edge_is_closed_must_stay_aired(scene):
    assert said(scene, scene.void) == {}
    found = said(scene, scene.void, EDGE)
    assert found["void-edge-stays-aired"].gate == "ventilation"
    assert found["void-edge-stays-aired"].is_firm


def test_combustion_air_is_asked_after_before_gaps_are_sealed(scene):
    """The scene has a fireplace; without one, and without a flue, nobody need ask."""
    assert said(scene, scene.gaps, "gap-sealing")["combustion-air-before-sealing"].gate == "flue"
    scene.room.surfaces.get(letter="B").openings.filter(kind="fireplace").delete()
    found = said(scene, scene.gaps, "gap-sealing")
    assert "combustion-air-before-sealing" not in found
    assert found["gap-or-vent"].kind == "warn"
    SidePathFactory(room=scene.room, kind="flue", name="Flue")
    assert "combustion-air-before-sealing" in said(scene, scene.gaps, "gap-sealing")


def test_openings_are_weighed_by_their_kind(scene):
    door = OpeningFactory(surface=scene.alcoves.surface, kind="door", x_mm=3000, construction=None)
    assert set(said(scene, door, "door-upgrade")) == {"door-keeps-its-air"}
    assert said(scene, door) == {}


def test_rules_of_patches_and_of_the_home_stay_with_patches(scene):
    scene.room.job.property.is_listed = True
    scene.room.job.property.save()
    assert "consent-asked" in said(scene, scene.alcoves)
    assert "consent-asked" not in said(scene, scene.gaps, "gap-sealing")


def test_a_lining_over_a_joined_void_is_warned_of_the_void(scene):
    assert "floor-void-first" in said(scene, scene.alcoves, FRAME_LINING)
    scene.void.delete()
    assert "floor-void-first" not in said(scene, scene.alcoves, FRAME_LINING)


def test_boxes_back_to_back_are_warned_of(scene):
    Fixture.objects.create(
        surface=scene.alcoves.surface, kind="socket", x_mm=300, y_mm=300, width_mm=146, height_mm=86,
        is_back_to_back=True,
    )  # fmt: skip
    assert "(1)" in said(scene, scene.alcoves)["boxes-back-to-back"].reason


def test_what_is_built_on_a_way_alone_asks_for_its_caution(scene):
    """Nothing is lined: closing the void's edge alone asks that the void stays aired."""
    for patch in (scene.alcoves, scene.breast, scene.window_wall, scene.ceiling, scene.floor):
        patch.depth_limit_mm = None
        patch.save()
    assert gate_reasons(scene.room.job) == {}
    scene.build(EDGE, side_path=scene.void)
    (reason,) = gate_reasons(scene.room.job)["ventilation"]
    assert "joist ends" in reason
    assert f"{scene.room}, {scene.void}" in reason


def own_block(fact: str, value: str) -> Rule:
    conditions = [{"fact": fact, "is": "is", "value": value}, {"fact": "treated", "is": "is", "value": "yes"}]
    return Rule.objects.create(
        key="our-own", name="Our own", effect="block", conditions=conditions, reason="We do not do this."
    )


def test_a_blocked_treatment_of_a_way_is_not_offered_until_the_rule_is_set_aside(office, scene):
    own_block("way", "leak")
    scene.build("gap-sealing", side_path=scene.gaps)

    def why() -> list[str]:
        places = places_of(surveyed_rooms(scene.room.job), (), rule_sheet(scene.room.job))
        return [fit.why_not for place in places if place.side_path == scene.gaps for fit in place.fits]

    assert set(why()) == {"we do not do this"}
    (row,) = ruled_out(gather(scene.scheme))
    assert row["page"] == reverse("rooms:side-path-rule-aside", args=[scene.gaps.pk, "our-own"])

    answer = office.post(row["page"], {"reason": "The gap is inside the room only."}, follow=True)
    assert "set aside on Gaps at the skirting" in answer.content.decode()
    assert set(why()) == {""}
    assert ruled_out(gather(scene.scheme)) == []
    (gap,) = set_aside(scene.room.job)
    assert gap.url == reverse("rooms:side-path", args=[scene.gaps.pk]) + "#rules"

    override = RuleOverride.objects.get()
    page = office.get(reverse("rooms:side-path", args=[scene.gaps.pk])).content.decode()
    assert "The gap is inside the room only." in page
    office.post(reverse("rooms:override-withdraw", args=[override.pk]))
    assert set(why()) == {"we do not do this"}


def test_a_rule_on_a_door_is_shown_with_it_and_set_aside_there(office, scene):
    door = OpeningFactory(
        surface=scene.alcoves.surface, kind="door", x_mm=3000, construction=Construction.objects.get(key="door-hollow")
    )
    TreatmentFactory(scheme=scene.scheme, patch=None, opening=door, build_up=BuildUp.objects.get(key="door-upgrade"))
    page = reverse("rooms:opening", args=[door.pk])
    aside = reverse("rooms:opening-rule-aside", args=[door.pk, "door-keeps-its-air"])
    assert aside in office.get(page).content.decode()
    answer = office.post(aside, {"reason": ""})
    assert "Give the reason" in answer.content.decode()
    office.post(aside, {"reason": "A quiet vent is built in beside it."})
    html = office.get(page).content.decode()
    assert "A quiet vent is built in beside it." in html
    assert aside not in html


def test_a_firm_rule_on_a_way_cannot_be_set_aside(scene):
    with pytest.raises(ValidationError):
        services.rule_set_aside(
            place=scene.void, rule=shipped()["void-edge-stays-aired"], reason="I say so", by=UserFactory()
        )


def test_a_row_stands_on_exactly_one_place(scene):
    both = RuleOverride(
        patch=scene.alcoves, side_path=scene.void, rule_key="x", rule_name="X", reason="Why", by=UserFactory()
    )
    with pytest.raises(ValidationError):
        both.full_clean()
    with pytest.raises(ValidationError):
        RuleOverride(rule_key="x", rule_name="X", reason="Why", by=UserFactory()).full_clean()


def test_preparation_work_is_not_asked_of_a_way(office, scene):
    data = {
        "name": "Ours", "effect": "work", "is_active": "on", "reason": "Because", "fabric": "stays",
        "c0-fact": "way=leak", "c0-how": "is", "w0-allowance": "patch-hollow-plaster", "w0-amount": "1", "w0-of": "whole",
    }  # fmt: skip
    answer = office.post(reverse("rooms:rule-new"), data)
    assert "not of ways or openings" in answer.content.decode()
    assert not Rule.objects.exists()


def test_pages_of_ways_read_as_much_for_many_options_as_for_one(office, scene, count_queries):
    url = reverse("rooms:side-path", args=[scene.gaps.pk])
    scene.build("gap-sealing", side_path=scene.gaps)
    one = count_queries(office, url)
    for _ in range(2):
        TreatmentFactory(
            patch=None,
            side_path=scene.gaps,
            build_up=BuildUp.objects.get(key="gap-sealing"),
            scheme__job=scene.room.job,
        )
    SidePath.objects.create(room=scene.room, kind="pipe", name="Waste", length_mm=2400)
    assert count_queries(office, url) == one
