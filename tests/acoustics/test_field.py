"""Field tests after ISO 16283; expected numbers computed apart from this code, rules of the standard."""

import pytest

from acoustics import InputError, field_airborne, field_impact
from acoustics.field import background_corrected_db, low_frequency_level_db

BANDS = 16


@pytest.mark.parametrize(
    ("margin", "level", "limited"),
    # ISO 16283-1, 9.2: none from 10 dB, energy subtraction between, 1.3 dB at the limit.
    [(15, 50, False), (10, 50, False), (9, 49.416, False), (8, 49.251, False), (7, 49.033, False), (6.5, 48.899, False), (6, 48.7, True), (3, 48.7, True)],
)  # fmt: skip
def test_background_correction(margin, level, limited):
    corrected, flag = background_corrected_db([50.0], [50.0 - margin])
    assert corrected[0] == pytest.approx(level, abs=0.001)
    assert bool(flag[0]) is limited


def test_one_band_from_readings_to_results():
    # L1 95.167, L2 45.806 (45.019 corrected), T 0.62 s, V 38.7 m3, S 10.4 m2: D_nT 51.082, R' 50.324.
    result = field_airborne(
        source_db=[[v] * BANDS for v in (95.2, 94.1, 96.0, 95.5, 94.8)],
        receiving_db=[[v] * BANDS for v in (45.1, 46.3, 44.2, 47.0, 45.9)],
        background_db=[38.0] * BANDS,
        reverberation_s=[0.62] * BANDS,
        volume_m3=38.7,
        area_m2=10.4,
    )
    assert result.standardized_db[0] == pytest.approx(51.082, abs=0.002)
    assert result.apparent_reduction_db[0] == pytest.approx(50.324, abs=0.002)
    assert result.background_limited == (False,) * BANDS


def test_impact():
    # L'_nT = L_i - 10 lg(T / 0.5): 60 dB and 0.62 s give 59.066 dB.
    result = field_impact(receiving_db=[60.0] * BANDS, reverberation_s=[0.62] * BANDS, volume_m3=38.7)
    assert result.standardized_db[0] == pytest.approx(59.06578, abs=0.001)
    assert result.ci_db is not None


def test_low_frequency_procedure():
    assert low_frequency_level_db(81.0, 86.0) == pytest.approx(83.357, abs=0.001)


def test_errors_name_the_reading():
    with pytest.raises(InputError) as caught:
        field_airborne(
            source_db=[[90.0] * 16, [90.0] * 15],
            receiving_db=[40.0] * 16,
            reverberation_s=[0.5] * 16,
            volume_m3=30,
        )
    assert caught.value.field == "source_db[1]"
