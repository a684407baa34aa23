"""The files to listen to: their levels by band against what was asked for, and their levels to each other."""

import io
import wave

import numpy as np
import pytest

from acoustics import InputError
from acoustics.audibility import HEARING_THRESHOLD_DB, SOURCES, received_db
from acoustics.bands import EXACT_HZ, a_weighted_db, level_sum_db
from acoustics.listen import (
    FULL_SCALE_DB,
    MADE_BY,
    REFERENCE,
    band_levels_db,
    heard,
    reference_levels_db,
    source_levels_db,
    wav,
)
from acoustics.synthesis import RATE_HZ, SECONDS

# A thin partition and the same with a lining, as predictions look: standardised level differences, 50 to 5000 Hz.
THIN_DB = np.array([18, 19, 19, 20, 21, 22, 24, 26, 28, 30, 32, 34, 36, 38, 40, 41, 41, 39, 37, 39, 42], float)
LINED_DB = THIN_DB + np.array([-3, -4, -2, 1, 4, 7, 9, 11, 12, 13, 14, 14, 14, 13, 12, 11, 10, 9, 8, 7, 6])
FLOOR_DB = np.array([72, 73, 74, 75, 75, 74, 73, 72, 71, 70, 69, 67, 65, 63, 61, 59, 57, 54, 50, 46, 42], float) - 15

CASES = [
    pytest.param(noise, received_db(source_levels_db(noise), difference), id=f"{noise}-{name}")
    for noise in SOURCES
    for name, difference in (("before", THIN_DB), ("after", LINED_DB), ("next-door", np.zeros(21)))
] + [pytest.param("footsteps", FLOOR_DB - np.linspace(10, 56, 21), id="footsteps-before")]


def samples(file: bytes) -> np.ndarray:
    """Samples of a WAV file, 1.0 standing for the full scale; also checks its form."""
    with wave.open(io.BytesIO(file)) as opened:
        assert (opened.getnchannels(), opened.getsampwidth(), opened.getframerate()) == (1, 2, RATE_HZ)
        assert opened.getnframes() == RATE_HZ * SECONDS
        return np.frombuffer(opened.readframes(opened.getnframes()), "<i2") / 32767.0


def filtered_levels_db(signal: np.ndarray) -> np.ndarray:
    """Levels by band-pass filters with the power response of a third-order Butterworth filter, the usual way to meet
    class 1 of IEC 61260-1: 1 / (1 + (Q (f / fm - fm / f))^6), 3 dB down at the edges of the band."""
    power = 2.0 * np.abs(np.fft.rfft(signal))[1:] ** 2 / len(signal) ** 2
    frequency = np.fft.rfftfreq(len(signal), 1.0 / RATE_HZ)[1:]
    quality = 1.0 / (10.0**0.05 - 10.0**-0.05)
    ratio = frequency[None, :] / EXACT_HZ[:, None]
    response = 1.0 / (1.0 + (quality * (ratio - 1.0 / ratio)) ** 6)
    return 10.0 * np.log10(response @ power) + FULL_SCALE_DB


@pytest.mark.parametrize(("noise", "levels"), CASES)
def test_the_file_has_the_predicted_level_in_each_band_that_can_be_heard(noise, levels):
    signal = samples(wav(noise, levels))
    loud = levels > HEARING_THRESHOLD_DB + 4.0
    assert loud.any()
    np.testing.assert_allclose(band_levels_db(signal)[loud], levels[loud], atol=0.6)


@pytest.mark.parametrize(("noise", "levels"), CASES)
def test_third_octave_filters_say_the_same(noise, levels):
    # Within 1 dB wherever the band is not lost in what much louder neighbours leak through the filter's skirts.
    signal = samples(wav(noise, levels))
    neighbours = np.maximum(np.roll(levels, 1), np.roll(levels, -1))
    loud = (levels > HEARING_THRESHOLD_DB + 5.0) & (levels > neighbours - 3.0)
    loud[[0, -1]] = False  # the files end where the outermost bands do, real filters a little further out
    assert loud.any()
    np.testing.assert_allclose(filtered_levels_db(signal)[loud], levels[loud], atol=1.0)


def test_before_and_after_differ_by_what_is_predicted():
    for noise in SOURCES:
        source = source_levels_db(noise)
        before, after = (samples(wav(noise, received_db(source, d))) for d in (THIN_DB, LINED_DB))
        difference = band_levels_db(before) - band_levels_db(after)
        heard_in_both = received_db(source, LINED_DB) > HEARING_THRESHOLD_DB + 6.0
        np.testing.assert_allclose(difference[heard_in_both], (LINED_DB - THIN_DB)[heard_in_both], atol=1.0)


def test_noises_keep_their_levels_to_each_other():
    # Talk 59 dB(A) (ANSI S3.5, computed), television 66 and music 85 dB(A) (common practice): in the files as well.
    told = {
        noise: float(a_weighted_db(band_levels_db(samples(wav(noise, source_levels_db(noise)))))) for noise in SOURCES
    }
    assert told["speech_normal"] == pytest.approx(59.2, abs=0.3)
    assert told["television"] == pytest.approx(66.0, abs=0.3)
    assert told["music_bass"] == pytest.approx(85.0, abs=0.3)


def test_the_reference_is_talk_a_metre_away():
    # ANSI S3.5-1997: normal speech at 1 m has 62.35 dB overall from 160 to 8000 Hz; below 5000 Hz it misses little.
    signal = samples(wav(REFERENCE, reference_levels_db()))
    assert level_sum_db(band_levels_db(signal)) == pytest.approx(62.35, abs=0.3)


@pytest.mark.parametrize("noise", SOURCES)
def test_the_noise_next_door_fits_the_scale(noise):
    assert np.abs(samples(wav(noise, source_levels_db(noise)))).max() < 1.0


def test_what_is_louder_than_the_scale_is_refused_and_not_cut_off():
    with pytest.raises(InputError, match="louder than the scale"):
        heard("music_bass", source_levels_db("music_bass") + 3.0)


def test_nothing_sounds_where_nothing_is_predicted():
    signal = heard("music_bass", source_levels_db("music_bass"))
    power = np.abs(np.fft.rfft(signal)) ** 2
    frequency = np.fft.rfftfreq(len(signal), 1.0 / RATE_HZ)
    outside = (frequency < 44.6) | (frequency > 5624.0)
    assert power[outside].sum() < 1e-12 * power.sum()


def test_silence_is_left_with_a_hiss_that_nobody_hears():
    hiss = band_levels_db(samples(wav("television", np.full(21, -90.0))))
    assert level_sum_db(hiss) < 10.0
    assert (hiss - HEARING_THRESHOLD_DB).max() < 4.0


@pytest.mark.parametrize("noise", MADE_BY)
def test_the_same_on_every_run_and_not_twice_the_same_noise(noise):
    levels = np.linspace(50.0, 20.0, 21)
    assert wav(noise, levels) == wav(noise, levels)
    others = [heard(other, levels) for other in MADE_BY if other != noise]
    assert all(abs(np.corrcoef(heard(noise, levels), other)[0, 1]) < 0.5 for other in others)


def test_it_runs_round_without_a_click():
    for noise in MADE_BY:
        signal = heard(noise, np.full(21, 50.0))
        steps = np.abs(np.diff(signal))
        assert abs(signal[0] - signal[-1]) <= steps.max()


# Talk swells and falls four to five times a second, with its syllables: the modulation of running speech has its
# greatest part near 4 Hz (Houtgast and Steeneken 1985, from memory).
def test_talk_has_the_rhythm_of_syllables():
    envelope = np.abs(heard("speech_normal", reference_levels_db())).reshape(-1, 160).mean(axis=1)
    power = np.abs(np.fft.rfft(envelope - envelope.mean())) ** 2
    frequency = np.fft.rfftfreq(len(envelope), 160 / RATE_HZ)
    octaves = [power[(frequency >= c / 2**0.5) & (frequency < c * 2**0.5)].sum() for c in (1.0, 2.0, 4.0, 8.0, 16.0)]
    assert int(np.argmax(octaves)) == 2


def test_music_has_a_beat_twice_a_second():
    levels = np.full(21, -90.0)
    levels[:3] = 80.0
    envelope = np.abs(heard("music_bass", levels)).reshape(-1, 160).mean(axis=1)
    envelope -= envelope.mean()
    alike = {lag: float(np.roll(envelope, round(lag * 100)) @ envelope) for lag in (0.4, 0.5, 0.6)}
    assert max(alike, key=alike.get) == 0.5


def test_fifteen_steps_in_eight_seconds():
    envelope = np.abs(heard("footsteps", FLOOR_DB - np.linspace(10, 56, 21))).reshape(-1, 160).mean(axis=1)
    power = np.abs(np.fft.rfft(envelope - envelope.mean()))
    frequency = np.fft.rfftfreq(len(envelope), 160 / RATE_HZ)
    assert frequency[1 + int(np.argmax(power[1:60]))] == pytest.approx(15 / 8, abs=0.13)


def test_bad_input():
    for noise, levels, field in (
        ("harp", [40.0] * 21, "noise"),
        ("television", [40.0] * 20, "levels_db"),
        ("television", [float("nan")] * 21, "levels_db"),
    ):
        with pytest.raises(InputError) as caught:
            wav(noise, levels)
        assert caught.value.field.startswith(field)
    with pytest.raises(InputError):
        source_levels_db("footsteps")
