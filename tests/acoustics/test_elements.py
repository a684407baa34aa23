"""Plates with a direction, hollow blocks, composites with openings: closed forms and the front door."""

import json
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from acoustics import (
    Composite,
    Element,
    Gap,
    Hole,
    Hollow,
    InputError,
    KnownElement,
    Layer,
    Leaf,
    Leak,
    Part,
    predict_composite,
    predict_element,
    reductions_db,
)
from acoustics.bands import BANDS_HZ, EXACT_HZ
from acoustics.door import VERBS
from acoustics.orthotropic import stiffness_at
from acoustics.sidepaths import hole_factor, piston_impedance, slit_factor


def sheet(ratio: float | None, critical_hz: float = 1500.0, loss: float = 0.03) -> Element:
    layer = Layer(
        thickness_mm=20,
        surface_mass_kg_m2=12,
        critical_frequency_hz=critical_hz,
        loss_factor=loss,
        stiffness_ratio=ratio,
    )
    return Element(leaves=(Leaf(layers=(layer,)),))


def test_a_ratio_of_one_is_a_plate_without_direction():
    np.testing.assert_allclose(*reductions_db([sheet(1.0), sheet(None)]), atol=1e-9)
    near, plain = reductions_db([sheet(1.0001), sheet(None)])
    np.testing.assert_allclose(near, plain, atol=0.02)


def test_directions_run_from_along_to_across():
    # Cremer, Heckl and Ungar (1988): critical frequencies of the two directions, their product that of the mean.
    along, across = stiffness_at(100.0, 16.0, 0.0), stiffness_at(100.0, 16.0, np.pi / 2)
    assert along / across == pytest.approx(16.0)
    assert np.sqrt(along * across) == pytest.approx(100.0)


def test_far_below_both_coincidences_only_mass_counts():
    plain, directed = reductions_db([sheet(None, 40_000.0), sheet(9.0, 40_000.0)])
    np.testing.assert_allclose(directed[:10], plain[:10], atol=0.3)


def test_between_its_coincidences_a_ribbed_sheet_falls_to_the_law_of_heckl():
    # Heckl (1960), quoted in Bies, Hansen and Howard: factor rho c / (2 pi2 f m) (f1 / f) ln2(4 f / f1) for f1 < f < f2.
    ratio, mean = 1.0e3, 4000.0
    low, high = mean * ratio**-0.25, mean * ratio**0.25
    predicted = reductions_db([sheet(ratio, mean, 0.01)])[0]
    middle = (2.0 * low < EXACT_HZ) & (0.4 * high > EXACT_HZ)
    assert middle.sum() >= 3
    f = EXACT_HZ[middle]
    law = 1.205 * 343.0 / (2.0 * np.pi**2 * f * 12.0) * low / f * np.log(4.0 * f / low) ** 2
    assert np.abs(predicted[middle] + 10.0 * np.log10(law)).mean() < 3.0


def test_boards_with_a_direction_insulate_less_between_their_coincidences():
    plain, directed = reductions_db([sheet(None), sheet(12.0)])
    assert directed[14] < plain[14] - 1.0  # 1250 Hz, under the mean coincidence of 1500 Hz


def test_hollow_blocks_tend_to_solid_ones():
    def block(hollow):
        return Layer(material="dense_block", thickness_mm=200, hollow=hollow)

    solid = block(None)
    for same in (block(Hollow(shell_mm=100, web_part=0.0)), block(Hollow(shell_mm=30, web_part=1.0))):
        assert same.mass_kg_m2 == pytest.approx(solid.mass_kg_m2)
        assert same.rigidity_nm == pytest.approx(solid.rigidity_nm)
    # Two shells of 30 mm without webs: 60 of 200 mm of mass, 1 - (140 / 200)3 of the stiffness (second moment of area).
    shells = block(Hollow(shell_mm=30, web_part=0.0))
    assert shells.mass_kg_m2 == pytest.approx(0.3 * solid.mass_kg_m2)
    assert shells.rigidity_nm == pytest.approx((1 - 0.7**3) * solid.rigidity_nm)
    assert predict_element(Element(leaves=(Leaf(layers=(shells,)),))).weighted_db < predict_element(Element(leaves=(Leaf(layers=(solid,)),))).weighted_db  # fmt: skip


def test_hollow_block_of_a_handbook():
    # Harris (3rd edition, table 31.3): 190 mm hollow normal-weight block, sealed, STC 48; shells and webs nominal.
    layer = Layer(material="dense_block", thickness_mm=190, hollow=Hollow(shell_mm=35, web_part=0.25))
    assert 200 < layer.mass_kg_m2 < 260
    result = predict_element(Element(leaves=(Leaf(layers=(layer,)),)))
    assert result.stc_db == pytest.approx(48, abs=4)


@pytest.mark.parametrize(
    ("extra", "field"),
    [
        ({"hollow": Hollow(shell_mm=120, web_part=0.2)}, "hollow.shell_mm"),
        ({"hollow": Hollow(shell_mm=20, web_part=0.2), "surface_mass_kg_m2": 100.0}, "surface_mass_kg_m2"),
        ({"stiffness_ratio": 0.5}, "stiffness_ratio"),
    ],
)
def test_what_a_layer_cannot_be(extra, field):
    with pytest.raises(InputError) as error:
        Layer(material="dense_block", thickness_mm=200, **extra)
    assert error.value.field == field


def test_piston_impedance_against_tables():
    # Kinsler and others, table of piston functions: at 2ka = 2: R1 0.4233, X1 0.6468; at 2ka = 4: R1 1.0330, X1 0.5349.
    resistance, reactance = piston_impedance(np.array([1.0, 2.0]))
    np.testing.assert_allclose(resistance, [0.4233, 1.0330], atol=2e-4)
    np.testing.assert_allclose(reactance, [0.6468, 0.5349], atol=2e-4)


def test_a_small_hole_in_a_thin_sheet_and_a_wide_one():
    # Rayleigh: conductivity of the two ends with 8 / (3 pi) each, so that the factor tends to 9 pi2 / 64 in a diffuse field.
    low = hole_factor(1e-3, 1e-7, np.array([100.0]))
    assert low[0] == pytest.approx(9 * np.pi**2 / 64, rel=0.1)
    wide = hole_factor(1.0, 0.01, np.array([4000.0, 5000.0]))
    np.testing.assert_allclose(wide, 1.0, atol=0.15)


def test_a_deep_hole_rings_where_half_waves_fit_its_length():
    # Gomperts (1964): length plus both end corrections of 8 a / (3 pi), without loss.
    diameter, depth = 0.02, 0.2
    first = 343.0 / (2.0 * (depth + 2.0 * 8.0 * diameter / 2.0 / (3.0 * np.pi)))
    f = np.linspace(0.8 * first, 1.2 * first, 400)
    assert f[np.argmax(hole_factor(diameter, depth, f))] == pytest.approx(first, rel=0.02)
    assert hole_factor(diameter, depth, f).max() > 10 * hole_factor(diameter, depth, np.array([first * 1.5]))[0]


def test_holes_let_less_through_than_a_slit_of_the_same_area():
    f = EXACT_HZ[:14]
    slit, hole = slit_factor(0.003, 0.1, f), hole_factor(0.003, 0.1, f)
    assert np.all(np.isfinite(hole)) and np.mean(10 * np.log10(slit / hole)) > 3.0


WALL = Element(leaves=(Leaf(layers=(Layer(material="brick_solid", thickness_mm=215),)),), size_m=(4.0, 2.5))
PANE = Element(leaves=(Leaf(layers=(Layer(material="glass", thickness_mm=4),)),), size_m=(1.2, 1.2))


def test_composite_is_the_mean_of_factors_by_area():
    # ISO 12354-3: 8.4 m2 of 54 dB with 1.6 m2 of 29 dB give 36.9 dB.
    flat = Composite(element=WALL, parts=(Part(area_m2=1.6, element=KnownElement(reduction_db=(29.0,) * 21)),))
    own = np.array(predict_element(WALL).reduction_db)
    expected = -10 * np.log10((8.4 * 10 ** (-own / 10) + 1.6 * 10**-2.9) / 10.0)
    np.testing.assert_allclose(predict_composite(flat).reduction_db, expected, atol=1e-9)
    alone = predict_composite(Composite(element=WALL))
    np.testing.assert_allclose(alone.reduction_db, own, atol=1e-9)
    assert alone.uncertainty_db == pytest.approx(predict_element(WALL).uncertainty_db)


def test_a_small_gap_undoes_a_good_wall():
    closed = predict_element(WALL).weighted_db
    slit = predict_composite(Composite(element=WALL, openings=(Leak(area_mm2=5000, width_mm=5, depth_mm=215),)))
    drilled = predict_composite(Composite(element=WALL, openings=(Hole(diameter_mm=25, count=2, depth_mm=215),)))
    assert slit.weighted_db < closed - 8
    assert slit.weighted_db < drilled.weighted_db <= closed
    sealed = predict_composite(Composite(element=WALL, openings=(Leak(area_mm2=5000, width_mm=5, sealed=True),)))
    assert sealed.weighted_db >= closed - 3


@settings(deadline=None, max_examples=40)
@given(st.floats(0.01, 10.0), st.floats(0.5, 200.0), st.integers(0, 50), st.floats(1.0, 40.0))
def test_composites_are_finite_and_lie_between(area, diameter, count, ratio):
    boards = sheet(ratio)
    whole = Composite(
        element=boards,
        parts=(Part(area_m2=area, element=PANE),),
        openings=(Hole(diameter_mm=diameter, count=count, depth_mm=20),),
    )
    reduction = np.array(predict_composite(whole).reduction_db)
    assert np.all(np.isfinite(reduction)) and np.all(reduction >= 0)
    best = np.maximum(predict_element(boards).reduction_db, predict_element(PANE).reduction_db)
    assert np.all(reduction <= best + 1e-6)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"parts": [{"area_m2": 12, "element": {"reduction_db": [29] * 21}}]}, "parts[0].area_m2"),
        ({"parts": [{"area_m2": -1, "element": {"reduction_db": [29] * 21}}]}, "parts[0].area_m2"),
        ({"parts": [{"area_m2": 1}]}, "parts[0].element"),
        ({"openings": [{"kind": "leak", "area_mm2": 1e7, "width_mm": 500}] * 2}, "openings"),
        ({"openings": [{"kind": "crack", "area_mm2": 10}]}, "openings[0].kind"),
        ({"openings": [{"kind": "hole"}]}, "openings[0].diameter_mm"),
        ({"openings": [{"kind": "hole", "diameter_mm": 0}]}, "openings[0].diameter_mm"),
    ],
)
def test_the_front_door_names_what_is_wrong(change, field):
    wall = {"leaves": [{"layers": [{"material": "brick_solid", "thickness_mm": 215}]}], "size_m": [4.0, 2.5]}
    with pytest.raises(InputError) as error:
        VERBS["element"]({**wall, **change})
    assert error.value.field == field


def test_all_of_it_comes_in_by_the_front_door():
    data = {
        "leaves": [
            {"layers": [{"material": "softwood_boards", "thickness_mm": 22, "stiffness_ratio": 12}]},
            {"layers": [{"material": "dense_block", "thickness_mm": 140, "hollow": {"shell_mm": 30, "web_part": 0.2}}]},
        ],
        "gaps": [{"depth_mm": 50}],
        "size_m": [4.0, 2.5],
        "parts": [{"name": "door", "area_m2": 1.8, "element": {"leaves": [{"layers": [{"material": "plywood", "thickness_mm": 40}]}]}}],
        "openings": [{"kind": "leak", "area_mm2": 900, "width_mm": 3, "depth_mm": 40}, {"kind": "hole", "diameter_mm": 20, "depth_mm": 150}],
    }  # fmt: skip
    run = subprocess.run([sys.executable, "-m", "acoustics", "element"], input=json.dumps(data), capture_output=True, text=True)  # fmt: skip
    assert run.returncode == 0, run.stderr
    result = json.loads(run.stdout)
    assert result["bands_hz"] == list(BANDS_HZ) and 15 < result["weighted_db"] < 45
    assert len(result["band_uncertainty_db"]) == 21


def test_more_directions_move_no_band(monkeypatch):
    from acoustics import orthotropic

    elements = [sheet(6.0), sheet(16.0)]
    few = reductions_db(elements)
    orthotropic.directions.cache_clear()
    monkeypatch.setattr(orthotropic, "AZIMUTHS", 2 * orthotropic.AZIMUTHS)
    many = reductions_db(elements)
    orthotropic.directions.cache_clear()
    assert np.abs(few - many).max() < 0.5


def test_gaps_may_stand_before_boards_with_a_direction():
    ceiling = Leaf(layers=(Layer(material="gypsum_board", thickness_mm=12.5),))
    floor = Element(leaves=(sheet(12.0).leaves[0], ceiling), gaps=(Gap(depth_mm=200),))
    assert np.all(np.isfinite(reductions_db([floor, WALL])))
