"""Cut, fixed, spoiled and made again; boxes and cut numbers on the list; what is left over goes into the store."""

import threading

import pytest
from django.db import connection

from contractor.fitting.left import left_over
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.services import RowGone, set_tick
from contractor.fitting.shapes import box_words, cuts_round, number_words
from contractor.offcuts.models import Offcut
from tests.factories import JobFactory, MaterialFactory, UserFactory
from tests.fitting.conftest import pack_for

CUT, FIX, AGAIN = (f"{kind}:p12-1:7:L1-B-02" for kind in ("cut", "fix", "again"))


def states(pack) -> dict[str, bool]:
    return {tick.key: tick.is_done for tick in Tick.objects.filter(pack=pack)}


def test_what_is_fixed_is_cut_and_what_is_not_cut_is_not_fixed(fitter, pack):
    set_tick(pack=pack, key=FIX, is_done=True, user=fitter.user)
    assert states(pack) == {CUT: True, FIX: True}
    set_tick(pack=pack, key=CUT, is_done=False, user=fitter.user)
    assert states(pack) == {CUT: False, FIX: False}


def test_a_spoiled_piece_is_to_be_cut_again_and_stays_marked(fitter, pack):
    url = f"/jobs/{pack.job.number}/site/tick/"
    fitter.post(url, {"key": FIX, "done": "1"})
    told = fitter.post(url, {"key": AGAIN, "done": "1"}, headers={"hx-request": "true"}).content.decode()
    assert states(pack) == {CUT: False, FIX: False, AGAIN: True}
    assert "Spoiled. Cut it again" in told and told.count("<li") == 1
    told = fitter.post(url, {"key": CUT, "done": "1"}, headers={"hx-request": "true"}).content.decode()
    assert states(pack) == {CUT: True, FIX: False, AGAIN: True}
    assert "Remade" in told


@pytest.mark.parametrize("key", ["fix:p12-1:7:L9-B-02", "fix:step:p12-1:layer-4", "fix:", "paint:p12-1:7:L1-B-02"])
def test_only_pieces_of_the_pack_are_fixed(fitter, pack, key):
    with pytest.raises(RowGone):
        set_tick(pack=pack, key=key, is_done=True, user=fitter.user)
    assert fitter.post(f"/jobs/{pack.job.number}/site/tick/", {"key": key, "done": "1"}).status_code == 404


# Common practice (trade rules of board layout): the hole is the box and 2 mm on each side, measured from the piece's
# left edge and from the finished floor.
def test_boxes_are_told_on_their_piece(fitter, takeoff):
    cut = {"from_left_mm": 653, "from_bottom_mm": 438, "above_floor_mm": 448, "width_mm": 150, "height_mm": 90}
    takeoff["faces"][0]["layers"][6]["pieces"][1]["box_cuts"] = [cut]
    pack = pack_for(takeoff, fitter.user)
    words = "Box: cut 150 wide × 90 high, 653 from its left and 438 from its bottom (448 above the floor)."
    assert box_words(cut) == words
    page = fitter.get(f"/jobs/{pack.job.number}/site/cuts/p12-1/").content.decode()
    assert page.count(words) == 1
    assert page.count('class="box-cut"') == 1


def test_the_cuts_that_free_a_piece_are_named(takeoff):
    sheet = {
        "placed": [
            {"label": "A", "x_mm": 0, "y_mm": 0, "width_mm": 600, "height_mm": 1000},
            {"label": "B", "x_mm": 600, "y_mm": 0, "width_mm": 300, "height_mm": 2400},
        ],
        "cuts": [[600, 0, 600, 2400], [900, 0, 900, 2400], [0, 1000, 600, 1000]],
    }
    assert cuts_round(sheet, "A") == [1, 3]
    assert cuts_round(sheet, "B") == [1, 2]
    assert [number_words(n) for n in ([], [2], [1, 3], [1, 2, 4])] == ["", "cut 2", "cuts 1 and 3", "cuts 1, 2 and 4"]


def test_a_piece_out_of_a_stored_offcut_says_so_and_takes_it_from_the_store(fitter, takeoff):
    sheet = next(s for s in takeoff["sheets"] if s["placed"][0]["label"] == "L1-B-02")
    sheet["from_offcut"] = "7/BB-3-1"
    pack = pack_for(takeoff, fitter.user)
    offcut = Offcut.objects.create(
        label="7/BB-3-1", material=MaterialFactory(), length_mm=2400, width_mm=1200, from_job=JobFactory(),
        reserved_for=pack.job,
    )  # fmt: skip
    page = fitter.get(f"/jobs/{pack.job.number}/site/cuts/p12-1/").content.decode()
    assert "From offcut <strong>7/BB-3-1</strong> out of the store" in page
    set_tick(pack=pack, key=CUT, is_done=True, user=fitter.user)
    offcut.refresh_from_db()
    assert offcut.state == Offcut.State.USED


def with_leftovers(takeoff) -> dict:
    sheet = next(s for s in takeoff["sheets"] if s["placed"][0]["label"] == "L1-B-02")
    part = {"x_mm": 0, "y_mm": 2385, "width_mm": 1200, "height_mm": 700, "keep": True}
    sheet["offcuts"] = [part | {"label": "BB-2-1"}, part | {"label": "BB-2-2", "keep": False}]
    length = next(x for x in takeoff["lengths"] if x["cuts"][0]["label"] == "S-B-01")
    length["left_mm"] = 1210
    return takeoff


def test_only_what_is_cut_up_and_worth_it_is_left_over(takeoff, fitter):
    pack = pack_for(with_leftovers(takeoff), fitter.user)
    length = next(x for x in pack.document["lengths"] if x["cuts"][0]["label"] == "S-B-01")
    cut = {f"cut:p12-1:4:{c['label']}" for c in length["cuts"]}
    assert left_over(pack.document, set()) == []
    assert [row["label"] for row in left_over(pack.document, {CUT})] == ["BB-2-1"]
    found = left_over(pack.document, {CUT, *cut})
    assert [(row["width_mm"], row["length_mm"]) for row in found] == [(1200, 700), (None, 1210)]


def test_the_fitter_puts_it_into_the_store(fitter, takeoff):
    pack = pack_for(with_leftovers(takeoff), fitter.user)
    MaterialFactory(key="dense-board-15-1200x2400")
    url = f"/jobs/{pack.job.number}/site/left/"
    assert "Nothing yet" in fitter.get(url).content.decode()
    set_tick(pack=pack, key=CUT, is_done=True, user=fitter.user)
    assert f"{pack.job.number}/BB-2-1" in fitter.get(url).content.decode()
    wrong = fitter.post(url, {"keep-0": "on", "condition-0": "soaked"})
    assert wrong.status_code == 200 and not Offcut.objects.exists()
    fitter.post(url, {"keep-0": "on", "condition-0": "damaged"})
    offcut = Offcut.objects.get()
    assert (offcut.label, offcut.condition) == (f"{pack.job.number}/BB-2-1", "damaged")
    assert (offcut.width_mm, offcut.length_mm) == (700, 1200)
    page = fitter.get(url).content.decode()
    assert "In store from this job" in page and "Put into the store" not in page


@pytest.mark.django_db(transaction=True)
def test_a_tick_and_a_new_size_do_not_cross(takeoff):
    """The pack is locked by both: a row that went with the new size is not ticked. On SQLite and on PostgreSQL."""
    person = UserFactory(role="fitter")
    pack = pack_for(takeoff, person)
    start, told = threading.Barrier(2), []

    def take_the_row_away():
        from django.db import transaction

        try:
            with transaction.atomic():
                locked = WorkPack.objects.select_for_update(of=("self",)).get(pk=pack.pk)
                start.wait()
                document = locked.document
                layer = next(
                    x for f in document["faces"] if f["key"] == "p12-1" for x in f["layers"] if x["order"] == 7
                )
                layer["pieces"] = [p for p in layer["pieces"] if p["key"] != CUT]
                locked.save()
        finally:
            connection.close()

    def tick_it():
        try:
            start.wait()
            set_tick(pack=pack, key=CUT, is_done=True, user=person)
            told.append("ticked")
        except RowGone:
            told.append("gone")
        finally:
            connection.close()

    threads = [threading.Thread(target=action) for action in (take_the_row_away, tick_it)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert told == ["gone"]
    assert not Tick.objects.exists()


def test_the_page_of_what_is_left_costs_the_same_for_one_part_and_for_many(fitter, takeoff, count_queries):
    pack = pack_for(with_leftovers(takeoff), fitter.user)
    MaterialFactory(key="dense-board-15-1200x2400")
    url = f"/jobs/{pack.job.number}/site/left/"
    set_tick(pack=pack, key=CUT, is_done=True, user=fitter.user)
    queries = count_queries(fitter, url)
    fitter.post(url, {"keep-0": "on", "condition-0": "good"})
    for cut in next(x for x in pack.document["lengths"] if x["cuts"][0]["label"] == "S-B-01")["cuts"]:
        set_tick(pack=pack, key=f"cut:p12-1:4:{cut['label']}", is_done=True, user=fitter.user)
    fitter.get(url)  # takes the message of the post away
    assert count_queries(fitter, url) == queries
