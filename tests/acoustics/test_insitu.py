"""Losses as built in, and what they make of direct and flanking sound (EN ISO 12354-1, 4.2.2 and annex C, from memory)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from acoustics import (
    Element,
    Face,
    Fill,
    FlankingPath,
    Gap,
    Junction,
    KnownElement,
    Layer,
    Leaf,
    ReceivingRoom,
    SeparatingPatch,
    predict_element,
    predict_room,
)
from acoustics.bands import EXACT_HZ
from acoustics.flanking import Flank, Part, structure_of
from acoustics.insitu import Plate, border_absorption, in_situ_db, plate_of, total_loss
from acoustics.junctions import JUNCTIONS, structural_reverberation_s

HZ_500 = np.array([500.0])
BOARD = Element(leaves=(Leaf(layers=(Layer(material="gypsum_board", thickness_mm=12.5),)),))
STUDS = Element(leaves=BOARD.leaves * 2, gaps=(Gap(depth_mm=75, fill=Fill(thickness_mm=50)),))


def solid(thickness_mm: float, material: str = "brick_solid", loss: float | None = None) -> Element:
    layer = Layer(material=material, thickness_mm=thickness_mm, loss_factor=loss)
    return Element(leaves=(Leaf(layers=(layer,), masonry=True),))


def flank(element: Element | KnownElement, kind: str = "rigid_t", length_m: float = 2.5) -> Flank:
    return Flank(Part(element, 9.0), Part(element, 9.0), Junction(kind=kind, length_m=length_m))


def test_the_correction_by_reverberation_times():
    # R_situ = R - 10 lg(0.15 s / 0.25 s) = R + 2.21849 dB (ISO 12354-1, worked apart).
    assert in_situ_db(0.15, 0.25) == pytest.approx(2.21849, abs=1e-4)


def test_loss_and_reverberation_of_the_laboratory_estimate():
    # eta = 0.01 + 400 / (485 sqrt(500)) = 0.04688; Ts = 2.2 / (f eta) = 0.09385 s (ISO 12354-1 annex C, worked apart).
    loss = 0.01 + 400 / (485 * math.sqrt(500))
    assert loss == pytest.approx(0.04688, abs=1e-4)
    assert structural_reverberation_s(HZ_500, np.array([loss]))[0] == pytest.approx(0.09385, abs=1e-4)


def test_the_total_loss_of_annex_c_by_hand():
    # Every border known, as long as the edge of the square: only inside, radiation and borders are left.
    # eta = eta_int + 2 rho c sigma / (2 pi f m) + c / (pi2 S sqrt(f fc)) sum(l alpha), alpha = sqrt(fc / 1000) 10^(-K / 10).
    plate = Plate(400.0, 112.0, 0.01, np.full(1, 0.05), True, True)
    alpha = border_absorption(np.array([8.7]), 114.0)
    assert alpha[0] == pytest.approx(math.sqrt(0.114) * 10**-0.87)
    area, around = 9.0, 12.0
    got = total_loss([plate], np.array([[area]]), np.array([[around]]), np.array([around * alpha]), HZ_500)
    sigma = 1 / math.sqrt(1 - 112 / 500)  # above coincidence (annex B)
    radiated = 2 * 1.205 * 343 * sigma / (2 * math.pi * 500 * 400)
    borders = 343 / (math.pi**2 * area * math.sqrt(500 * 112)) * around * alpha[0]
    assert got[0, 0] == pytest.approx(0.01 + radiated + borders, rel=1e-6)


def test_with_no_border_known_the_loss_is_the_usual_one():
    plate = plate_of(solid(215))
    got = total_loss([plate], np.array([[10.0]]), np.array([[0.0]]), np.zeros((1, 21)), EXACT_HZ)
    np.testing.assert_allclose(got[0], plate.usual_loss)


def test_a_room_with_nothing_but_its_wall_predicts_the_wall():
    brick = solid(215)
    room = ReceivingRoom(volume_m3=10 / 0.32, separating=[SeparatingPatch(name="wall", area_m2=10, element=brick)])
    np.testing.assert_allclose(
        predict_room(room).before.standardized_db, predict_element(brick).reduction_db, atol=1e-9
    )


@pytest.mark.parametrize("element", [BOARD, STUDS, KnownElement(reduction_db=(45.0,) * 21), solid(215, loss=0.05)])
def test_light_double_known_and_well_damped_elements_stay_as_measured(element):
    alone = structure_of((Part(element, 10.0),), ())
    built = structure_of((Part(element, 10.0),), tuple(flank(solid(150, "concrete"), "rigid_cross") for _ in range(4)))
    np.testing.assert_array_equal(built.direct_db, alone.direct_db)


def test_an_element_three_times_lighter_than_its_surroundings_stays_as_measured():
    thin = solid(60, "aircrete_block")
    alone = structure_of((Part(thin, 10.0),), ()).direct_db
    heavy = structure_of((Part(thin, 10.0),), (flank(solid(200, "concrete")),)).direct_db
    like = structure_of((Part(thin, 10.0),), (flank(solid(75, "aircrete_block")),)).direct_db
    np.testing.assert_array_equal(heavy, alone)
    assert np.abs(like - alone).max() > 0.05


def test_light_flanks_tell_nothing_of_what_a_heavy_wall_runs_on_to():
    wall = Part(solid(215), 10.0)
    alone = structure_of((wall,), ()).direct_db
    for kind in ("rigid_cross", "timber", "light_to_heavy"):
        np.testing.assert_array_equal(structure_of((wall,), (flank(BOARD, kind),) * 2).direct_db, alone)


def test_flexible_layers_all_round_leave_the_wall_as_measured():
    wall = Part(solid(215), 10.0)
    alone, held = structure_of((wall,), ()).direct_db, structure_of((wall,), (flank(solid(102)),)).direct_db
    loose = structure_of((wall,), (flank(solid(102), "flexible_t"),)).direct_db
    np.testing.assert_array_equal(loose, alone)
    assert np.abs(held - alone).max() > 0.01


def test_what_the_borders_take_up_raises_the_wall_above_coincidence():
    """A wall that runs on past thin walls is drained more than usual; one that ends at light blocks less. Below
    coincidence forced waves carry the sound, whatever the losses."""
    wall = Part(solid(215), 10.0)
    alone = structure_of((wall,), ()).direct_db[0]
    thin, light = solid(102), solid(140, "aircrete_block")
    drained = structure_of((wall,), (flank(thin, "rigid_cross", 4.0),) * 2 + (flank(thin, "rigid_cross"),) * 2)
    spared = structure_of((wall,), (flank(light, "rigid_t", 4.0),) * 2 + (flank(light),) * 2)
    assert np.all(drained.direct_db[0][8:] > alone[8:])
    assert np.all(spared.direct_db[0][8:] < alone[8:])
    assert 0.2 < (drained.direct_db[0] - alone)[8:].mean() < 3.0
    assert np.abs(drained.direct_db[0] - alone)[:2].max() < 0.3


elements = st.one_of(
    st.builds(solid, st.floats(60, 300), st.sampled_from(["brick_solid", "concrete", "aircrete_block"])),
    st.sampled_from([BOARD, STUDS, KnownElement(reduction_db=tuple(range(20, 62, 2)), surface_mass_kg_m2=90)]),
)


@given(elements, elements, elements, st.sampled_from(JUNCTIONS), st.floats(1, 6), st.floats(4, 20), st.floats(4, 20))
def test_sound_passes_a_junction_alike_both_ways(wall, near, far, kind, length, near_m2, far_m2):
    """Reciprocity: with source and receiving room exchanged, Df and Fd change places and R' stays."""

    def paths(first, second):
        room = ReceivingRoom(
            volume_m3=40,
            separating=[SeparatingPatch(name="wall", area_m2=9, element=wall)],
            flanking=[
                FlankingPath(name="side", source=first, receiving=second, junction=Junction(kind=kind, length_m=length))
            ],
        )
        prediction = predict_room(room)
        found = {p.kind: np.array(p.reduction_before_db) for p in prediction.paths}
        return found, np.array(prediction.before.standardized_db)

    a, b = Face(element=near, area_m2=near_m2), Face(element=far, area_m2=far_m2)
    (there, level), (back, level_back) = paths(a, b), paths(b, a)
    assert np.all(np.isfinite(level))
    for kind_there, kind_back in (("direct", "direct"), ("Ff", "Ff"), ("Df", "Fd"), ("Fd", "Df")):
        np.testing.assert_allclose(there[kind_there], back[kind_back], atol=1e-6)
    np.testing.assert_allclose(level, level_back, atol=1e-6)
