"""Swaps and new sizes as acts: each once, conflicts tell both, and what the office has to order follows."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.services import remeasure, set_tick
from contractor.fitting.swaps import place_seen
from contractor.offcuts.models import Offcut
from contractor.orders.needs import changed_on_site
from contractor.site.models import Act
from contractor.site.services import act_take
from tests.factories import JobFactory, MaterialFactory, UserFactory
from tests.fitting.test_remeasure import pieces_of, wall_of
from tests.fitting.test_swaps import BOARD, KEY

pytestmark = pytest.mark.django_db
CUT, FIX, AGAIN = (KEY.replace("cut:", f"{kind}:") for kind in ("cut", "fix", "again"))
APPLIED, CONFLICT, REFUSED = Act.Outcome.APPLIED, Act.Outcome.CONFLICT, Act.Outcome.REFUSED


@pytest.fixture
def url(pack):
    return f"/jobs/{pack.job.number}/site/cuts/p12-1/changes/"


def act(pack, person, kind, payload, *, key=None, done_at=None):
    return act_take(
        key=key or uuid4(), job=pack.job, person=person, kind=kind, payload=payload, done_at=done_at or timezone.now()
    )


def now(pack) -> dict:
    return WorkPack.objects.get(pk=pack.pk).document


def seen_of(pack, label="L2-B-01") -> str:
    return place_seen(now(pack), pieces_of(now(pack))[label])


def swap_of(pack, take="full", **more):
    return {"piece": KEY, "take": take, "seen": seen_of(pack)} | more


def states(pack):
    return {tick.key: tick.is_done for tick in Tick.objects.filter(pack=pack)}


def test_a_swap_is_done_once_and_the_order_list_wants_one_sheet_more(fitter, pack, takeoff):
    set_tick(pack=pack, key=FIX, is_done=True, user=fitter.user)
    key, payload = uuid4(), swap_of(pack, take="buy")
    first = act(pack, fitter.user, "swap", payload, key=key)
    again = act(pack, fitter.user, "swap", payload, key=key)
    assert (first.pk, first.outcome) == (again.pk, APPLIED)
    assert "one sheet more than planned" in first.told
    wanted = changed_on_site(takeoff, now(pack))[BOARD]
    assert [(change.packs, change.why) for change in wanted] == [(1, "swapped on site: L2-B-01 spoiled")]
    assert states(pack) == {CUT: False, FIX: False, AGAIN: True}
    page = fitter.get(f"/jobs/{pack.job.number}/site/cuts/p12-1/").content.decode()
    assert "still to be bought" in page and "L2-B-01 spoiled" in page
    changes = f"/jobs/{pack.job.number}/site/cuts/p12-1/changes/"
    assert "Left-over" not in fitter.get(changes).content.decode()  # of a sheet that is not here
    set_tick(pack=pack, key=CUT, is_done=True, user=fitter.user)
    assert "still to be bought" not in fitter.get(f"/jobs/{pack.job.number}/site/cuts/p12-1/").content.decode()
    assert "Left-over R-7-1a of sheet 7" in fitter.get(changes).content.decode()


def test_a_board_planned_elsewhere_meanwhile_shows_both_and_changes_nothing(fitter, pack):
    payload = swap_of(pack)
    other = UserFactory(first_name="Ben", last_name="Oak", role="fitter")
    act(pack, other, "swap", payload)
    before = now(pack)
    late = act(pack, fitter.user, "swap", payload)
    assert late.outcome == CONFLICT and "meanwhile" in late.told and fitter.user.display_name in late.told
    assert now(pack) == before


def test_a_board_that_another_has_fixed_since_is_not_swapped(fitter, pack):
    payload, written = swap_of(pack), timezone.now() - timedelta(minutes=5)
    set_tick(pack=pack, key=FIX, is_done=True, user=UserFactory(first_name="Ben", last_name="Oak"))
    late = act(pack, fitter.user, "swap", payload, done_at=written)
    assert late.outcome == CONFLICT and "Ben Oak has fixed it" in late.told
    assert "spoiled" not in now(pack)


@pytest.fixture
def offcut(pack):
    board = MaterialFactory(key=BOARD, length_mm=2400, width_mm=1200)
    return Offcut.objects.create(label="7/B-3-1", material=board, length_mm=2400, width_mm=700, from_job=JobFactory())


def test_an_offcut_out_of_the_store_is_reserved_and_used_when_the_board_is_cut(fitter, pack, offcut, takeoff):
    assert act(pack, fitter.user, "swap", swap_of(pack, take="store:7/B-3-1")).outcome == APPLIED
    offcut.refresh_from_db()
    assert (offcut.reserved_for, offcut.state) == (pack.job, Offcut.State.IN_STORE)
    assert BOARD not in changed_on_site(takeoff, now(pack))
    set_tick(pack=pack, key=CUT, is_done=True, user=fitter.user)
    offcut.refresh_from_db()
    assert offcut.state == Offcut.State.USED


def test_an_offcut_that_another_job_took_meanwhile_shows_both(fitter, pack, offcut):
    payload = swap_of(pack, take="store:7/B-3-1")
    offcut.reserved_for = JobFactory()
    offcut.save()
    late = act(pack, fitter.user, "swap", payload)
    assert late.outcome == CONFLICT and "7/B-3-1" in late.told
    assert "spoiled" not in now(pack)


@pytest.mark.parametrize("piece", ["cut:p12-1:8:L9-B-01", "step:p12-1:layer-4", "", "cut:"])
def test_what_is_no_board_is_refused(fitter, pack, piece):
    assert act(pack, fitter.user, "swap", {"piece": piece, "take": "full"}).outcome == REFUSED


def size(pack, width_mm=3590, height_mm=2400, **more):
    face = wall_of(now(pack))
    return {
        "face": "p12-1",
        "width_mm": width_mm,
        "height_mm": height_mm,
        "seen": f"{face['width_mm']}x{face['height_mm']}",
    } | more


def test_a_size_is_taken_once_and_tells_what_it_changed(fitter, pack):
    key, payload = uuid4(), size(pack)
    first = act(pack, fitter.user, "measure", payload, key=key)
    assert act(pack, fitter.user, "measure", payload, key=key).pk == first.pk
    assert first.outcome == APPLIED and "3,590 × 2,400" in first.told and "Cut L1-B-" in first.told
    assert wall_of(now(pack))["width_mm"] == 3590


def test_who_sets_a_slip_right_without_signal_is_believed(fitter, pack):
    slip, right = size(pack, 3580), size(pack, 3590)
    assert act(pack, fitter.user, "measure", slip).outcome == APPLIED
    assert act(pack, fitter.user, "measure", right).outcome == APPLIED
    assert wall_of(now(pack))["width_mm"] == 3590


def test_another_size_taken_meanwhile_shows_both_and_neither_is_lost(fitter, pack):
    payload = size(pack)
    other = UserFactory(first_name="Ben", last_name="Oak", role="fitter")
    remeasure(pack=pack, face_key="p12-1", width_mm=3580, height_mm=2400, user=other)
    late = act(pack, fitter.user, "measure", payload)
    assert late.outcome == CONFLICT and "3,590 × 2,400" in late.told and "Ben Oak had it at 3,580 × 2,400" in late.told
    assert wall_of(now(pack))["width_mm"] == 3580
    assert late.payload["width_mm"] == 3590
    office = fitter.get(f"/jobs/{pack.job.number}/site/notes/").content.decode()
    assert "Ben Oak had it at" in office


def test_what_is_fixed_is_not_asked_to_be_trimmed_behind_the_fitters_back(fitter, pack):
    payload = size(pack, 3600, 2380)
    set_tick(pack=pack, key="fix:p12-1:7:L1-B-01", is_done=True, user=UserFactory(first_name="Ben", last_name="Oak"))
    late = act(pack, fitter.user, "measure", payload)
    assert late.outcome == CONFLICT and "L1-B-01 would have to be trimmed but Ben Oak has it fixed" in late.told
    assert wall_of(now(pack))["height_mm"] == 2400


def test_what_another_cut_meanwhile_is_told_and_kept(fitter, pack):
    payload, written = size(pack, 3600, 2380), timezone.now() - timedelta(minutes=5)
    set_tick(pack=pack, key="cut:p12-1:7:L1-B-01", is_done=True, user=UserFactory(first_name="Ben", last_name="Oak"))
    late = act(pack, fitter.user, "measure", payload, done_at=written)
    assert late.outcome == CONFLICT and "Ben Oak cut L1-B-01 meanwhile" in late.told
    assert wall_of(now(pack))["height_mm"] == 2380


@pytest.mark.parametrize(("width_mm", "outcome"), [(3600, APPLIED), (9000, REFUSED), ("wide", REFUSED)])
def test_a_size_that_cannot_be_is_refused_with_the_reason(fitter, pack, width_mm, outcome):
    found = act(pack, fitter.user, "measure", size(pack, width_mm))
    assert found.outcome == outcome and found.told
    assert wall_of(now(pack))["width_mm"] == 3600


def test_without_script_the_page_does_the_same(fitter, pack, url):
    page = fitter.get(url).content.decode()
    assert "one sheet more than planned" in page and "Once it is sent" in page
    fitter.post(url, {"act": "swap", **swap_of(pack)})
    assert "spoiled" in now(pack)
    page = fitter.post(url, {"act": "swap", "piece": KEY, "seen": seen_of(pack)}).content.decode()
    assert "Choose what it is cut from." in page
    page = fitter.post(url, {"act": "measure", **size(pack, "3.59x")}).content.decode()
    assert 'value="3.59x"' in page and "Enter a length" in page
    fitter.post(url, {"act": "measure", **size(pack)})
    assert wall_of(now(pack))["width_mm"] == 3590
    assert "Was 3,600" in fitter.get(url).content.decode()
    assert fitter.post(url, {"act": "paint"}).status_code == 404


def test_the_page_asks_the_database_a_fixed_number_of_times(fitter, pack, url, django_assert_max_num_queries, offcut):
    with django_assert_max_num_queries(16):
        assert fitter.get(url).status_code == 200
