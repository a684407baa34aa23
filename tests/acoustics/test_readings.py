"""Readings that cannot be true are found; what the standard would have otherwise is told."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from acoustics.readings import cautions, faults, level_difference_db

BANDS = [100, 125, 160, 200]
FLAT = [[80.0] * 4]


def messages(**given_readings) -> list[str]:
    return [fault.message for fault in faults(bands_hz=BANDS, **given_readings)]


def test_plausible_readings_have_no_fault():
    assert (
        messages(source_db=FLAT, receiving_db=[[40.0] * 4], background_db=[[20.0] * 4], reverberation_s=[0.5] * 4) == []
    )


@pytest.mark.parametrize("level", [-21, 151, float("nan"), float("inf")])
def test_levels_that_cannot_be_are_placed(level):
    (fault,) = faults(bands_hz=BANDS, receiving_db=[[40.0] * 4, [40.0, level, 40.0, 40.0]])
    assert (fault.quantity, fault.band_hz, fault.position) == ("receiving", 125, 1)


@pytest.mark.parametrize("time_s", [0, -0.5, 16, float("nan")])
def test_reverberation_times_that_cannot_be(time_s):
    (fault,) = faults(bands_hz=BANDS, reverberation_s=[0.5, 0.5, 0.5, time_s])
    assert (fault.quantity, fault.band_hz) == ("reverberation", 200)


def test_rooms_that_were_swapped_are_noticed():
    assert "columns swapped" in messages(source_db=[[50.0] * 4], receiving_db=FLAT)[0]


def test_a_background_louder_than_the_signal_is_refused():
    found = faults(bands_hz=BANDS, receiving_db=[[30.0] * 4], background_db=[[30.0, 30.0, 34.0, 30.0]])
    assert [(fault.quantity, fault.band_hz) for fault in found] == [("background", 160)]


def told(**changes) -> str:
    made = {
        "bands_hz": BANDS,
        "volume_m3": 40,
        "source_db": FLAT * 5,
        "receiving_db": FLAT * 5,
        "background_db": FLAT,
        "reverberation_s": [0.5] * 4,
    }
    return " ".join(cautions(**(made | changes)))


def test_a_test_by_the_book_has_no_caution():
    assert told() == ""


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"reverberation_s": ()}, "0.5 s is assumed"),
        ({"background_db": ()}, "Background noise was not measured"),
        ({"background_limited": [False, True, False, False]}, "Limited by background noise at 125 Hz"),
        ({"source_db": FLAT}, "1 position in the source room"),
        ({"source_db": [[80.0, 80.0, 89.0, 89.0]] * 5}, "from 125 to 160 Hz its level steps by 9 dB"),  # over 8 dB
        ({"volume_m3": 20, "bands_hz": [50, 63, 80, 100]}, "in the corners"),  # under 25 m³
    ],
)
def test_what_falls_short_of_the_standard_is_told(changes, said):
    assert said in told(**changes)


def test_a_plain_level_difference_is_corrected_for_background():
    """ISO 16283-1, clause 9: at 6 dB or less over the background 1.3 dB is taken off and the limit marked."""
    difference, limited = level_difference_db([[80.0, 80.0]], [[40.0, 40.0]], [[35.0, 20.0]])
    assert difference.tolist() == pytest.approx([41.3, 40.0]) and limited.tolist() == [True, False]


@given(st.lists(st.floats(-20, 150), min_size=4, max_size=4), st.lists(st.floats(-20, 150), min_size=4, max_size=4))
def test_readings_without_fault_give_finite_differences(source, receiving):
    if not faults(bands_hz=BANDS, source_db=[source], receiving_db=[receiving]):
        difference, _ = level_difference_db([source], [receiving])
        assert np.isfinite(difference).all() and (difference >= -3.001).all()
