"""A preview at once, a better take-off in the background, kept until an input changes."""

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from contractor.catalogue.models import Material
from contractor.rooms import improving
from contractor.rooms.models import Calculation, Improvement
from contractor.rooms.services import calculate, calculate_well
from contractor.rooms.takeoff.boards import bridge as boards
from tests.rooms.scenes import FRAME_LINING, bedroom

pytestmark = pytest.mark.django_db


@pytest.fixture
def asked(monkeypatch):
    """What is put off until later, instead of being done at once."""
    tasks = []
    monkeypatch.setattr("contractor.rooms.improving.later", lambda task, *args: tasks.append(args))
    return tasks


@pytest.fixture
def scene():
    made = bedroom()
    made.build(FRAME_LINING, patch=made.alcoves)
    return made


def test_a_page_gets_a_preview_and_asks_once_for_better(scene, asked):
    assert calculate(scheme=scene.scheme).takeoff["is_preview"]
    assert calculate(scheme=scene.scheme).takeoff["is_preview"]
    assert asked == [(scene.scheme.pk,)]


def test_the_better_take_off_is_kept_until_an_input_changes(scene, asked):
    preview = calculate(scheme=scene.scheme)
    improving.improve(scene.scheme.pk)
    better = calculate(scheme=scene.scheme)
    assert (better.pk, better.takeoff["is_preview"]) == (preview.pk, False)
    assert better.takeoff["totals"]["sheet_count"] <= preview.takeoff["totals"]["sheet_count"]
    again = calculate(scheme=scene.scheme)
    assert (again.made_at, len(asked)) == (better.made_at, 1)

    scene.room.height_mm += 1
    scene.room.save()
    assert calculate(scheme=scene.scheme).takeoff["is_preview"]
    assert len(asked) == 2


def test_a_price_that_changes_lays_no_board_again(scene, asked, monkeypatch):
    calculate(scheme=scene.scheme)
    improving.improve(scene.scheme.pk)
    better = calculate(scheme=scene.scheme).takeoff
    laid = []
    lay = boards.lay_job
    monkeypatch.setattr(boards, "lay_job", lambda *args, **more: laid.append(1) or lay(*args, **more))

    Material.objects.filter(key=better["sheets"][0]["material_key"]).update(price=99)
    again = calculate(scheme=scene.scheme).takeoff
    improving.improve(scene.scheme.pk)
    again_better = calculate(scheme=scene.scheme).takeoff

    assert laid == []
    assert again["sheets"] == again_better["sheets"] == better["sheets"]
    assert [f["layers"] for f in again["faces"]] == [f["layers"] for f in better["faces"]]
    assert Decimal(again["totals"]["materials_cost"]) > Decimal(better["totals"]["materials_cost"])

    scene.room.surfaces.update(height_mm=2390)  # what the boards are laid on
    calculate(scheme=scene.scheme)
    assert laid == [1]


def test_what_changed_meanwhile_is_not_overwritten(scene, asked, monkeypatch):
    old = calculate(scheme=scene.scheme)

    def change_meanwhile(inputs, effort, tell, earlier):
        scene.room.height_mm += 1
        scene.room.save()
        calculate(scheme=scene.scheme)
        return old.takeoff | {"is_preview": False, "sheets": []}

    monkeypatch.setattr("contractor.rooms.improving.take_off", change_meanwhile)
    improving.improve(scene.scheme.pk)
    kept = Calculation.objects.get(scheme=scene.scheme)
    assert kept.fingerprint != old.fingerprint
    assert kept.takeoff["is_preview"] and kept.takeoff["sheets"]


def test_a_worse_answer_never_replaces_the_preview(scene, asked, monkeypatch):
    preview = calculate(scheme=scene.scheme).takeoff
    worse = json.loads(json.dumps(preview)) | {"sheets": []}
    worse["totals"]["materials_cost"] = "99999.00"
    monkeypatch.setattr("contractor.rooms.improving.take_off", lambda inputs, effort, tell, earlier: worse)
    improving.improve(scene.scheme.pk)
    assert calculate(scheme=scene.scheme).takeoff == preview | {"is_preview": False}


def test_two_workers_do_not_both_take_it(scene, asked, monkeypatch):
    calculate(scheme=scene.scheme)
    runs = []

    def working(inputs, effort, tell, earlier):
        runs.append(1)
        improving.improve(scene.scheme.pk)  # another worker, at the same time
        return Calculation.objects.get(scheme=scene.scheme).takeoff | {"is_preview": False}

    monkeypatch.setattr("contractor.rooms.improving.take_off", working)
    improving.improve(scene.scheme.pk)
    assert runs == [1]


def test_a_worker_that_died_is_followed_by_another(scene, asked):
    calculate(scheme=scene.scheme)
    long_ago = timezone.now() - timedelta(hours=1)
    Improvement.objects.update(asked_at=long_ago, started_at=long_ago)
    calculate(scheme=scene.scheme)
    assert len(asked) == 2
    improving.improve(scene.scheme.pk)
    assert not calculate(scheme=scene.scheme).takeoff["is_preview"]


def test_a_failure_is_told_and_tried_again_when_asked(office, scene, asked, monkeypatch):
    calculate(scheme=scene.scheme)

    def fail(inputs, effort, tell, earlier):
        raise MemoryError

    with monkeypatch.context() as broken:
        broken.setattr("contractor.rooms.improving.take_off", fail)
        improving.improve(scene.scheme.pk)
    page = office.get(reverse("rooms:takeoff", args=[scene.scheme.pk])).content.decode()
    assert "the preview stands" in page and "Try again" in page
    assert len(asked) == 1  # a page alone does not begin it again
    office.post(reverse("rooms:takeoff-again", args=[scene.scheme.pk]), follow=True)
    assert len(asked) == 2


def test_commands_get_the_best(scene, asked):
    assert not calculate_well(scheme=scene.scheme).takeoff["is_preview"]


@pytest.mark.django_db(transaction=True)
def test_a_worker_on_the_database_improves_it(scene, settings):
    settings.TASKS = {"default": {"BACKEND": settings.TASK_BACKENDS["database"]}}
    assert calculate(scheme=scene.scheme).takeoff["is_preview"]
    call_command("db_worker", "--batch", "--no-startup-delay", "--interval", "0")
    assert not calculate(scheme=scene.scheme).takeoff["is_preview"]


def test_the_page_marks_the_preview_and_shows_how_far_it_is(office, scene, asked):
    url = reverse("rooms:takeoff", args=[scene.scheme.pk])
    page = office.get(url).content.decode()
    assert "Preview" in page and "waits its turn" in page
    Improvement.objects.update(started_at=timezone.now() - timedelta(seconds=5), seconds=10, step="Laying the boards")
    state = reverse("rooms:takeoff-state", args=[scene.scheme.pk])
    told = office.get(state, headers={"HX-Request": "true"})
    assert "laying the boards" in told.content.decode() and "50 %" in told.content.decode()
    assert office.get(state).url == url  # without JavaScript: the page again
    Improvement.objects.update(started_at=None)
    improving.improve(scene.scheme.pk)
    done = office.get(state, headers={"HX-Request": "true"})
    assert done["HX-Refresh"] == "true"
    assert "Preview" not in office.get(url).content.decode()
