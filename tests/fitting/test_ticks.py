"""Ticks that stick: said, not switched; by whom and when; seen only by who may."""

import threading
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from contractor.fitting.models import Tick
from contractor.jobs.models import Gate, Job
from tests.conftest import signed_in
from tests.factories import UserFactory, VisitFactory
from tests.fitting.conftest import pack_for

STEP = "step:p12-1:layer-4"
PIECE = "cut:p12-1:7:L1-B-02"


def press(client, pack, key=STEP, done="1", **headers):
    return client.post(f"/jobs/{pack.job.number}/site/tick/", {"key": key, "done": done}, headers=headers)


def test_a_tick_sticks_with_who_and_when(fitter, pack):
    press(fitter, pack)

    tick = Tick.objects.get(pack=pack, key=STEP)
    assert tick.is_done
    assert tick.by == fitter.user
    page = fitter.get(f"/jobs/{pack.job.number}/site/").content.decode()
    assert f"Done by {fitter.user.display_name}" in page
    assert "<strong>1 of 26</strong> steps done" in page


@pytest.mark.parametrize(("need", "stage"), [("not_needed", "on_site"), ("unknown", "scheduled")])
def test_the_first_thing_done_takes_a_job_on_site_unless_a_caution_is_open(fitter, pack, need, stage):
    for kind in Gate.Kind.values:
        Gate.objects.create(job=pack.job, kind=kind, need=need)
    Job.objects.filter(pk=pack.job.pk).update(stage="scheduled")

    press(fitter, pack)

    assert Job.objects.get(pk=pack.job.pk).stage == stage
    assert Tick.objects.get(pack=pack).is_done


def test_saying_it_twice_changes_nothing_not_even_who_and_when(fitter, pack):
    press(fitter, pack)
    an_hour_ago = timezone.now() - timedelta(hours=1)
    Tick.objects.update(at=an_hour_ago)
    mate = signed_in(UserFactory(role="fitter"))
    VisitFactory(job=pack.job, people=[mate.user])

    press(mate, pack)

    tick = Tick.objects.get()
    assert (tick.is_done, tick.by, tick.at) == (True, fitter.user, an_hour_ago)


def test_it_can_be_taken_back_and_says_so(fitter, pack):
    press(fitter, pack)
    press(fitter, pack, done="0")

    assert not Tick.objects.get().is_done
    assert "Taken back by" in fitter.get(f"/jobs/{pack.job.number}/site/").content.decode()


def test_without_javascript_it_goes_back_to_the_row(fitter, pack):
    assert press(fitter, pack).url == f"/jobs/{pack.job.number}/site/#row-step-p12-1-layer-4"
    assert press(fitter, pack, PIECE).url == f"/jobs/{pack.job.number}/site/cuts/p12-1/#row-cut-p12-1-7-L1-B-02"


def test_htmx_gets_the_row_and_the_count(fitter, pack):
    answer = press(fitter, pack, PIECE, hx_request="true").content.decode()

    assert answer.count("<li") == 1
    assert 'aria-pressed="true"' in answer
    assert 'name="done" value="0"' in answer
    assert 'id="progress" class="progress" hx-swap-oob="true"' in answer
    assert "<strong>1 of 16</strong> cut" in answer
    assert "<html" not in answer


def test_a_length_is_ticked_like_a_piece(fitter, pack):
    answer = press(fitter, pack, "cut:p14-1:1:B-C-02", hx_request="true").content.decode()

    assert "4 × 1,295 mm" in answer
    assert "From lengths 12, 13" in answer


@pytest.mark.parametrize(
    "key, done, status",
    [("step:p12-1:layer-77", "1", 404), ("", "1", 400), (STEP, "maybe", 400), ("x" * 81, "1", 400)],
)
def test_what_is_no_row_or_no_tick_is_refused(fitter, pack, key, done, status):
    assert press(fitter, pack, key, done).status_code == status
    assert not Tick.objects.exists()


def test_a_fitter_without_a_visit_neither_sees_nor_ticks(pack):
    other = signed_in(UserFactory(role="fitter"))
    number = pack.job.number

    for path in ("", "cuts/", "cuts/p12-1/", "pack.pdf"):
        assert other.get(f"/jobs/{number}/site/{path}").status_code == 404
    assert press(other, pack).status_code == 404
    assert not Tick.objects.exists()


def test_the_office_sees_and_ticks_everywhere(office, pack):
    assert press(office, pack).status_code == 302
    assert Tick.objects.get().by == office.user


def test_only_the_office_makes_packs(fitter, pack):
    assert fitter.post(f"/jobs/{pack.job.number}/site/make/").status_code == 403


def test_a_get_never_ticks(fitter, pack):
    assert fitter.get(f"/jobs/{pack.job.number}/site/tick/").status_code == 405


@pytest.mark.django_db(transaction=True)
def test_two_thumbs_at_once_leave_one_tick(takeoff):
    people = [UserFactory(role="fitter"), UserFactory(role="fitter")]
    pack = pack_for(takeoff, *people)
    start, statuses = threading.Barrier(len(people)), []

    def press_together(client):
        try:
            start.wait()
            statuses.append(press(client, pack).status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=press_together, args=[signed_in(person)]) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert statuses == [302, 302]
    assert Tick.objects.filter(pack=pack, key=STEP, is_done=True).count() == 1
