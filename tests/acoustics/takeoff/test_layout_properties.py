"""Random surfaces laid and checked by the separate verifier."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from acoustics.takeoff import Board, BoardRules, Gaps, InputError, Supports, Surface, lay_boards, lay_job
from acoustics.takeoff import clock as clock_module
from tests.acoustics.takeoff import verify

QUICK = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


@st.composite
def surfaces(draw):
    width = draw(st.integers(700, 6500))
    height = draw(st.integers(500, 3600))
    kind = draw(st.sampled_from(["plain", "plain", "gable", "slope", "step"]))
    if kind == "gable":
        eaves = draw(st.integers(300, 2000))
        outline = ((0, 0), (width, 0), (width, eaves), (width // 2, eaves + height // 2), (0, eaves))
    elif kind == "slope":
        outline = ((0, 0), (width, 0), (width, height), (0, draw(st.integers(300, 2400))))
    elif kind == "step":
        step, rise = draw(st.integers(200, width - 200)), draw(st.integers(150, height - 150))
        outline = ((0, 0), (step, 0), (step, rise), (width, rise), (width, height), (0, height))
    else:
        outline = ((0, 0), (width, 0), (width, height), (0, height))
    openings = []
    if draw(st.booleans()) and width > 1500 and height > 1200 and kind in ("plain", "gable"):
        w, h = draw(st.integers(300, width - 900)), draw(st.integers(300, 900))
        x, y = draw(st.integers(200, width - w - 200)), draw(st.integers(0, 400))
        top = min(y + h, outline[2][1] - 100)
        if top > y + 50:
            openings.append(((x, y), (x + w, y), (x + w, top), (x, top)))
    side = draw(st.integers(0, 10))
    return Surface(
        name="S",
        outline_mm=outline,
        openings_mm=tuple(openings),
        supports=Supports(
            spacing_mm=draw(st.sampled_from([300, 400, 450, 600])),
            first_mm=draw(st.sampled_from([0, 0, 40, 250])),
            direction=draw(st.sampled_from(["vertical", "vertical", "horizontal"])),
        ),
        layers=draw(st.integers(1, 3)),
        gaps_mm=Gaps(sides_mm=side, top_mm=side, bottom_mm=draw(st.sampled_from([side, 10]))),
    )


BOARDS = st.sampled_from(
    [Board(mass_kg_m2=10), Board(width_mm=900, height_mm=1800), Board(width_mm=1200, height_mm=3000)]
)


@QUICK
@given(surface=surfaces(), board=BOARDS, kerf=st.sampled_from([0, 0, 3]), turn=st.booleans())
def test_any_surface_is_covered_cut_and_staggered_by_the_rules(surface, board, kerf, turn):
    rules = BoardRules(kerf_mm=kerf, may_turn=turn)
    try:
        layout = lay_boards(surface, board, rules, seconds=0.15)
    except InputError as error:
        assert "S" in error.message
        return
    assert verify.layout_faults(layout, [surface], rules) == []


@settings(QUICK, max_examples=5)
@given(st.lists(surfaces(), min_size=2, max_size=4))
def test_a_pooled_job_needs_no_more_sheets_than_its_surfaces_alone(found):
    job = [
        Surface(**{**{f: getattr(s, f) for f in s.__dataclass_fields__}, "name": f"S{i}"}) for i, s in enumerate(found)
    ]
    rules = BoardRules()
    try:
        alone = [lay_boards(s, Board(), rules, seconds=0.3) for s in job]
    except InputError:
        return
    pooled = lay_job(job, Board(), rules, seconds=0.6)
    assert verify.layout_faults(pooled, job, rules) == []
    assert pooled.count <= sum(layout.count for layout in alone)


def test_the_verifier_finds_faults():
    wall = Surface(name="S", outline_mm=((0, 0), (3600, 0), (3600, 2400), (0, 2400)), layers=2)
    layout = lay_boards(wall, Board(), seconds=0.2)
    assert verify.layout_faults(layout, [wall], BoardRules()) == []
    off = Surface(name="S", outline_mm=wall.outline_mm, layers=2, supports=Supports(spacing_mm=500))
    assert any("on no support" in fault for fault in verify.layout_faults(layout, [off], BoardRules()))
    taller = Surface(name="S", outline_mm=((0, 0), (3600, 0), (3600, 2500), (0, 2500)), layers=2)
    assert any("covers" in fault for fault in verify.layout_faults(layout, [taller], BoardRules()))
    strict = BoardRules(stagger_mm=1200)
    assert any("neighbouring layers" in fault for fault in verify.layout_faults(layout, [wall], strict))


@pytest.mark.parametrize("seed", [0, 1])
def test_same_seed_and_deadline_same_layout(seed, monkeypatch):
    # little counted work and much time: the work limit is reached first, however busy the machine is
    monkeypatch.setattr(clock_module, "PACE", 0.02)
    wall = Surface(
        name="S",
        outline_mm=((0, 0), (5200, 0), (5200, 2700), (0, 2700)),
        openings_mm=(((1700, 900), (3500, 900), (3500, 2100), (1700, 2100)),),
        layers=2,
    )
    one, two = (lay_boards(wall, Board(), seconds=20, seed=seed) for _ in range(2))
    assert one == two
