"""Levels, masking and intelligibility."""

import itertools

import numpy as np
import pytest

from acoustics import InputError
from acoustics.audibility import NOISE_RATING_A_DB, NOISE_RATING_B, SOURCES, audible, background_levels_db, received_db
from acoustics.bands import (
    OCTAVE_A_WEIGHTING_DB,
    SPEECH_LOUD_DB,
    SPEECH_NORMAL_DB,
    SPEECH_RAISED_DB,
    a_weighted_db,
    level_sum_db,
)
from acoustics.intelligibility import IMPORTANCE, speech_intelligibility_index

QUIET = np.full(21, -60.0)


@pytest.mark.parametrize(
    ("levels", "overall", "a_level"),
    # ANSI S3.5-1997: overall 62.35, 68.34 and 74.85 dB over 160 to 8000 Hz; A-levels computed apart.
    [(SPEECH_NORMAL_DB, 62.35, 59.2), (SPEECH_RAISED_DB, 68.34, 66.4), (SPEECH_LOUD_DB, 74.85, 73.9)],
)
def test_speech_levels(levels, overall, a_level):
    assert level_sum_db(levels) == pytest.approx(overall, abs=0.15)
    assert a_weighted_db(levels) == pytest.approx(a_level, abs=0.15)


@pytest.mark.parametrize(
    ("octaves", "a_level"),
    # Egan, Architectural Acoustics, noise table: television 74 dB(A), stereo 86 and 75 dB(A); 8 kHz left out.
    [([49, 62, 64, 67, 70, 68, 63], 74), ([60, 72, 83, 82, 82, 80, 75], 86), ([56, 66, 75, 72, 70, 66, 64], 75)],
)
def test_a_weighting_of_published_sources(octaves, a_level):
    assert level_sum_db(np.array(octaves) + OCTAVE_A_WEIGHTING_DB) == pytest.approx(a_level, abs=1.0)


def test_received_level():
    # L2 = L1 - D_nT at T = 0.5 s; doubling T adds 3 dB.
    source, difference = np.full(21, 70.0), np.full(21, 48.0)
    assert received_db(source, difference)[0] == pytest.approx(22.0)
    assert received_db(source, difference, 1.0)[0] == pytest.approx(25.01, abs=0.01)


def test_background_has_the_level_it_says():
    for level in (15.0, 25.0, 40.0):
        assert a_weighted_db(background_levels_db(level)) == pytest.approx(level, abs=1e-6)


def test_noise_rating_curves():
    # Noise rating curves NR 20 and 40, octaves 63 to 4000 Hz (ISO/R 1996:1971 coefficients, printed table).
    for nr, printed in [(20, [51.3, 39.4, 30.6, 24.3, 20, 16.8, 14.4]), (40, [67.1, 56.8, 49.2, 43.8, 40, 37.1, 34.9])]:
        np.testing.assert_allclose(NOISE_RATING_A_DB + NOISE_RATING_B * nr, printed, atol=0.06)


def test_importance_sums_to_one():
    assert IMPORTANCE.sum() == pytest.approx(1.0, abs=1e-9)


def test_limits_of_the_index():
    # ANSI S3.5: near one for normal speech in quiet; nothing once noise lies 15 dB above speech in every band.
    assert speech_intelligibility_index(SPEECH_NORMAL_DB, QUIET) > 0.98
    assert speech_intelligibility_index(SPEECH_NORMAL_DB, SPEECH_NORMAL_DB + 16.0) == 0.0
    # Equal speech and noise: (0 + 15) / 30 in every band, a little less for masking from below.
    assert 0.40 < speech_intelligibility_index(SPEECH_NORMAL_DB, SPEECH_NORMAL_DB) <= 0.5


def test_the_index_falls_with_every_decibel_of_wall():
    values = [speech_intelligibility_index(SPEECH_RAISED_DB - d, background_levels_db(25.0)) for d in range(0, 70, 5)]
    assert all(a >= b for a, b in itertools.pairwise(values))
    assert values[0] > 0.9
    assert values[-1] == 0.0


def test_words_follow_the_wall():
    thin = {a.key: a for a in audible([35.0] * 21, background_dba="night")}
    thick = {a.key: a for a in audible([80.0] * 21, background_dba="night")}
    assert thin["speech_raised"].words == "understood"
    assert thin["music_bass"].words == "clearly audible"
    assert {a.words for a in thick.values()} == {"not audible"}
    assert set(thin) == set(SOURCES)


def test_bass_alone_is_told_apart():
    difference = [40.0] * 6 + [95.0] * 15
    music = next(a for a in audible(difference, background_dba=25.0) if a.key == "music_bass")
    assert "bass" in music.words


def test_worse_is_never_better():
    for a in audible([52.0] * 21, background_dba=22.0, uncertainty_db=5.0):
        order = ["not audible", "barely audible", "audible", "clearly audible"]
        if a.intelligibility is None and a.words in order and a.words_if_worse in order:
            assert order.index(a.words_if_worse) >= order.index(a.words)


def test_bad_input():
    with pytest.raises(InputError) as caught:
        audible([50.0] * 20)
    assert caught.value.field == "standardized_db"
    with pytest.raises(InputError) as caught:
        audible([50.0] * 21, background_dba="noon")
    assert caught.value.field == "background_dba"
