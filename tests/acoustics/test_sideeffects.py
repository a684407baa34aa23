"""Warmth, damp and weight of what is built."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from acoustics import Connection, Element, Fill, Gap, InputError, Layer, Leaf
from acoustics.condensation import INDOOR_EXCESS_PA, Climate, Slab, saturation_pa, yearly_damp
from acoustics.sideeffects import side_effects, slabs_of, u_value_w_m2k

BRICK_LEAF = Leaf(
    layers=(Layer(material="brick_solid", thickness_mm=215), Layer(material="plaster_dense", thickness_mm=13)),
    masonry=True,
)
BOARDS = Leaf(layers=(Layer(material="gypsum_board_dense", thickness_mm=12.5),) * 2)
BRICK = Element(leaves=(BRICK_LEAF,))
# Round monthly means from memory: a cool maritime place, and one inland with cold winters.
MARITIME = Climate(
    name="maritime",
    temperature_c=(4, 4, 6, 8, 11, 14, 16, 16, 14, 10, 7, 5),
    humidity_percent=(87, 85, 81, 77, 75, 75, 76, 78, 81, 85, 87, 88),
)
INLAND = Climate(
    name="inland",
    temperature_c=(-1, 0, 4, 9, 14, 17, 19, 18, 14, 9, 4, 0),
    humidity_percent=(86, 82, 76, 69, 68, 69, 69, 71, 77, 82, 87, 88),
)
BRICKWORK, WOOL, BOARD = Slab(0.215 / 0.77, 2.15), Slab(0.075 / 0.038, 0.075), Slab(0.025 / 0.25, 0.25)


def lined(kind: str = "none") -> Element:
    gap = Gap(depth_mm=75, fill=Fill(thickness_mm=75), connection=Connection(kind=kind))
    return Element(leaves=(BRICK_LEAF, BOARDS), gaps=(gap,))


def steady(temperature_c: float, humidity: float) -> Climate:
    return Climate(name="steady", temperature_c=(temperature_c,) * 12, humidity_percent=(humidity,) * 12)


def damp_of(slabs, climate=MARITIME, **options):
    return yearly_damp(slabs, climate, inside_m2k_w=0.13, outside_m2k_w=0.04, **options)


def test_u_value_by_hand():
    # EN ISO 6946: 1 / (0.13 + 0.10 / 0.038 + 0.04).
    assert u_value_w_m2k([Slab(0.10 / 0.038, 0.1)]) == pytest.approx(1 / (0.17 + 0.10 / 0.038))


def test_a_solid_brick_wall():
    # Solid 215 to 230 mm brick, plastered: about 2.1 W/(m2 K) in handbooks of dwellings (from memory).
    effects = side_effects(BRICK, lined(), beyond="outside")
    assert effects.u_before_w_m2k == pytest.approx(2.1, abs=0.15)
    assert effects.u_after_w_m2k < 0.5


def test_studs_by_the_combined_method():
    # EN ISO 6946, 6.7.2, by hand: 75 mm of wool with 45 mm studs at 600 mm between two boards of 0.05 m2 K/W each.
    part, wool, stud, other = 0.075, 0.075 / 0.038, 0.075 / 0.13, 0.17 + 0.1
    upper = 1 / ((1 - part) / (other + wool) + part / (other + stud))
    lower = other + 1 / ((1 - part) / wool + part / stud)
    slabs = [Slab(0.05, 0.1), Slab(wool, 0.075, part, stud), Slab(0.05, 0.1)]
    assert u_value_w_m2k(slabs) == pytest.approx(2 / (upper + lower))
    found = slabs_of(lined("timber_stud"))[2]
    assert (found.stud_part, found.stud_m2k_w) == pytest.approx((part, stud))
    assert u_value_w_m2k(slabs_of(lined("timber_stud"))) > u_value_w_m2k(slabs_of(lined()))


def test_wool_between_joists_over_a_ventilated_void():
    # Boards of 20 mm on 100 mm of wool: EN ISO 6946 with 0.17 m2 K/W on both sides of a floor over still air.
    deck, ceiling = (
        Leaf(layers=(Layer(material="softwood_boards", thickness_mm=20),)),
        Leaf(layers=(Layer(material="gypsum_board", thickness_mm=1),)),
    )
    bare, full = (
        Element(leaves=(ceiling, deck), gaps=(Gap(depth_mm=100, fill=fill),)) for fill in (None, Fill(thickness_mm=100))
    )
    effects = side_effects(bare, full, beyond="void_below")
    boards, wool = 0.020 / 0.13 + 0.001 / 0.21, 0.100 / 0.038
    assert effects.u_before_w_m2k == pytest.approx(1 / (0.34 + boards + 0.18))
    assert effects.u_after_w_m2k == pytest.approx(1 / (0.34 + boards + wool))


def test_saturation_pressure():
    # EN ISO 13788 annex E: 2337 Pa at 20 degrees C, 611 Pa at 0.
    assert float(saturation_pa(20.0)) == pytest.approx(2337, abs=2)
    assert float(saturation_pa(0.0)) == pytest.approx(610.5, abs=1)


def test_one_condensing_plane_by_hand():
    """Two layers in an unchanging winter: what gathers between them is what comes less what goes, 2e-10 kg/(m s Pa)."""
    layers = [Slab(0.2, 2.0), Slab(0.2, 0.1)]  # tight outside, open inside; too thin to be divided
    damp = damp_of(layers, steady(0.0, 80.0))
    between_c = 20.0 * (0.04 + 0.2) / (0.04 + 0.4 + 0.13)
    outside, between = 0.8 * 610.5, float(saturation_pa(between_c))
    inside = outside + 1.1 * 810.0
    rate = 2e-10 * ((inside - between) / 0.1 - (between - outside) / 2.0)
    assert rate > 0
    year_s = 365.25 * 86_400
    assert damp.most_g_m2 == pytest.approx(1000 * rate * year_s, rel=1e-3)
    assert damp.verdict == "stays"


def test_water_of_the_winter_dries_in_the_summer():
    damp = damp_of([BRICKWORK, WOOL, Slab(0.0, 2.0), BOARD])
    assert damp.verdict == "dries"
    assert "February" in damp.wet_months
    assert "August" not in damp.wet_months
    assert damp.most_g_m2 == max(damp.held_g_m2) > 0


def test_the_bare_wall_stays_dry_and_vapour_open_wool_behind_it_does_not():
    # The cold brick behind permeable fibre is the textbook case of interstitial condensation.
    assert damp_of([BRICKWORK]).verdict == "none"
    assert damp_of([BRICKWORK, WOOL, BOARD]).verdict == "stays"
    assert side_effects(BRICK, lined(), beyond="outside", climate=MARITIME).damp.verdict == "stays"


def test_a_vapour_barrier_on_the_warm_side_keeps_the_wall_dry():
    for climate in (MARITIME, INLAND):
        assert damp_of([BRICKWORK, WOOL, Slab(0.0, 100.0), BOARD], climate).verdict == "none"


@given(st.floats(0.0, 5.0), st.floats(0.01, 5.0), st.floats(0.0, 30.0), st.sampled_from([MARITIME, INLAND]))
def test_more_vapour_resistance_on_the_warm_side_is_never_wetter(wool_m2k_w, air_m, more_m, climate):
    def most(extra: float) -> float:
        return damp_of([BRICKWORK, Slab(wool_m2k_w, air_m), Slab(0.0, 0.1 + extra)], climate).most_g_m2

    assert most(more_m) <= most(0.0) + 1e-6


@given(
    st.lists(st.tuples(st.floats(0.0, 4.0), st.floats(0.0, 50.0)), min_size=1, max_size=6),
    st.lists(st.floats(-30, 35), min_size=12, max_size=12),
    st.lists(st.floats(5, 100), min_size=12, max_size=12),
    st.sampled_from(sorted(INDOOR_EXCESS_PA)),
)
def test_any_wall_in_any_climate_has_a_finite_year(layers, temperature_c, humidity, indoors):
    climate = Climate(name="any", temperature_c=tuple(temperature_c), humidity_percent=tuple(humidity))
    damp = damp_of([Slab(*layer) for layer in layers], climate, indoors=indoors)
    assert np.all(np.isfinite(damp.held_g_m2))
    assert min(damp.held_g_m2) >= 0
    assert damp.verdict in ("none", "dries", "stays")


def test_a_drier_household_holds_less_water():
    wall = [BRICKWORK, WOOL, BOARD]
    amounts = [damp_of(wall, indoors=kind).most_g_m2 for kind in ("dry", "low", "normal", "high")]
    assert amounts == sorted(amounts)


def test_internal_walls_have_no_u_value_and_weight_is_added_up():
    effects = side_effects(BRICK, lined())
    assert effects.u_before_w_m2k is None
    assert effects.damp is None
    assert effects.added_mass_kg_m2 == pytest.approx(2 * 0.0125 * 860 + 0.075 * 30)


def test_unknown_materials_are_said_to_be_unknown():
    unknown = Element(leaves=(Leaf(layers=(Layer(thickness_mm=100, density_kg_m3=1000),)),))
    effects = side_effects(unknown, unknown, beyond="outside", climate=MARITIME)
    assert effects.u_after_w_m2k is None
    assert effects.damp is None


def test_a_climate_needs_twelve_sensible_months():
    for field, climate in (
        ("temperature_c", {"temperature_c": (4.0,) * 11, "humidity_percent": (80.0,) * 12}),
        (
            "humidity_percent[3]",
            {"temperature_c": (4.0,) * 12, "humidity_percent": (80.0,) * 3 + (140.0,) + (80.0,) * 8},
        ),
    ):
        with pytest.raises(InputError) as caught:
            Climate(name="bad", **climate)
        assert caught.value.field == field
