"""Random membranes and batts: covered exactly, laps and butts where they belong, nothing larger than it is bought."""

import itertools

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from acoustics.takeoff import Gaps, Supports, Surface, batts_between, roll_drops
from tests.acoustics.takeoff import verify

QUICK = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


@QUICK
@given(
    run=st.integers(300, 9000),
    height=st.integers(300, 3000),
    width=st.sampled_from([600, 1000, 1200]),
    lap=st.sampled_from([0, 50, 150]),
    boards=st.lists(st.integers(1, 14).map(lambda n: 600 * n), max_size=8, unique=True),
)
def test_drops_cover_the_run_and_lap_as_asked(run, height, width, lap, boards):
    plan = roll_drops(
        run, height, roll_width_mm=width, roll_length_mm=10_000, lap_mm=lap, allowance_mm=100, board_joints_mm=boards
    )
    starts = [0, *plan.joints_mm]
    ends = [start + wide for start, wide in zip(starts, plan.widths_mm, strict=True)]
    assert ends[-1] == run
    laps = [end - start for end, start in zip(ends[:-1], starts[1:], strict=True)]
    assert laps == [lap] * len(plan.joints_mm)
    assert 0 < max(plan.widths_mm) <= width
    # a drop is whole, and its length never falls short of the wall and what is turned at its ends
    assert plan.drop_mm == height + 100
    assert sum(len(used.cuts) for used in plan.cut.used) == len(plan.widths_mm)
    assert plan.rolls >= plan.cut.lower_bound
    if not lap and boards and plan.joints_mm:
        clear = min(abs(j - b) for j in plan.joints_mm for b in boards)
        assert clear >= 100 or not _could_clear(run, width, boards, len(plan.widths_mm))


def _could_clear(run, width, boards, drops):
    """Whether so many drops can be shifted, in steps of 10, so that every butt is 100 clear of the boards' joints."""
    return any(
        all(abs(width * n - shift - b) >= 100 for n in range(1, drops) for b in boards)
        for shift in range(0, min(drops * width - run, width - 10) + 1, 10)
    )


@settings(QUICK, max_examples=20)
@given(
    width=st.integers(500, 5000),
    height=st.integers(400, 3000),
    spacing=st.sampled_from([300, 400, 600, 900, 1400]),
    support=st.sampled_from([38, 48, 63]),
    friction=st.sampled_from([0, 5, 10]),
)
def test_batts_fill_every_bay(width, height, spacing, support, friction):
    wall = Surface(
        name="Wall",
        outline_mm=((0, 0), (width, 0), (width, height), (0, height)),
        supports=Supports(spacing_mm=spacing),
        gaps_mm=Gaps(),
    )
    plan = batts_between(wall, support_width_mm=support, friction_mm=friction, seconds=0.05)
    lines = [0, *range(spacing, width, spacing), width]
    taken = [support if n in (0, len(lines) - 1) else support // 2 for n in range(len(lines))]
    clear = sum(max(0, (b - taken[n + 1]) - (a + taken[n])) for n, (a, b) in enumerate(itertools.pairwise(lines)))
    assert round(plan.area_m2 * 1e6) == clear * height
    cut = sum(p.width_mm * p.height_mm * p.quantity for p in plan.pieces)
    bays = sum(1 for n, (a, b) in enumerate(itertools.pairwise(lines)) if b - taken[n + 1] > a + taken[n])
    assert cut == (clear + bays * friction) * height
    for p in plan.pieces:
        assert min(p.width_mm, p.height_mm) <= 600 and max(p.width_mm, p.height_mm) <= 1200
    assert plan.lower_bound <= plan.batts
    assert [fault for sheet in plan.cut.sheets for fault in verify.sheet_faults(sheet)] == []
