"""Warmth, damp and weight of a lining."""

import pytest

from acoustics import Connection, Element, Fill, Gap, Layer, Leaf, Lining
from acoustics.sideeffects import condenses, lining_effects, saturation_pa, u_value_w_m2k

BRICK = Element(
    leaves=(
        Leaf(
            layers=(Layer(material="brick_solid", thickness_mm=215), Layer(material="plaster_dense", thickness_mm=13)),
            masonry=True,
        ),
    )
)
LINING = Lining(
    gaps=(Gap(depth_mm=75, fill=Fill(thickness_mm=75), connection=Connection(kind="none")),),
    leaves=(Leaf(layers=(Layer(material="gypsum_board_dense", thickness_mm=12.5),) * 2),),
)


def test_u_value_by_hand():
    # EN ISO 6946: 1 / (0.13 + 0.10 / 0.038 + 0.04).
    assert u_value_w_m2k([(0.10 / 0.038, 0.1)]) == pytest.approx(1 / (0.17 + 0.10 / 0.038))


def test_a_solid_brick_wall():
    # Solid 215 to 230 mm brick, plastered: about 2.1 W/(m2 K) in handbooks of dwellings (from memory).
    effects = lining_effects(BRICK, LINING, 10.0, external=True)
    assert effects.u_before_w_m2k == pytest.approx(2.1, abs=0.15)
    assert effects.u_after_w_m2k < 0.5
    # The cold brick behind permeable fibre is the textbook case of interstitial condensation.
    assert effects.condensation is True
    assert any(n.code == "condensation" for n in effects.notices)


def test_saturation_pressure():
    # EN ISO 13788 annex E: 2337 Pa at 20 degrees C, 611 Pa at 0.
    assert float(saturation_pa(20.0)) == pytest.approx(2337, abs=2)
    assert float(saturation_pa(0.0)) == pytest.approx(610.5, abs=1)


def test_a_vapour_barrier_on_the_warm_side_keeps_the_wall_dry():
    fibre, brick, barrier = (0.075 / 0.038, 0.075), (0.215 / 0.77, 2.15), (0.0, 100.0)
    assert condenses([brick, fibre])
    assert not condenses([brick, fibre, barrier])


def test_internal_walls_have_no_u_value_and_weight_is_added_up():
    effects = lining_effects(BRICK, LINING, 10.0)
    assert effects.u_before_w_m2k is None
    assert effects.condensation is None
    assert effects.added_mass_kg_m2 == pytest.approx(2 * 0.0125 * 860 + 0.075 * 30)
    assert effects.added_mass_kg == pytest.approx(10 * effects.added_mass_kg_m2)
    assert effects.depth_lost_mm == pytest.approx(100.0)


def test_weight_on_joists_is_referred_to_an_engineer():
    effects = lining_effects(BRICK, LINING, 10.0, on_joists=True)
    assert "structural engineer" in effects.notices[0].text


def test_unknown_materials_are_said_to_be_unknown():
    unknown = Element(leaves=(Leaf(layers=(Layer(thickness_mm=100, density_kg_m3=1000),)),))
    effects = lining_effects(unknown, LINING, 10.0, external=True)
    assert effects.u_after_w_m2k is None
    assert any(n.code == "condensation_unknown" for n in effects.notices)
