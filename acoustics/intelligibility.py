"""Speech intelligibility index by third octaves (ANSI S3.5-1997, method with masking)."""

from __future__ import annotations

import numpy as np

SPEECH_BANDS_HZ = np.array([160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000])  # fmt: skip
_BANDWIDTH_DB = np.array([15.65, 16.65, 17.65, 18.56, 19.65, 20.65, 21.65, 22.65, 23.65, 24.65, 25.65, 26.65, 27.65, 28.65, 29.65, 30.65, 31.65, 32.65])  # fmt: skip
IMPORTANCE = np.array([0.0083, 0.0095, 0.0150, 0.0289, 0.0440, 0.0578, 0.0653, 0.0711, 0.0818, 0.0844, 0.0882, 0.0898, 0.0868, 0.0844, 0.0771, 0.0527, 0.0364, 0.0185])  # fmt: skip
INTERNAL_NOISE_DB = np.array([0.6, -1.7, -3.9, -6.1, -8.2, -9.7, -10.8, -11.9, -12.5, -13.5, -15.4, -17.7, -21.2, -24.2, -25.9, -23.6, -15.8, -7.1])  # fmt: skip
NORMAL_SPEECH_DB = np.array([32.41, 34.48, 34.75, 33.98, 34.59, 34.27, 32.06, 28.30, 25.01, 23.00, 20.15, 17.32, 13.18, 11.55, 9.33, 5.31, 2.59, 1.13])  # fmt: skip
"""Spectrum levels of normal speech at 1 m, importance and internal noise: ANSI S3.5-1997, table 3 (from memory)."""


_IS_ABOVE = np.tri(len(SPEECH_BANDS_HZ), k=-1)
_UPWARDS = _IS_ABOVE * np.log10(0.89 * SPEECH_BANDS_HZ[:, None] / SPEECH_BANDS_HZ)


def _extended(levels_db: np.ndarray) -> np.ndarray:
    """The bands 160 to 8000 Hz of 21 third-octave levels; 6300 and 8000 Hz continue the last octave's slope."""
    levels = np.asarray(levels_db, float)
    slope = (levels[20] - levels[17]) / 3.0
    return np.concatenate([levels[5:], levels[20] + slope * np.array([1.0, 2.0])])


def spectrum_level_db(levels_db: np.ndarray) -> np.ndarray:
    """Spectrum levels (18,) in dB from 21 third-octave band levels 50 to 5000 Hz."""
    return _extended(levels_db) - _BANDWIDTH_DB


def speech_intelligibility_index(speech_db: np.ndarray, noise_db: np.ndarray) -> float:
    """Index between 0 (nothing understood) and 1, for normal hearing.

    `speech_db` and `noise_db` are third-octave band levels (21,) in dB at the listener.
    """
    speech, noise = spectrum_level_db(speech_db), spectrum_level_db(noise_db)
    masker = np.maximum(noise, speech - 24.0)
    slope = -80.0 + 0.6 * (masker + 10.0 * np.log10(SPEECH_BANDS_HZ) - 6.353)
    spread = masker + 3.32 * slope * _UPWARDS  # of each band (columns) into those above it (rows)
    masked = 10.0 ** (noise / 10.0) + np.sum(_IS_ABOVE * 10.0 ** (spread / 10.0), axis=1)
    disturbance = np.maximum(10.0 * np.log10(masked), INTERNAL_NOISE_DB)
    distortion = np.minimum(1.0 - (speech - NORMAL_SPEECH_DB - 10.0) / 160.0, 1.0)
    audible = np.clip((speech - disturbance + 15.0) / 30.0, 0.0, 1.0)
    return float(np.clip(np.sum(IMPORTANCE * distortion * audible), 0.0, 1.0))
