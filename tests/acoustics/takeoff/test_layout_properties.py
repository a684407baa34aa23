"""Random surfaces laid and checked by the separate verifier."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from acoustics.takeoff import (
    Board,
    BoardRules,
    Gaps,
    InputError,
    SocketBox,
    StoredOffcut,
    Supports,
    Surface,
    lay_boards,
    lay_job,
)
from acoustics.takeoff import clock as clock_module
from tests.acoustics.takeoff import verify

QUICK = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


def outlines(draw, kind, width, height):
    """Plain, gabled, under a slope, over a stair, round a nib, and like a U round a chimney breast."""
    if kind == "gable":
        eaves = draw(st.integers(300, 2000))
        return ((0, 0), (width, 0), (width, eaves), (width // 2, eaves + height // 2), (0, eaves))
    if kind == "slope":
        return ((0, 0), (width, 0), (width, height), (0, draw(st.integers(300, 2400))))
    if kind == "step":
        step, rise = draw(st.integers(200, width - 200)), draw(st.integers(150, height - 150))
        return ((0, 0), (step, 0), (step, rise), (width, rise), (width, height), (0, height))
    if kind == "stair":
        tread, rise = 250, 180
        treads = min(4, (width - 200) // tread, (height - 200) // rise)
        steps = [p for n in range(treads) for p in ((tread * (n + 1), rise * n), (tread * (n + 1), rise * (n + 1)))]
        return ((0, 0), *steps, (width, rise * treads), (width, height), (0, height))
    if kind == "nib":
        out = draw(st.integers(200, width - 400))
        return ((0, 0), (width, 0), (width, height // 2), (out, height // 2), (out, height), (0, height))
    if kind == "u":
        left, wide, rise = width // 4, width // 3, height // 2
        return (
            (0, 0), (left, 0), (left, rise), (left + wide, rise), (left + wide, 0), (width, 0), (width, height),
            (0, height),
        )  # fmt: skip
    return ((0, 0), (width, 0), (width, height), (0, height))


@st.composite
def surfaces(draw, boxed=False):
    width = draw(st.integers(700, 6500))
    height = draw(st.integers(500, 3600))
    kind = draw(st.sampled_from(["plain", "plain", "gable", "slope", "step", "stair", "nib", "u"]))
    outline = outlines(draw, kind, width, height)
    openings = []
    if draw(st.booleans()) and width > 1500 and height > 1200 and kind in ("plain", "gable"):
        w, h = draw(st.integers(300, width - 900)), draw(st.integers(300, 900))
        x, y = draw(st.integers(200, width - w - 200)), draw(st.integers(0, 400))
        top = min(y + h, outline[2][1] - 100)
        if top > y + 50:
            openings.append(((x, y), (x + w, y), (x + w, top), (x, top)))
    boxes = []
    if (boxed or draw(st.booleans())) and kind in ("plain", "slope") and not openings and height > 600:
        x, y = draw(st.integers(20, width - 170)), draw(st.integers(20, 200))
        boxes.append(SocketBox(x_mm=x, y_mm=y, width_mm=146, height_mm=86, layers=draw(st.sampled_from([(), (1,)]))))
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
        boxes=tuple(boxes),
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


@settings(QUICK, max_examples=15)
@given(
    found=st.lists(surfaces(boxed=True), min_size=2, max_size=4),
    sizes=st.lists(st.tuples(st.integers(200, 1200), st.integers(300, 2400)), max_size=4),
)
def test_a_job_with_rules_by_surface_uses_stored_offcuts_by_the_rules(found, sizes):
    ceiling = BoardRules(
        orientation="across", stagger_mm=400, course_stagger_mm=400, keep_short_mm=400, min_width_mm=200
    )
    job = [replace(s, name=f"S{i}", rules=ceiling if i % 2 else None) for i, s in enumerate(found)]
    kept = [StoredOffcut(label=f"K{i}", board="board", width_mm=w, height_mm=h) for i, (w, h) in enumerate(sizes)]
    rules = BoardRules()
    try:
        layout = lay_job(job, Board(), rules, offcuts=kept, seconds=0.3)
    except InputError:
        return
    assert verify.layout_faults(layout, job, rules) == []
    piece_of, size_of = {p.label: p for p in layout.pieces()}, {o.label: (o.width_mm, o.height_mm) for o in kept}
    used = [use.label for use in layout.offcuts_used]
    assert len(used) == len(set(used))
    for use in layout.offcuts_used:
        assert {piece_of[label].layer for label in use.pieces} == {1}
        for name in use.surfaces:
            least = next(s.rules or rules for s in job if s.name == name)
            assert min(size_of[use.label]) >= least.keep_short_mm and max(size_of[use.label]) >= least.keep_long_mm


@settings(QUICK, max_examples=5)
@given(st.lists(surfaces(), min_size=2, max_size=4))
def test_a_pooled_job_needs_no_more_sheets_than_its_surfaces_alone(found):
    job = [replace(s, name=f"S{i}") for i, s in enumerate(found)]
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
    boxed = replace(wall, boxes=(SocketBox(x_mm=800, y_mm=450, width_mm=146, height_mm=86),))
    assert any("boxes" in fault for fault in verify.layout_faults(layout, [boxed], BoardRules()))
    wide = BoardRules(min_width_mm=700)
    assert any("a piece of 59" in fault for fault in verify.layout_faults(layout, [wall], wide))
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
