"""Studs, bars, drops and batts set out by hand on paper and compared."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from acoustics.takeoff import (
    BARS,
    STUDS,
    InputError,
    LengthPiece,
    LengthStock,
    Supports,
    Surface,
    batts_between,
    cut_lengths,
    packs,
    perimeter_runs,
    pipe_wrap,
    roll_drops,
    screws,
    sealant_tubes,
    spare_sheets,
    spread,
    supports_across,
)


def rectangle(x0, y0, x1, y1):
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


WALL = Surface(name="Wall", outline_mm=rectangle(0, 0, 3600, 2400))
DOOR = replace(WALL, openings_mm=(rectangle(1300, 0, 2138, 2040),))
WINDOW = replace(WALL, openings_mm=(rectangle(900, 900, 2100, 2100),))


def lengths(setout, role):
    return sorted(p.length_mm for p in setout.pieces(role))


def test_studs_stand_beside_a_door_and_short_ones_over_it():
    setout = supports_across(DOOR, STUDS)
    # full height at 0, 600, 1200, 1300, 2138, 2400, 3000, 3600; over the door at 1800: 2400 - 2040 less 8 each end
    assert lengths(setout, "support") == [344] + [2384] * 8
    # head, floor each side of the door, and one over it
    assert lengths(setout, "track") == [838, 1300, 1462, 3600]


def test_under_and_over_a_window_stand_short_studs():
    setout = supports_across(WINDOW, STUDS)
    # the grid's 1200 and 1800 fall in the window: 300 above and 900 below, less 8 at each end
    assert lengths(setout, "support")[:4] == [284, 284, 884, 884]
    assert lengths(setout, "track") == [1200, 1200, 3600, 3600]


def test_bars_run_level_near_floor_and_ceiling_and_lap_on_long_walls():
    wall = replace(WALL, supports=Supports(spacing_mm=600, first_mm=60, direction="horizontal"))
    setout = supports_across(wall, BARS, inset_mm=60)
    assert sorted({m.y1_mm for m in setout.members}) == [60, 660, 1260, 1860, 2340]
    # each row of 3590 is a bar of 3000 and one of 690, lapped by 100
    assert lengths(setout, "support") == [690] * 5 + [3000] * 5


def test_no_bar_is_shorter_than_300():
    wall = Surface(
        name="Wall",
        outline_mm=rectangle(0, 0, 3150, 600),
        supports=Supports(spacing_mm=600, first_mm=60, direction="horizontal"),
    )
    members = [m for m in supports_across(wall, BARS, inset_mm=60).members if m.y1_mm == 60]
    assert sorted(m.length_mm for m in members) == [300, 2940]
    assert max(m.x2_mm for m in members) == 3145


def test_supports_follow_a_slope():
    gable = Surface(name="Gable", outline_mm=((0, 0), (2400, 0), (2400, 1000), (1200, 2200), (0, 1000)))
    by_place = {m.x1_mm: m.length_mm for m in supports_across(gable, STUDS).members if m.role == "support"}
    assert by_place[1200] == pytest.approx(2200 - 16, abs=2)
    assert by_place[600] == by_place[1800] == pytest.approx(1600 - 16, abs=2)


def test_lapped_drops():
    plan = roll_drops(3600, 2400, roll_width_mm=1200, roll_length_mm=5000, lap_mm=50, allowance_mm=100)
    # (3600 - 50) / (1200 - 50) = 3.09
    assert plan.widths_mm == (1200, 1200, 1200, 150)
    assert (plan.drop_mm, plan.rolls) == (2500, 2)


def test_butt_joints_keep_100_off_the_joints_of_the_boards():
    plan = roll_drops(3600, 2400, roll_width_mm=1200, roll_length_mm=5000, board_joints_mm=(1200, 2400))
    assert min(abs(j - b) for j in plan.joints_mm for b in (1200, 2400)) >= 100
    assert sum(plan.widths_mm) == 3600 and max(plan.widths_mm) <= 1200
    assert plan.rolls == 2


def test_a_drop_longer_than_the_roll_is_refused():
    with pytest.raises(InputError, match="other way") as error:
        roll_drops(3600, 5200, roll_width_mm=1200, roll_length_mm=5000)
    assert error.value.field == "roll_length_mm"


def test_batts_between_supports_fill_each_bay_with_friction():
    plan = batts_between(DOOR, support_width_mm=48, friction_mm=8)
    widths = {(p.label, min(p.width_mm, p.height_mm)) for p in plan.pieces}
    # an inner bay is 600 - 48 + 8; an end bay gives up the end stud's whole width: 600 - 24 - 48 + 8
    assert ("bay 2", 560) in widths and ("bay 1", 536) in widths
    assert plan.area_m2 < 3.6 * 2.4 - 0.838 * 2.04
    assert plan.lower_bound <= plan.batts <= 12


def test_pipe_wrap_girth():
    # pi x (110 + 28) = 433.5, and 50 of lap
    assert pipe_wrap(2400, diameter_mm=110, thickness_mm=28) == (math.ceil(math.pi * 138) + 50, 2400)


# Metres per 380 ml tube against gap and depth: 5 x 12.5 gives 6.1, 5 x 15 gives 5.1, 10 x 15 gives 2.5; of a 900 ml
# tube 14.4, 12.0 and 6.0 (makers' coverage tables, common practice)
@pytest.mark.parametrize(
    ("gap", "depth", "small", "large"), [(5, 12.5, 6.1, 14.4), (5, 15, 5.1, 12.0), (10, 15, 2.5, 6.0)]
)
def test_sealant_reaches_as_far_as_the_tables_say(gap, depth, small, large):
    per_metre_ml = gap * depth
    assert 380 / per_metre_ml == pytest.approx(small, abs=0.05)
    surface = replace(WALL, outline_mm=rectangle(0, 0, 1000, 1000))
    runs = [r for r in perimeter_runs(surface, (depth,)) if r.gap_mm == gap]
    assert sealant_tubes(runs, tube_ml=900, waste_percent=0).volume_l == pytest.approx(
        sum(r.length_mm for r in runs) / 1000 * 0.9 / large, rel=0.01
    )


def test_a_door_and_boxes_add_to_the_sealant():
    plain, door = (sealant_tubes(perimeter_runs(s, (15,))).length_m for s in (WALL, DOOR))
    assert door - plain == pytest.approx(2 * (0.838 + 2.040))
    boxed = sealant_tubes(perimeter_runs(WALL, (15,), boxes=4)).length_m
    assert boxed - plain == pytest.approx(4 * 0.3)


# Screws per m2 and layer: 11 on walls at 600, 14 at 400, 18 on ceilings at 400 (common practice)
@pytest.mark.parametrize(("kind", "spacing", "rate"), [("wall", 600, 11), ("wall", 400, 14), ("ceiling", 400, 18)])
def test_screws_by_area(kind, spacing, rate):
    assert screws(100, spacing_mm=spacing, kind=kind, waste_percent=0) == 100 * rate


def test_packs_take_the_van_into_account():
    count = packs(104, per_pack=50, pack_mass_kg=0.4, pack_price=Decimal("6.20"), in_van=10)
    assert (count.packs, count.bought, count.left) == (2, 100, 6)
    assert (count.mass_kg, count.cost) == (pytest.approx(0.8), Decimal("12.40"))
    assert packs(0, per_pack=50).packs == 0


def test_spares_and_spread():
    # one spare sheet for every 15 begun; two 850 ml tubes of compound to a 2.88 m2 board is 0.59 l/m2
    assert [spare_sheets(n) for n in (0, 1, 15, 16)] == [0, 1, 1, 2]
    assert spread(2.88, per_m2=0.59, waste_percent=0) == pytest.approx(2 * 0.85, abs=0.01)


def test_tails_are_gathered_at_no_cost():
    stock = [LengthStock(length_mm=3000, price=Decimal("7"))]
    pieces = [LengthPiece(label="a", length_mm=900, quantity=4)]
    plan = cut_lengths(stock, pieces, seconds=1)
    # two lengths either way; 3 + 1 leaves one long tail of 2100, 2 + 2 would leave two of 1200
    assert plan.count == 2
    assert sorted(used.left_mm for used in plan.used) == [300, 2100]
