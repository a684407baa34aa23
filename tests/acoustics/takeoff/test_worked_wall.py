"""A party wall worked by hand: 3600 x 2400, independent studs at 600, two layers of 15 mm board.

The arithmetic is a published-style trade example worked on paper (common practice); every figure below
can be checked with a pencil.
"""

from decimal import Decimal

import pytest

from acoustics.takeoff import (
    STUDS,
    Board,
    InputError,
    Surface,
    batts_between,
    check_screw,
    cut_lengths,
    lay_boards,
    lift,
    packs,
    perimeter_runs,
    roll_drops,
    screw_length,
    screw_range,
    screws,
    sealant_tubes,
    stack_load,
    supports_across,
)
from acoustics.takeoff.lengths import LengthStock

BOARD = Board(name="dense 15", mass_kg_m2=12.8, thickness_mm=15)
WALL = Surface(name="Wall B", letter="B", outline_mm=((0, 0), (3600, 0), (3600, 2400), (0, 2400)), layers=2)


@pytest.fixture(scope="module")
def laid():
    return lay_boards(WALL, BOARD, seconds=2)


def test_six_sheets_and_no_layout_needs_fewer(laid):
    assert (laid.count, laid.lower_bound, laid.optimal) == (6, 6, True)


def test_widths_and_heights_of_both_layers(laid):
    first, second = laid.layers
    assert [p.width_mm for p in first.pieces] == [1195, 1200, 1195]
    assert [p.width_mm for p in second.pieces] == [595, 1200, 1200, 595]
    assert {p.height_mm for p in laid.pieces()} == {2385}


def test_joints_stand_on_studs_and_the_layers_are_a_stud_apart(laid):
    joints = [sorted(j.x1_mm for j in layer.joints) for layer in laid.layers]
    assert joints == [[1200, 2400], [600, 1800, 3000]]


def test_the_two_halves_come_from_one_sheet(laid):
    halves = [p.sheet for p in laid.layers[1].pieces if p.width_mm == 595]
    assert halves[0] == halves[1]


def test_labels_say_layer_surface_and_number(laid):
    assert [p.label for p in laid.layers[0].pieces] == ["L1-B-01", "L1-B-02", "L1-B-03"]


def test_areas_and_waste(laid):
    assert laid.area_m2 == pytest.approx(2 * 3.590 * 2.385)
    assert laid.gross_area_m2 == pytest.approx(17.28)
    assert 1 - laid.area_m2 / laid.gross_area_m2 == pytest.approx(0.009, abs=0.0005)


def test_a_sheet_of_it_takes_two_people(laid):
    assert max(p.mass_kg for p in laid.pieces()) == pytest.approx(1.2 * 2.385 * 12.8, abs=0.01)
    assert laid.layers[0].pieces[1].lift_people == 2
    assert lift(18.2) == 1


def test_seven_studs_and_two_tracks():
    members = supports_across(WALL, STUDS)
    studs = members.pieces("support")
    assert len(studs) == 7
    assert all(2380 <= stud.length_mm <= 2385 for stud in studs)
    assert sorted(track.length_mm for track in members.pieces("track")) == [3600, 3600]


def test_tracks_from_stock_of_3600_are_two():
    tracks = supports_across(WALL, STUDS).pieces("track")
    plan = cut_lengths([LengthStock(length_mm=3600, price=Decimal("9.40"))], tracks, seconds=1)
    assert (plan.count, plan.cost, plan.optimal) == (2, Decimal("18.80"), True)


def test_twelve_batts_are_one_pack():
    plan = batts_between(WALL, batt_width_mm=600, batt_length_mm=1200, support_width_mm=48)
    assert plan.batts == 12
    assert packs(plan.batts, per_pack=12).packs == 1
    assert packs(plan.batts * 1.05, per_pack=12).packs == 2


def test_membrane_in_three_drops_from_two_rolls():
    plan = roll_drops(3600, 2400, roll_width_mm=1200, roll_length_mm=5000)
    assert (len(plan.widths_mm), plan.rolls) == (3, 2)


def test_sealant_three_tubes():
    runs = perimeter_runs(WALL, depths_mm=(15, 15))
    count = sealant_tubes(runs, tube_ml=900, waste_percent=12)
    assert count.length_m == pytest.approx(24.0)
    assert count.volume_l == pytest.approx(2.34)
    assert count.with_waste_l == pytest.approx(2.62, abs=0.005)
    assert count.tubes == 3


def test_screws_per_layer():
    assert screws(8.56, spacing_mm=600) == pytest.approx(104, abs=1)


def test_screws_through_two_layers_and_a_membrane_into_steel():
    # 15 + 2.5 and 15 + 15 + 2.5, at least 10 mm through metal (UK board maker's published rule)
    assert screw_length([15, 2.5], into="steel") == 35
    assert screw_length([15, 15, 2.5], into="steel") == 45


# board total + 10 <= L <= board total + 16 - 2 on a bar 16 deep (UK board makers' published rules)
@pytest.mark.parametrize(
    ("layers", "length"),
    [([12.5], 25), ([15], 25), ([12.5, 12.5], 35), ([12.5, 0.6, 15], 38), ([15, 15], 42), ([12.5, 2.5], 25)],
)
def test_screw_into_a_resilient_bar(layers, length):
    assert screw_length(layers, into="bar") == length


def test_a_screw_that_bridges_the_bar_is_refused():
    with pytest.raises(InputError, match="bridges") as refused:
        check_screw(50, [15, 15], into="bar")
    assert refused.value.field == "length_mm"
    assert screw_range([15, 15], into="bar").most_mm == 44


def test_boards_on_the_floor():
    assert pytest.approx(221, abs=0.5) == 6 * 1.2 * 2.4 * 12.8
    assert stack_load(15, 12.8) == pytest.approx(192)
