"""The words for the homeowner: each boundary just below, at and just above it, and their order along a growing wall."""

import itertools

import numpy as np
import pytest

from acoustics import InputError
from acoustics.audibility import (
    BACKGROUND_DBA,
    HEARING_THRESHOLD_DB,
    MASKING_INDEX_DB,
    SOURCES,
    SYLLABLES_DB,
    WALKER_RE_TAPPING_DB,
    WALKER_UNCERTAINTY_DB,
    audible,
    audible_footsteps,
    background_levels_db,
    excess_by_band_db,
    footstep_levels_db,
    loudness_words,
    words_for,
)
from acoustics.bands import a_weighted_db
from acoustics.intelligibility import speech_intelligibility_index

A_HAIR = 1e-6

# From the least to the most that is heard.
TALK = (
    "not audible",
    "barely audible, not understood",
    "heard as a murmur, not understood",
    "a word here and there understood",
    "partly understood",
    "understood",
)
OTHER = (
    "not audible",
    "the bass is barely audible",
    "barely audible",
    "only the bass is audible",
    "audible",
    "clearly audible",
)


def excess(low_db: float, high_db: float) -> np.ndarray:
    """One band of the bass and one above it stand this far over their thresholds, all others far below."""
    bands = np.full(21, -40.0)
    bands[2], bands[12] = low_db, high_db
    return bands


@pytest.mark.parametrize(
    ("at_db", "below", "above"),
    [
        (0.0, "not audible", "barely audible, not understood"),
        (3.0, "barely audible, not understood", "heard as a murmur, not understood"),
    ],
)
def test_talk_by_how_far_its_syllables_stand_out(at_db, below, above):
    for offset, word in ((-A_HAIR, below), (0.0, below), (A_HAIR, above)):
        assert words_for(excess(-40.0, at_db - SYLLABLES_DB + offset), 0.01) == word


@pytest.mark.parametrize("background", [*BACKGROUND_DBA, 40.0])
@pytest.mark.parametrize("slope_db", [-1.2, 0.0, 1.2, 2.4])
@pytest.mark.parametrize("key", [key for key in SOURCES if SOURCES[key].speech])
def test_talk_called_not_audible_is_below_confidential_privacy(key, slope_db, background):
    # ASTM E1130 (from memory): an index up to 0.05 is confidential. Walls of any usual slope per third of an octave.
    for difference in np.arange(10.0, 90.0, 1.0):
        curve = np.clip(difference + slope_db * (np.arange(21) - 10), -50.0, 200.0)
        told = audible(curve, background_dba=background, sources=(key,))[0]
        assert told.words != "not audible" or told.intelligibility <= 0.05


@pytest.mark.parametrize(
    ("at", "below", "above"),
    # 0.05 and 0.20: confidential and normal privacy (ASTM E1130, from memory). 0.45: upper end of poor communication
    # (ANSI S3.5-1997, from memory).
    [
        (0.05, "heard as a murmur, not understood", "a word here and there understood"),
        (0.20, "a word here and there understood", "partly understood"),
        (0.45, "partly understood", "understood"),
    ],
)
def test_talk_by_how_much_is_understood(at, below, above):
    for offset, word in ((-A_HAIR, below), (0.0, below), (A_HAIR, above)):
        assert words_for(excess(-40.0, 12.0), at + offset) == word


def test_talk_that_barely_stands_out_but_is_understood_is_not_called_barely_audible():
    assert words_for(excess(-40.0, 2.0 - SYLLABLES_DB), 0.05) == "barely audible, not understood"
    assert words_for(excess(-40.0, 2.0 - SYLLABLES_DB), 0.05 + A_HAIR) == "a word here and there understood"


@pytest.mark.parametrize(
    ("at_db", "below", "above"),
    [
        (0.0, "not audible", "barely audible"),
        (5.0, "barely audible", "audible"),
        (15.0, "audible", "clearly audible"),
    ],
)
def test_other_noises_by_how_far_they_stand_out(at_db, below, above):
    for offset, word in ((-A_HAIR, below), (0.0, below), (A_HAIR, above)):
        assert words_for(excess(-40.0, at_db + offset), None) == word


@pytest.mark.parametrize("low", ["bass", "thud"])
@pytest.mark.parametrize(
    ("at_db", "below", "above"), [(0.0, "not audible", None), (5.0, None, "only the {} is audible")]
)
def test_bass_alone_by_how_far_it_stands_out(low, at_db, below, above):
    barely = f"the {low} is barely audible"
    below, above = below or barely, above.format(low) if above else barely
    for offset, word in ((-A_HAIR, below), (0.0, below), (A_HAIR, above)):
        assert words_for(excess(at_db + offset, -40.0), None, low) == word


def test_bass_alone_ends_where_a_band_above_it_is_heard():
    for offset, word in (
        (-A_HAIR, "only the bass is audible"),
        (0.0, "only the bass is audible"),
        (A_HAIR, "audible"),
    ):
        assert words_for(excess(10.0, 0.0 + offset), None) == word


@pytest.mark.parametrize(("band", "word"), [(5, "only the bass is audible"), (6, "audible")])
def test_bass_ends_between_160_and_200_hz(band, word):
    bands = np.full(21, -40.0)
    bands[band] = 10.0
    assert words_for(bands, None) == word


def test_a_band_is_heard_above_the_higher_of_its_two_thresholds():
    # In a loud background the masked threshold counts (Zwicker and Fastl), in none the threshold of hearing (ISO 389-7).
    for background in (np.full(21, 60.0), np.full(21, -90.0)):
        threshold = np.maximum(background + MASKING_INDEX_DB, HEARING_THRESHOLD_DB)
        for offset, word in ((-A_HAIR, "not audible"), (A_HAIR, "barely audible")):
            levels = np.full(21, -90.0)
            levels[10] = threshold[10] + offset
            assert words_for(excess_by_band_db(levels, background), None) == word


@pytest.mark.parametrize("background", ["night", "evening", "day", 20.0, 45.0])
@pytest.mark.parametrize("key", SOURCES)
def test_a_better_wall_never_sounds_worse_in_words(key, background):
    order = TALK if SOURCES[key].speech else OTHER
    told = [
        audible([float(d)] * 21, background_dba=background, sources=(key,))[0].words for d in np.arange(0.0, 110.0, 0.5)
    ]
    places = [order.index(word) for word in told]
    assert all(a >= b for a, b in itertools.pairwise(places)), told
    assert told[0] in ("understood", "clearly audible")
    assert told[-1] == "not audible"


def test_the_words_change_where_the_figures_cross_the_boundary():
    # The whole way from a level difference to the word, found by halving: on each side of the step the index or the
    # excess lies on its own side of the boundary.
    for key, at_index, words in (
        ("speech_raised", 0.45, ("understood", "partly understood")),
        ("speech_raised", 0.20, ("partly understood", "a word here and there understood")),
        ("speech_raised", 0.05, ("a word here and there understood", "heard as a murmur, not understood")),
    ):
        low, high = 0.0, 100.0
        for _ in range(50):
            middle = (low + high) / 2
            if audible([middle] * 21, background_dba="night", sources=(key,))[0].intelligibility > at_index:
                low = middle
            else:
                high = middle
        told = [audible([d] * 21, background_dba="night", sources=(key,))[0] for d in (low - 1e-6, high + 1e-6)]
        assert tuple(t.words for t in told) == words
        assert told[0].intelligibility > at_index >= told[1].intelligibility


@pytest.mark.parametrize(
    ("at_db", "below", "above"),
    # Ten decibels less are half as loud (Stevens 1955; ISO 532-1: a sone doubles every 10 phon): 10 dB lies in the
    # middle of "half", 15.8 dB (a third) and 20 dB (a quarter) in theirs.
    [
        (3.0, "about as loud as now", "a little quieter than now"),
        (7.0, "a little quieter than now", "about half as loud as now"),
        (13.0, "about half as loud as now", "about a third as loud as now"),
        (17.0, "about a third as loud as now", "about a quarter as loud as now"),
        (25.0, "about a quarter as loud as now", "far quieter than now"),
    ],
)
def test_how_much_quieter(at_db, below, above):
    for offset, word in ((-A_HAIR, below), (0.0, below), (A_HAIR, above)):
        assert loudness_words(at_db + offset) == word


@pytest.mark.parametrize(
    ("share", "word"),
    [(2, "about half as loud as now"), (3, "about a third as loud as now"), (4, "about a quarter as loud as now")],
)
def test_a_share_of_the_loudness_is_called_by_its_name(share, word):
    assert loudness_words(10.0 * np.log2(share)) == word


def test_intelligibility_of_the_words_is_that_of_the_levels():
    told = audible([40.0] * 21, background_dba=25.0, sources=("speech_loud",))[0]
    levels = np.array(SOURCES["speech_loud"].levels_db) - 40.0
    assert told.intelligibility == pytest.approx(speech_intelligibility_index(levels, background_levels_db(25.0)))
    assert told.level_dba == pytest.approx(float(a_weighted_db(levels)))


@pytest.mark.parametrize("key", SOURCES)
def test_the_worse_end_is_the_same_wall_less_its_uncertainty(key):
    for difference in (35.0, 48.0, 61.0):
        told = audible([difference] * 21, uncertainty_db=4.0, sources=(key,))[0]
        assert told.words_if_worse == audible([difference - 4.0] * 21, sources=(key,))[0].words


def test_a_quieter_room_hears_more():
    order = {word: n for n, word in enumerate(TALK)}
    loudness = sorted(BACKGROUND_DBA, key=BACKGROUND_DBA.get)
    told = [audible([47.0] * 21, background_dba=b, sources=("speech_raised",))[0] for b in loudness]
    assert loudness == ["night", "evening", "day"]
    assert [order[t.words] for t in told] == sorted((order[t.words] for t in told), reverse=True)


# Standardised impact level of a bare timber floor with a plaster ceiling, 50 to 5000 Hz: about the lightweight reference
# floor of ISO 717-2 with a ceiling (from memory, rounded).
TIMBER_FLOOR_DB = [72, 73, 74, 75, 75, 74, 73, 72, 71, 70, 69, 67, 65, 63, 61, 59, 57, 54, 50, 46, 42]


def test_footsteps_through_a_timber_floor_are_about_as_loud_as_people_measure():
    # Somebody walking on timber floors without much on them: 35 to 50 dB(A) below (common practice).
    told = audible_footsteps(TIMBER_FLOOR_DB)
    assert 35.0 < told.level_dba < 50.0
    assert told.words == "clearly audible"


def test_footsteps_are_the_machine_less_what_a_walker_is_weaker_by():
    levels = footstep_levels_db(TIMBER_FLOOR_DB, reverberation_s=1.0)
    np.testing.assert_allclose(levels, np.array(TIMBER_FLOOR_DB) + WALKER_RE_TAPPING_DB + 10 * np.log10(2.0))
    # Mean-square force of the machine in the band of 63 Hz: 3.9 N2 per Hz times 14.6 Hz, 17.6 dB re 1 N (five hammers of
    # 0.5 kg from 40 mm, ten a second, ISO 16283-2); a walker's is near 2 N, 6 dB (from memory).
    assert WALKER_RE_TAPPING_DB[1] == pytest.approx(6.0 - 17.6, abs=3.0)


def test_footsteps_of_which_the_thud_is_left():
    quiet = np.array(TIMBER_FLOOR_DB, float)
    quiet[4:] -= 45.0
    assert audible_footsteps(quiet).words == "only the thud is audible"
    assert audible_footsteps(np.array(TIMBER_FLOOR_DB) - 60.0).words == "not audible"


def test_footsteps_at_worst_count_the_floor_and_the_walker():
    worse_by = float(np.hypot(5.0, WALKER_UNCERTAINTY_DB))
    told = audible_footsteps(np.array(TIMBER_FLOOR_DB) - 30.0, uncertainty_db=5.0)
    assert told.words_if_worse == audible_footsteps(np.array(TIMBER_FLOOR_DB) - 30.0 + worse_by).words


def test_bad_input_of_footsteps():
    for values, field in (([60.0] * 20, "impact_db"), ([float("nan")] * 21, "impact_db[0]")):
        with pytest.raises(InputError) as caught:
            audible_footsteps(values)
        assert caught.value.field.startswith(field.partition("[")[0])
    with pytest.raises(InputError) as caught:
        audible_footsteps([60.0] * 21, background_dba="noon")
    assert caught.value.field == "background_dba"
