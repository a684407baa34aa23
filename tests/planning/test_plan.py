"""The plan page: what fits, the cheapest set against every set tried, limits, what stands in the way, and options."""

import itertools
from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse

from contractor.catalogue.models import BuildUp, Construction
from contractor.jobs.models import NoiseHeard
from contractor.planning import selectors
from contractor.planning.asking import PlanForm, usual
from contractor.planning.options import is_as_made
from contractor.quotes.models import ExtraLine, VatBasis
from contractor.quotes.options import options_of
from contractor.rooms.models import Fixture, Scheme, Treatment
from contractor.rooms.planning.bridge import choices_of_set, softer
from contractor.rooms.prediction.bridge import predict
from tests.rooms.scenes import BREAST_LINING, EDGE, bedroom

pytestmark = pytest.mark.django_db
ASKED = {"goal": "weighted_ctr", "target_db": "52", "background": "night", "chance": "0.5"}


@pytest.fixture
def scene():
    found = bedroom()
    NoiseHeard.objects.create(job=found.room.job, kind="television")
    return found


def page(client, scene, **asked):
    return client.get(reverse("planning:plan", args=[scene.room.job.number]), ASKED | {"room": scene.room.pk} | asked)


def plan_of(client, scene, **asked):
    response = page(client, scene, **asked)
    assert response.status_code == 200
    return response.context["found"].plan


def predicted(scene, chosen) -> dict:
    """The room's prediction with a set built, as every other page has it."""
    basis = selectors.basis_of(scene.room.job)
    inputs = replace(basis.inputs, **choices_of_set(chosen.built))
    return predict(inputs, next(room for room in inputs.rooms if room.pk == scene.room.pk))


def test_before_anything_is_typed_the_noise_told_of_is_planned_for(office, scene):
    response = office.get(reverse("planning:plan", args=[scene.room.job.number]))
    assert response.context["form"].data["goal"] == "inaudible:television"
    assert "Television not audible at night" in response.content.decode()
    assert response.context["found"].plan.exact


def test_each_set_of_the_front_has_the_numbers_of_its_prediction(office, scene):
    for chosen in plan_of(office, scene).front:
        after = predicted(scene, chosen)["after"]
        assert (chosen.weighted_db, chosen.c_db, chosen.ctr_db) == (
            after["weighted_db"],
            after["c_db"],
            after["ctr_db"],
        )


@pytest.mark.parametrize("target", ["47", "48", "49"])
def test_the_cheapest_is_that_of_every_set_tried(office, scene, target):
    """Every set of what fits is predicted by the app's own prediction; the cheapest that reaches the number wins."""
    scene.window_wall.depth_limit_mm = scene.ceiling.depth_limit_mm = scene.floor.depth_limit_mm = None
    for patch in (scene.window_wall, scene.ceiling, scene.floor):
        patch.save()
    response = page(office, scene, target_db=target, depth_mm="50")
    found = response.context["found"]
    by_place: dict[str, list] = {}
    for priced in found.priced:
        by_place.setdefault(priced.candidate.place.key, [None]).append(priced)
    assert len(by_place) == 3
    best = None
    for chosen in itertools.product(*by_place.values()):
        built = {p.candidate.place.key: p for p in chosen if p}
        cost = sum((p.cost for p in built.values()), Decimal(0))
        if best is not None and cost >= best:
            continue
        after = predicted(scene, type("Set", (), {"built": built}))["after"]
        if after["weighted_db"] + after["ctr_db"] >= int(target):
            best = cost
    assert (found.plan.cheapest and found.plan.cheapest.cost) == best


def on_joists(place) -> bool:
    return place.patch is not None and place.patch.surface.face in ("ceiling", "floor")


def test_places_tell_what_fits_and_why_the_rest_does_not(office, scene):
    """The alcoves give 150 mm and the breast 60 mm; a deep lining is refused on the breast for its depth."""
    response = page(office, scene)
    rows = {row.place.name: row for row in response.context["place_rows"]}
    breast = rows["B Chimney breast"]
    assert {offer["build_up"].depth_mm <= 60 for offer in breast.offers} == {True}
    refused = {row.build_up.key: row.reason for row in breast.refused}
    assert "60 mm is given" in refused["independent-steel-lining-95"]
    wall = next(
        offer for offer in rows["B Party wall"].offers if offer["build_up"].key == "independent-steel-lining-95"
    )
    assert wall["cost"] > 0
    assert wall["days"] > 0
    # 97.5 mm along the 2.8 m of wall beside the breast: 0.273 m2 of floor, by hand.
    assert wall["candidate"].area_lost_m2 == pytest.approx(0.273, abs=0.002)
    # Every lining of a wall tells its weight too, though it hangs on no joist.
    assert wall["added_kg_m2"] > 10
    assert wall["candidate"].mass_kg == 0
    assert f"+{wall['added_kg_m2']} kg/m²" in response.content.decode()


def test_a_lining_for_what_stands_out_is_planned_nowhere_else(office, scene):
    offered = page(office, scene).context["found"].offered
    on = {c.place.patch for c in offered.candidates if c.choice.build_up.key == BREAST_LINING}
    assert on == {scene.breast}


def test_the_rules_hold_in_the_plan(office, scene):
    """A third leaf: a lining with a void of its own before a hollow partition is refused, with the rule's reason."""
    scene.window_wall.construction = Construction.objects.get(key="stud-partition")
    scene.window_wall.condition = "board"
    scene.window_wall.save()
    response = page(office, scene)
    refused = {
        row.build_up.key: row.reason
        for row in response.context["found"].offered.refused
        if row.place.patch == scene.window_wall
    }
    assert "independent-steel-lining-95" in refused
    for chosen in response.context["found"].plan.front:
        for priced in chosen.built.values():
            if priced.candidate.place.patch == scene.window_wall:
                assert priced.candidate.choice.build_up.key not in refused
    form = office.get(reverse("rooms:scheme", args=[scene.scheme.pk])).content.decode()
    assert "Does not fit here" in form


@pytest.mark.parametrize(
    ("limit", "value", "kept"),
    [
        ("budget", "4000", lambda s: s.cost <= 4000),
        ("area_lost_m2", "0.1", lambda s: s.area_lost_m2 <= 0.1),
        ("days", "2", lambda s: s.hours <= 2 * 2 * 7.5),
        ("depth_mm", "40", lambda s: s.deepest_mm <= 40),
        (
            "joists_kg_m2",
            "5",
            lambda s: all(p.candidate.adds_kg_m2 <= 5 for p in s.built.values() if on_joists(p.candidate.place)),
        ),
    ],
)
def test_every_set_keeps_within_the_limits(office, scene, limit, value, kept):
    free, bound = plan_of(office, scene), plan_of(office, scene, **{limit: value})
    assert all(kept(chosen) for chosen in bound.front)
    assert not all(kept(chosen) for chosen in free.front)
    assert bound.best.score < free.best.score


def test_each_place_keeps_within_its_own_depth(office, scene):
    """The field of a place goes before the limit for all, and 0 keeps the place as it is."""
    wall, breast = (f"depth_at_{patch.pk}" for patch in (scene.alcoves, scene.breast))
    plan = plan_of(office, scene, target_db="59", depth_mm="50", **{wall: "100", breast: "0"})
    deepest: dict[str, float] = {}
    for chosen in plan.front:
        for key, priced in chosen.built.items():
            deepest[key] = max(deepest.get(key, 0.0), priced.candidate.depth_mm)
    assert 50 < deepest[f"patch-{scene.alcoves.pk}"] <= 100
    assert f"patch-{scene.breast.pk}" not in deepest
    assert 0 < deepest[f"patch-{scene.window_wall.pk}"] <= 50


def test_depths_by_place_are_part_of_the_proof(office, scene):
    """The cheapest within own depths is the cheapest of the sets of a free survey that keep to them."""
    bound = plan_of(office, scene, target_db="48", **{f"depth_at_{scene.alcoves.pk}": "60"})
    scene.alcoves.depth_limit_mm = 60
    scene.alcoves.save()
    surveyed = plan_of(office, scene, target_db="48")
    assert bound.exact
    assert bound.count == surveyed.count
    assert [s.cost for s in bound.front] == [s.cost for s in surveyed.front]
    assert bound.bound == surveyed.bound


def test_a_limit_at_one_place_is_told_where_it_stands_in_the_way(office, scene):
    own = {f"depth_at_{patch.pk}": "20" for patch in (scene.alcoves, scene.window_wall)}
    told = {row.what: row for row in plan_of(office, scene, target_db="59", **own).hindrances}
    wall = told["the limit of 20 mm at B Party wall"]
    assert wall.gain > 0
    assert told["every limit on depth"].score > wall.score
    free = plan_of(office, scene, target_db="59", **{f"depth_at_{scene.window_wall.pk}": "20"})
    assert free.best.score <= wall.score  # without the plan's limit there, what the survey gives still binds


def test_more_depth_than_the_survey_gives_is_told_beside_the_place(office, scene):
    field = f"depth_at_{scene.breast.pk}"
    response = page(office, scene, **{field: "90"})
    assert response.context["form"].errors[field] == ["The survey gives 60 mm here. To allow more, change the survey."]
    html = response.content.decode()
    assert 'value="90"' in html
    assert '<details class="depths" open>' in html
    assert "found" not in response.context


def test_options_keep_to_the_depths_asked_for(office, scene):
    make(office, scene, target_db="59", **{f"depth_at_{scene.alcoves.pk}": "60"})
    on_wall = [t.build_up.depth_mm for s in made(scene).values() for t in s.treatments.filter(patch=scene.alcoves)]
    assert on_wall
    assert max(on_wall) <= 60


def test_prices_carry_the_vat_of_the_job(office, scene):
    usual_rate = plan_of(office, scene, target_db="48").cheapest
    VatBasis.objects.create(
        job=scene.room.job,
        vat_percent=5,
        vat_reason="empty_two_years",
        vat_evidence="Council tax letter",
        decided_by=office.user,
    )
    reduced = plan_of(office, scene, target_db="48").cheapest
    assert float(reduced.cost) == pytest.approx(float(usual_rate.cost) / 1.20 * 1.05, abs=0.05)


def test_more_chance_costs_no_less(office, scene):
    costs = [plan_of(office, scene, chance=chance).cheapest for chance in ("0.5", "0.6667", "0.8", "0.9")]
    prices = [chosen.cost if chosen else Decimal(10**9) for chosen in costs]
    assert prices == sorted(prices)
    assert prices[0] < prices[-1]


def test_out_of_reach_says_what_stands_in_the_way(office, scene):
    """Dear targets: with little money the budget stands in the way, with little depth the depth."""
    poor = plan_of(office, scene, target_db="52", budget="600")
    assert poor.cheapest is None
    assert any(row.what == "the budget" and row.would_reach for row in poor.hindrances)
    scene.alcoves.depth_limit_mm = 30
    scene.alcoves.save()
    response = page(office, scene, target_db="59")
    assert "the limit of 30 mm at B Party wall" in {row.what for row in response.context["plan"].hindrances}
    html = response.content.decode()
    assert "No set reaches it" in html
    assert "What stands in the way" in html


def test_limits_that_stand_in_the_way_together_are_told_together(office, scene):
    """Neither more money nor more days would do alone where both are short; lifting both does."""
    limits = {"budget": "600", "days": "0.5"}
    free = plan_of(office, scene, target_db="52")
    assert free.cheapest is not None
    told = plan_of(office, scene, target_db="52", **limits).hindrances
    single = [row for row in told if row.what in ("the budget", "the days allowed")]
    assert not any(row.would_reach for row in single)
    together = next(row for row in told if row.what.endswith("together"))
    assert together.would_reach
    assert "the budget" in together.what
    assert "the days allowed" in together.what


def test_the_weight_allowed_on_joists_is_told_where_it_stands_in_the_way(office):
    """A ceiling between us and the noise, and no weight allowed on its joists."""
    scene = bedroom()
    NoiseHeard.objects.create(job=scene.room.job, kind="television")
    scene.alcoves.surface.face = "ceiling"
    scene.alcoves.surface.save()
    told = plan_of(office, scene, target_db="70", joists_kg_m2="0").hindrances
    assert "the weight allowed on the joists" in " ".join(row.what for row in told)


def test_lines_by_hand_come_off_the_budget_and_stand_in_each_price(office, scene):
    without = plan_of(office, scene)
    ExtraLine.objects.create(job=scene.room.job, section="testing", description="Test", quantity=1, unit_price=100)
    response = page(office, scene)
    assert response.context["spent"] == Decimal("120.00")  # with VAT of 20 %
    assert response.context["answer"]["cost"] == without.cheapest.cost + 120
    assert all(s.cost <= 880 for s in plan_of(office, scene, budget="1000").front)


def make(client, scene, **asked):
    data = ASKED | {"room": scene.room.pk} | asked
    return client.post(reverse("planning:options", args=[scene.room.job.number]), data, follow=True)


def made(scene) -> dict[str, Scheme]:
    return {s.name: s for s in Scheme.objects.filter(job=scene.room.job).exclude(pk=scene.scheme.pk)}


def test_one_press_makes_named_options_of_the_quote(office, scene):
    plan = plan_of(office, scene, target_db="52")
    make(office, scene, target_db="52")
    found = made(scene)
    assert "Recommended" in found
    assert set(found) <= {"Less", "Recommended", "Most"}
    built = {(t.patch_id or f"path {t.side_path_id}", t.build_up_id) for t in found["Recommended"].treatments.all()}
    assert built == {
        (
            p.candidate.place.patch.pk if p.candidate.place.patch else f"path {p.candidate.place.side_path.pk}",
            p.candidate.choice.build_up.pk,
        )
        for p in plan.cheapest.built.values()
    }
    assert all(is_as_made(scheme) for scheme in found.values())
    assert "as far as can be predicted" in found["Recommended"].summary


def test_the_quote_of_an_option_costs_about_what_the_plan_said(office, scene):
    """The plan counts materials by rates, the quote in whole packs: within a seventh of each other on this room."""
    make(office, scene, target_db="52")
    planned = {"Recommended": plan_of(office, scene, target_db="52").cheapest.cost}
    for option in options_of(scene.room.job):
        if option.scheme.name in planned:
            assert option.priced.problems == ()
            assert float(option.priced.total) == pytest.approx(float(planned[option.scheme.name]), rel=0.15)


def test_pressing_again_makes_the_same_options_anew(office, scene):
    make(office, scene, target_db="52")
    before = {name: scheme.pk for name, scheme in made(scene).items()}
    make(office, scene, target_db="49")
    after = made(scene)
    assert {name: after[name].pk for name in before if name in after} == {n: before[n] for n in before if n in after}
    assert "Recommended 2" not in after


def test_what_was_changed_by_hand_is_kept_and_said(office, scene):
    make(office, scene, target_db="52")
    by_hand = made(scene)["Recommended"]
    by_hand.treatments.all().delete()
    Treatment.objects.create(scheme=by_hand, side_path=scene.void, build_up=BuildUp.objects.get(key=EDGE))
    response = make(office, scene, target_db="52")
    assert "had been changed by hand" in response.content.decode()
    found = made(scene)
    assert list(found["Recommended"].treatments.values_list("side_path_id", flat=True)) == [scene.void.pk]
    assert found["Recommended 2"].plan_option == "recommended"
    assert found["Recommended"].plan_option == ""


def test_an_option_of_the_same_name_made_by_hand_is_left_alone(office, scene):
    Scheme.objects.create(job=scene.room.job, name="Recommended")
    make(office, scene, target_db="52")
    found = made(scene)
    assert found["Recommended"].treatments.count() == 0
    assert found["Recommended 2"].treatments.count()


def test_other_rooms_keep_what_an_option_builds_there(office, scene):
    other = bedroom(job=scene.room.job, name="Front bedroom")
    make(office, scene, target_db="52")
    make(office, other, target_db="52")
    rooms = {
        t.patch.surface.room_id if t.patch else t.side_path.room_id for t in made(scene)["Recommended"].treatments.all()
    }
    assert rooms == {scene.room.pk, other.room.pk}


def test_a_number_wanted_and_not_given_is_told_beside_it(office, scene):
    response = page(office, scene, target_db="", budget="1e")
    form = response.context["form"]
    assert form.errors["target_db"] == ["Give the number to be reached, in dB."]
    assert "budget" in form.errors
    assert 'value="1e"' in response.content.decode()  # what was typed stays
    assert "found" not in response.context
    response = make(office, scene, target_db="")
    assert response.status_code == 200
    assert made(scene) == {}


def test_a_job_without_rooms_leads_to_the_survey(office):
    from tests.factories import JobFactory

    job = JobFactory()
    response = office.get(reverse("planning:plan", args=[job.number]))
    assert reverse("rooms:survey", args=[job.number]) in response.content.decode()


def test_a_room_that_cannot_be_predicted_says_why(office, scene):
    scene.room.surfaces.filter(role="separating").update(role="other")
    response = page(office, scene)
    assert "say in the survey which surface" in response.content.decode()


def test_the_page_reads_as_much_for_many_options_as_for_one(office, scene, count_queries):
    url = reverse("planning:plan", args=[scene.room.job.number])
    one = count_queries(office, url)
    for name in ("Second", "Third"):
        Scheme.objects.create(job=scene.room.job, name=name)
    assert count_queries(office, url) == one <= 60


def test_words_for_how_much_softer():
    """Ten decibels less is half as loud (sone scale, from memory)."""
    assert softer(10.0, "audible") == ", about half as loud"
    assert softer(1.0, "audible") == ""
    assert softer(20.0, "not audible") == ""
    assert softer(17.0, "audible") == ", about a quarter as loud"


def test_usual_questions_are_valid(scene):
    job = scene.room.job
    for kind in NoiseHeard.Kind:
        form = PlanForm(usual(job, [NoiseHeard(job=job, kind=kind)], scene.room), rooms=[scene.room])
        assert form.is_valid(), (kind, form.errors)


def refused_on(client, scene, patch) -> dict[str, str]:
    """Reasons by build-up; nothing refused is in any set of the front."""
    found = page(client, scene).context["found"]
    refused = {row.build_up.key: row.reason for row in found.offered.refused if row.place.patch == patch}
    for chosen in found.plan.front:
        for priced in chosen.built.values():
            assert priced.candidate.place.patch != patch or priced.candidate.choice.build_up.key not in refused
    return refused


def test_nothing_is_planned_in_front_of_an_air_brick(office, scene):
    Fixture.objects.create(
        surface=scene.alcoves.surface, kind="air_brick", x_mm=300, y_mm=200, width_mm=215, height_mm=140, fate="stays"
    )
    refused = refused_on(office, scene, scene.alcoves)
    assert refused
    assert all("air brick" in reason.lower() or "vent" in reason.lower() for reason in refused.values())


def test_a_base_that_rings_is_damped_before_it_is_lined(office, scene):
    """A plastered block wall of 75 mm is light and rings: only linings with a damping layer are offered on it."""
    scene.window_wall.construction = Construction.objects.get(key="clinker-block-plastered")
    scene.window_wall.save()
    refused = refused_on(office, scene, scene.window_wall)
    offered = {
        p.candidate.choice.build_up.key: p.candidate.choice.build_up
        for p in page(office, scene).context["found"].priced
        if p.candidate.place.patch == scene.window_wall
    }
    ringing = {key for key, reason in refused.items() if "ring" in reason}
    assert ringing
    assert all(any(layer.role == "damping" for layer in build_up.layers.all()) for build_up in offered.values())
