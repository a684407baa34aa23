"""From a noise next door to the level in the room, and how sure a level is: worked apart from the definitions."""

import numpy as np
import pytest

from acoustics.bands import A_WEIGHTING_DB, EXACT_HZ, OCTAVE_A_WEIGHTING_DB, REFERENCE_REVERBERATION_S, level_sum_db
from acoustics.field import field_airborne
from acoustics.uncertainty import MEASUREMENT_IN_SITU_DB, REPRODUCIBILITY_DB

# Egan, Architectural Acoustics (1988), noise table, octaves 63 to 4000 Hz without 8 kHz: A-levels as printed.
PUBLISHED = {
    "television at 3 m": ([49, 62, 64, 67, 70, 68, 63], 74),
    "stereo, teenager": ([60, 72, 83, 82, 82, 80, 75], 86),
    "stereo, adult": ([56, 66, 75, 72, 70, 66, 64], 75),
    "water closet refilling": ([50, 55, 53, 54, 57, 56, 57], 63),
    "vacuum cleaner at 0.9 m": ([48, 66, 69, 73, 79, 73, 73], 81),
    "clothes washer": ([59, 65, 59, 59, 58, 54, 50], 62),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_sources_have_their_level(name):
    octaves, printed = PUBLISHED[name]
    assert level_sum_db(np.array(octaves) + OCTAVE_A_WEIGHTING_DB) == pytest.approx(printed, abs=1.0)


def test_a_weighting_is_that_of_its_formula():
    # IEC 61672-1, annex E: poles at 20.599, 107.653, 737.862 and 12194.2 Hz; the printed table rounds it to tenths.
    f2 = EXACT_HZ**2
    response = (12194.217**2 * f2**2) / (
        (f2 + 20.598997**2) * np.sqrt((f2 + 107.65265**2) * (f2 + 737.86223**2)) * (f2 + 12194.217**2)
    )
    np.testing.assert_allclose(A_WEIGHTING_DB, 20 * np.log10(response) + 2.0, atol=0.16)


def test_television_through_a_plastered_brick_wall():
    # L2 = L1 - D_nT + 10 lg(T / 0.5 s) with D_nT of a 255 mm plastered brick wall: 19.04 dB(A), octaves 125 to 4000 Hz.
    source, difference = np.array([62.0, 64, 67, 70, 68, 63]), np.array([41.0, 45, 48, 56, 65, 69])
    received = source - difference + 10 * np.log10(0.5 / REFERENCE_REVERBERATION_S)
    assert received.tolist() == [21, 19, 19, 14, 3, -6]
    assert level_sum_db(received + OCTAVE_A_WEIGHTING_DB[1:]) == pytest.approx(19.04, abs=0.02)


def test_level_difference_and_apparent_reduction_differ_by_volume_and_area():
    # D_nT - R' = 10 lg(0.32 V / S) = 1.434 dB for 50 m3 and 11.5 m2 (ISO 12354-1, ISO 16283-1).
    measured = field_airborne(
        source_db=[90.0] * 16, receiving_db=[45.0] * 16, reverberation_s=[0.7] * 16, volume_m3=50.0, area_m2=11.5
    )
    gap = np.array(measured.standardized_db) - np.array(measured.apparent_reduction_db)
    np.testing.assert_allclose(gap, 1.434, atol=0.001)


def test_uncertainty_of_measured_numbers():
    # ISO 12999-1 (from memory): R_w and D_nT,w have 1.2 dB between laboratories and 0.9 dB in situ; at 95 % 1.76 dB two-sided
    # and 1.49 dB one-sided, so that 46 dB does not prove 45.
    assert (REPRODUCIBILITY_DB, MEASUREMENT_IN_SITU_DB) == (1.2, 0.9)
    two_sided = 1.96 * MEASUREMENT_IN_SITU_DB
    assert two_sided == pytest.approx(1.76, abs=0.01)
    one_sided = 1.65 * MEASUREMENT_IN_SITU_DB
    assert one_sided == pytest.approx(1.49, abs=0.01)
    assert 46 - one_sided < 45
