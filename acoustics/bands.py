"""Third-octave bands, air, weightings and named spectra."""

from __future__ import annotations

import numpy as np

from .errors import InputError, numbers

BANDS_HZ: tuple[int, ...] = (
    50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
    1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000,
)  # fmt: skip
"""Nominal third-octave band centres in Hz (IEC 61260-1, ISO 266)."""

OCTAVES_HZ: tuple[int, ...] = (63, 125, 250, 500, 1000, 2000, 4000)

EXACT_HZ: np.ndarray = 1000.0 * 10.0 ** (np.arange(-13, 8) / 10.0)
"""Exact base-ten band centres in Hz (IEC 61260-1)."""

AIR_DENSITY_KG_M3 = 1.205
SOUND_SPEED_M_S = 343.0
AIR_IMPEDANCE_PA_S_M = AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S
"""Air at 20 degrees C and 101.3 kPa (Hopkins, Sound Insulation, 2007, appendix A)."""

REFERENCE_REVERBERATION_S = 0.5
"""Reference reverberation time of dwellings (ISO 16283-1, ISO 10140)."""


A_WEIGHTING_DB: np.ndarray = np.array(
    [-30.2, -26.2, -22.5, -19.1, -16.1, -13.4, -10.9, -8.6, -6.6, -4.8, -3.2, -1.9, -0.8, 0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0, 0.5]
)  # fmt: skip
"""A-weighting of the 21 bands in dB (IEC 61672-1, table 3)."""

OCTAVE_A_WEIGHTING_DB: np.ndarray = A_WEIGHTING_DB[1::3]
"""A-weighting of the octaves 63 to 4000 Hz in dB."""


def level_sum_db(levels_db: np.ndarray, axis: int = -1) -> np.ndarray:
    """Energy sum of levels in dB along an axis."""
    levels = np.asarray(levels_db, float)
    return 10.0 * np.log10(np.sum(10.0 ** (levels / 10.0), axis=axis))


def a_weighted_db(levels_db: np.ndarray) -> np.ndarray:
    """A-weighted level in dB of 21 third-octave levels on the last axis."""
    return level_sum_db(np.asarray(levels_db, float) + A_WEIGHTING_DB)


def octaves_from_thirds_db(reduction_db: np.ndarray) -> np.ndarray:
    """Octave reductions 63 to 4000 Hz from 21 third-octave reductions in dB.

    The transmission factors are averaged: the three thirds are taken to carry equal source energy.
    """
    thirds = np.asarray(reduction_db, float)
    factors = 10.0 ** (-thirds.reshape(*thirds.shape[:-1], 7, 3) / 10.0)
    return -10.0 * np.log10(factors.mean(axis=-1))


def thirds_from_octaves_db(octave_levels_db: np.ndarray) -> np.ndarray:
    """Spread seven octave levels 63 to 4000 Hz over 21 thirds so that each octave keeps its energy.

    Within an octave the level follows the slope between the neighbouring octaves.
    """
    octaves = np.asarray(octave_levels_db, float)
    centres = np.arange(7) * 3 + 1
    shape = np.interp(np.arange(21), centres, octaves)
    blocks = shape.reshape(7, 3)
    return (blocks + (octaves - level_sum_db(blocks))[:, None]).ravel()


# Indoor sources as octave levels 63 to 4000 Hz in dB (Egan, Architectural Acoustics, noise table,
# as quoted in a secondary text). The programme below 125 Hz of present-day sets is higher than in
# these measurements of the 1980s, so "music" adds the bass of ISO 717-1 spectrum no. 2.
_SPEECH_RAISED_HZ_160_UP = (
    49.5,
    50.6,
    56.6,
    57.1,
    58.8,
    60.8,
    60.4,
    59.0,
    57.5,
    56.5,
    54.2,
    52.0,
    50.0,
    48.8,
    46.4,
    42.1,
)
_SPEECH_NORMAL_HZ_160_UP = (
    48.1,
    51.1,
    52.4,
    52.5,
    54.2,
    54.9,
    53.7,
    51.0,
    48.7,
    47.6,
    45.8,
    44.0,
    40.8,
    40.2,
    39.0,
    36.0,
)
_SPEECH_LOUD_HZ_160_UP = (
    50.9,
    54.4,
    59.2,
    62.3,
    63.0,
    65.5,
    67.2,
    66.7,
    65.8,
    65.2,
    63.4,
    61.0,
    58.6,
    56.9,
    55.1,
    49.0,
)
_BELOW_SPEECH = (20.0, 25.0, 30.0, 36.0, 43.0)
"""Speech has little energy below 160 Hz; ANSI S3.5 gives none, these are an extrapolation."""

SPEECH_NORMAL_DB: np.ndarray = np.array(_BELOW_SPEECH + _SPEECH_NORMAL_HZ_160_UP)
SPEECH_RAISED_DB: np.ndarray = np.array(_BELOW_SPEECH + _SPEECH_RAISED_HZ_160_UP)
SPEECH_LOUD_DB: np.ndarray = np.array(_BELOW_SPEECH + _SPEECH_LOUD_HZ_160_UP)
"""Third-octave levels in dB at 1 m (ANSI S3.5-1997, spectrum levels plus ten lg of the bandwidth)."""

TRAFFIC_A_WEIGHTED_DB: np.ndarray = np.array(
    [-25, -23, -21, -20, -20, -18, -16, -15, -14, -13, -12, -11, -9, -8, -9, -10, -11, -13, -15, -16, -18], float
)
"""ISO 717-1 spectrum no. 2, already A-weighted, in dB."""

TELEVISION_DB: np.ndarray = thirds_from_octaves_db(np.array([60.0, 62.0, 64.0, 67.0, 70.0, 68.0, 63.0]))
_BASS = TRAFFIC_A_WEIGHTED_DB - A_WEIGHTING_DB
MUSIC_BASS_DB: np.ndarray = _BASS - float(a_weighted_db(_BASS)) + 85.0
"""Loud music with bass: the spectrum no. 2 of ISO 717-1 at 85 dB(A) (level: common practice)."""

SPECTRA_DB: dict[str, np.ndarray] = {
    "pink": np.zeros(21),
    "traffic": TRAFFIC_A_WEIGHTED_DB - A_WEIGHTING_DB,
    "speech": SPEECH_RAISED_DB,
    "music": MUSIC_BASS_DB,
}
"""Unweighted source levels in dB by band; only the shape matters for shares and ratings."""


def spectrum_db(spectrum: object, field: str = "spectrum") -> np.ndarray:
    """Source levels in dB (21,) of a named spectrum or of 21 given levels."""
    if isinstance(spectrum, str):
        if spectrum not in SPECTRA_DB:
            raise InputError(field, f"unknown {spectrum!r}; use one of {', '.join(SPECTRA_DB)} or 21 levels in dB")
        return SPECTRA_DB[spectrum]
    levels = numbers(field, spectrum, -200.0, 250.0)
    if len(levels) != 21:
        raise InputError(field, f"must have 21 levels, has {len(levels)}")
    return np.array(levels)


def a_weighted_shares(spectrum: object) -> np.ndarray:
    """Share of each band (21,) in the A-weighted energy of a source spectrum; sums to one."""
    energy = 10.0 ** ((spectrum_db(spectrum) + A_WEIGHTING_DB) / 10.0)
    return energy / energy.sum()
