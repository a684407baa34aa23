"""A calculation is kept until something it depends on changes, and read in a fixed number of queries."""

import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from contractor.catalogue.models import LabourFactor, Material
from contractor.rooms.models import Calculation, Opening, Scheme
from contractor.rooms.services import calculate, calculate_all
from tests.factories import SchemeFactory
from tests.rooms.scenes import BAR_LINING, EDGE, FRAME_LINING, bedroom, heard

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene():
    made = bedroom()
    made.build(FRAME_LINING, patch=made.alcoves)
    made.build(EDGE, side_path=made.void)
    return made


def fresh(scene) -> Calculation:
    return calculate(scheme=Scheme.objects.get(pk=scene.scheme.pk))


def test_it_is_kept_while_nothing_changes(scene, monkeypatch):
    first = fresh(scene)
    monkeypatch.setattr("contractor.rooms.calculation.take_off", None)  # would fail if it were called again

    again = fresh(scene)

    assert (again.pk, again.made_at) == (first.pk, first.made_at)


def _wall(scene):
    scene.alcoves.surface.length_mm = 4300
    scene.alcoves.surface.save()


def _opening(scene):
    Opening.objects.filter(kind="fireplace").update(width_mm=600)


def _construction(scene):
    scene.alcoves.construction.layers.filter(material__is_masonry=True).update(thickness_mm=102)


def _price(scene):
    Material.objects.filter(key="dense-board-15-1200x2400").update(price="21.00")


def _factor(scene):
    LabourFactor.objects.filter(key="occupied").update(factor="1.2")


def _storey(scene):
    scene.room.job.storey = 3
    scene.room.job.save()


def _noise(scene):
    heard(scene, "music")


def _treatment(scene):
    scene.build(BAR_LINING, patch=scene.window_wall)


def _run(scene):
    scene.scheme.treatments.filter(patch=scene.alcoves).update(boards_run="horizontal")


def _screw(scene):
    scene.scheme.treatments.first().build_up.fixings.filter(screw_length_mm=45).update(screw_length_mm=50)


@pytest.mark.parametrize(
    "change",
    [_wall, _opening, _construction, _price, _factor, _storey, _noise, _treatment, _run, _screw],
    ids=lambda change: change.__name__.strip("_"),
)
def test_it_is_worked_out_again_when_an_input_changes(scene, change):
    before = fresh(scene).fingerprint

    change(scene)

    assert fresh(scene).fingerprint != before
    assert Calculation.objects.count() == 1


@pytest.mark.parametrize("words", ["name", "summary"])
def test_words_of_an_option_do_not_matter(scene, words):
    before = fresh(scene).fingerprint

    setattr(scene.scheme, words, "Something else")
    scene.scheme.save()

    assert fresh(scene).fingerprint == before


def test_another_engine_works_it_out_again(scene, monkeypatch):
    before = fresh(scene)

    monkeypatch.setattr("contractor.rooms.calculation.ENGINE_VERSION", "99.0")

    after = fresh(scene)
    assert after.fingerprint != before.fingerprint
    assert after.engine_version == "99.0"


def test_the_same_inputs_give_the_same_take_off(scene):
    first = fresh(scene).takeoff
    Calculation.objects.all().delete()

    assert fresh(scene).takeoff == json.loads(json.dumps(first))


def test_a_room_that_cannot_be_predicted_is_told_among_the_problems(scene):
    scene.alcoves.surface.role = "other"
    scene.alcoves.surface.save()

    kept = fresh(scene)

    assert kept.predictions == {}
    assert scene.room.name in {problem["face"] for problem in kept.takeoff["problems"]}


def test_all_options_are_worked_out_together_in_order(scene):
    second = SchemeFactory(job=scene.room.job, position=2)

    both = calculate_all(job=scene.room.job)

    assert [scheme.pk for scheme, _ in both] == [scene.scheme.pk, second.pk]
    assert both[0][1].fingerprint == fresh(scene).fingerprint
    assert both[1][1].takeoff["faces"] == []


def test_queries_for_all_options_do_not_grow_with_options(scene):
    def queries() -> int:
        calculate_all(job=scene.room.job)
        with CaptureQueriesContext(connection) as made:
            calculate_all(job=scene.room.job)
        return len(made)

    one = queries()
    SchemeFactory.create_batch(2, job=scene.room.job)

    assert queries() == one


def test_queries_do_not_grow_with_rooms_and_treatments(scene):
    def queries() -> int:
        fresh(scene)
        again = Scheme.objects.select_related("job").get(pk=scene.scheme.pk)
        with CaptureQueriesContext(connection) as made:
            calculate(scheme=again)
        return len(made)

    few = queries()
    scene.build(BAR_LINING, patch=scene.window_wall)
    for name in ("Box room", "Landing"):
        other = bedroom(job=scene.room.job, name=name)
        other.scheme = scene.scheme
        other.build(FRAME_LINING, patch=other.alcoves)

    assert queries() == few
