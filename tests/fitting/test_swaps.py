"""A spoiled board cut again: only what is large enough is offered, each says what it changes, and that is what happens.

Sizes are reckoned by hand from the party wall of the take-off: boards of 1,200 × 2,400 on 3,600 × 2,400, pieces 2,385
high, gaps of 5 at the sides.
"""

import json
from collections import Counter

import pytest

from contractor.fitting.bridge import remeasured
from contractor.fitting.left import left_over
from contractor.fitting.pack import pack_document
from contractor.fitting.swaps import NotOffered, Stored, choices, place_seen, swapped
from tests.fitting.test_remeasure import pieces_of

KEY = "cut:p12-1:8:L2-B-01"  # 595 × 2,385
BOARD = "dense-board-15-1200x2400"


@pytest.fixture
def document(takeoff):
    return pack_document(takeoff)


def by_value(document, stored=(), key=KEY, gone=()):
    piece = next(p for p in pieces_of(document).values() if p["key"] == key)
    return {choice.value: choice for choice in choices(document, piece, stored, gone)}


def assert_nothing_overlaps(document):
    for sheet in document["sheets"]:
        spots = [
            (p["x_mm"], p["y_mm"], p["x_mm"] + p["width_mm"], p["y_mm"] + p["height_mm"])
            for p in [*sheet["placed"], *(o for o in sheet["offcuts"] if "x_mm" in o)]
        ]
        assert all(x >= 0 and y >= 0 and r <= sheet["width_mm"] and t <= sheet["height_mm"] for x, y, r, t in spots)
        for i, a in enumerate(spots):
            assert all(a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1] for b in spots[i + 1 :])


def sheets_bought(document) -> Counter:
    return Counter(s["material_key"] for s in document["sheets"] if not s["from_offcut"])


def stored(short_mm, long_mm, label="7/B-3-1", material_key=BOARD):
    return Stored(label=label, material_key=material_key, short_mm=short_mm, long_mm=long_mm)


@pytest.mark.parametrize(
    ("offcut", "is_offered"),
    [
        (stored(595, 2385), True),
        (stored(594, 2385), False),
        (stored(595, 2384), False),
        (stored(1200, 1200), False),
        (stored(600, 2400, material_key="another-board"), False),
    ],
)
def test_only_an_offcut_of_the_board_that_is_large_enough_is_offered(document, offcut, is_offered):
    assert ("store:7/B-3-1" in by_value(document, [offcut])) is is_offered


def test_a_full_sheet_adds_one_to_order_and_leaves_the_rest_of_it(document):
    before = json.dumps(document)
    choice = by_value(document)["full"]
    assert choice.adds_sheet and "one sheet more than planned" in " ".join(choice.changes)
    assert "605 × 2,400" in " ".join(choice.changes)  # 1,200 less 595
    made = swapped(document, KEY, choice)
    assert sheets_bought(made) - sheets_bought(document) == Counter({BOARD: 1})
    piece = pieces_of(made)["L2-B-01"]
    sheet = made["sheets"][piece["sheet_place"]]
    assert [p["label"] for p in sheet["placed"]] == ["L2-B-01"]
    assert [(o["width_mm"], o["height_mm"]) for o in sheet["offcuts"] if o["keep"]] == [(605, 2400)]
    assert "L2-B-01 spoiled" in [p["label"] for s in made["sheets"] for p in s["placed"]]
    assert json.dumps(document) == before
    assert_nothing_overlaps(made)


def test_what_is_left_of_one_swap_serves_the_next_and_no_sheet_more_is_wanted(document):
    once = swapped(document, KEY, by_value(document)["full"])
    left = next(o["label"] for s in once["sheets"] for o in s["offcuts"] if o["width_mm"] == 605)
    twice = swapped(once, KEY, by_value(once)[f"own:{left}"])
    assert sheets_bought(twice) == sheets_bought(once)
    assert [s["piece"]["label"] for s in twice["spoiled"]] == ["L2-B-01 spoiled", "L2-B-01 spoiled 2"]
    assert_nothing_overlaps(twice)
    with pytest.raises(NotOffered):
        swapped(twice, KEY, by_value(once)[f"own:{left}"])  # it is cut up by now
    assert f"own:{left}" not in by_value(once, gone=[left])


def test_an_offcut_out_of_the_store_is_no_sheet_to_order(document):
    offcut = stored(700, 2400)
    made = swapped(document, KEY, by_value(document, [offcut])["store:7/B-3-1"], [offcut])
    assert sheets_bought(made) == sheets_bought(document)
    assert made["sheets"][-1]["from_offcut"] == "7/B-3-1"
    assert "store:7/B-3-1" not in by_value(made, [offcut])
    assert_nothing_overlaps(made)


def test_no_other_piece_moves_and_the_place_shown_changes_only_for_the_piece(document):
    made = swapped(document, KEY, by_value(document)["full"])
    before, after = pieces_of(document), pieces_of(made)
    moved = [label for label in before if place_seen(document, before[label]) != place_seen(made, after[label])]
    assert moved == ["L2-B-01"]


def test_a_sheet_with_a_spoiled_part_counts_as_cut_up_when_its_other_pieces_are(document):
    old = document["sheets"][pieces_of(document)["L2-B-01"]["sheet_place"]]
    old["offcuts"] = [{"label": "B-4-1", "x_mm": 0, "y_mm": 0, "width_mm": 300, "height_mm": 700, "keep": True}]
    made = swapped(document, KEY, by_value(document)["full"])
    assert "B-4-1" not in [row["label"] for row in left_over(made, {KEY})]
    assert "B-4-1" in [row["label"] for row in left_over(made, {KEY, "cut:p12-1:8:L2-B-04"})]


@pytest.mark.parametrize("choice", ["full", "store:7/B-3-1"])
@pytest.mark.parametrize("is_cut", [True, False])
def test_a_surface_measured_again_after_a_swap_never_plans_on_the_spoiled_part(document, choice, is_cut):
    offcut = stored(700, 2400)
    made = swapped(document, KEY, by_value(document, [offcut])[choice], [offcut])
    again, _ = remeasured(made, "p12-1", 3590, 2390, {KEY} if is_cut else set())
    spoiled = again["spoiled"][0]["piece"]
    sheet = again["sheets"][spoiled["sheet_place"]]
    assert any(p["label"] == "L2-B-01 spoiled" for p in sheet["placed"])
    assert_nothing_overlaps(again)
    assert {p["height_mm"] for p in pieces_of(again).values()} <= {2375, 2385}  # 2,390 less 15; cut ones to trim
