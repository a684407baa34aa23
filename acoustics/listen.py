"""Sound to listen to: a noise as it arrives in a room, its levels by band true to the prediction and to each other.

Every file has the same scale, FULL_SCALE_DB, so that before, after, next door and one noise beside another differ by
as much as they would in the house. Nothing sounds below 45 or above 5600 Hz, where nothing is predicted.
"""

from __future__ import annotations

import io
import wave
from collections.abc import Callable, Sequence
from functools import cache

import numpy as np

from .audibility import SOURCES
from .bands import BANDS_HZ, EXACT_HZ, SPEECH_NORMAL_DB
from .errors import InputError, numbers
from .synthesis import RATE_HZ, SECONDS, conversation, footsteps, music, programme

LISTEN_VERSION = 1
"""Raise it when the same levels would make another file."""

FULL_SCALE_DB = 105.0
"""Sound pressure level in dB of a signal whose root mean square is 1.0. Loud music with bass (95 dB unweighted) then
just fits; the hiss of 16 bits, 9 dB in all, stands nowhere more than 4 dB above the threshold of hearing."""

SILENT_DB = -20.0
"""Levels below this are left out; the threshold of hearing is nowhere under -4 dB."""

HISS_DB = (
    FULL_SCALE_DB - 20.0 * np.log10(2.0**16) + 10.0 * np.log10(EXACT_HZ * (10.0**0.05 - 10.0**-0.05) / (RATE_HZ / 2))
)
"""Levels (21,) in dB of the hiss of 16 bits with triangular dither: a quarter of the square of the least step, white."""

ROUNDS = 12
FADE_S = 0.012

MADE_BY: dict[str, Callable[[], np.ndarray]] = {
    "speech_normal": conversation,
    "speech_raised": lambda: conversation(seed=13, lift=1.15),
    "speech_loud": lambda: conversation(seed=17, lift=1.35),
    "television": programme,
    "music_bass": music,
    "footsteps": footsteps,
}

REFERENCE = "speech_normal"
"""The noise that the listener sets the level by: somebody talks at ordinary strength, a metre away."""


def reference_levels_db() -> np.ndarray:
    """Levels (21,) in dB of the reference: normal speech at 1 m (ANSI S3.5-1997)."""
    return SPEECH_NORMAL_DB


def source_levels_db(noise: str) -> np.ndarray:
    """Levels (21,) in dB in the room where the noise is made. Raises InputError for noises that have none."""
    if noise not in SOURCES:
        raise InputError("noise", f"unknown {noise!r}; use one of {', '.join(SOURCES)}")
    return np.array(SOURCES[noise].levels_db)


def wav(noise: str, levels_db: Sequence[float]) -> bytes:
    """A WAV file (16 bit, one channel, RATE_HZ) of the noise with band levels (21,) in dB at the listener's ear.

    Raises InputError for an unknown noise, for other than 21 levels, and for levels that the scale does not hold.
    """
    signal = heard(noise, levels_db)
    if np.min(levels_db) < HISS_DB.max() + 20.0:  # quiet bands: what the hiss brings need not be brought by the noise
        left = 10.0 ** (np.array(levels_db) / 10.0) - 10.0 ** (HISS_DB / 10.0)
        signal = heard(noise, 10.0 * np.log10(np.maximum(left, 1e-10)))
    samples = _quantised(_faded(signal))
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(samples.astype("<i2").tobytes())
    return out.getvalue()


def heard(noise: str, levels_db: Sequence[float]) -> np.ndarray:
    """Samples of the noise with the given band levels (21,), 1.0 standing for FULL_SCALE_DB. Raises as `wav` does."""
    if noise not in MADE_BY:
        raise InputError("noise", f"unknown {noise!r}; use one of {', '.join(MADE_BY)}")
    wanted = np.array(numbers("levels_db", levels_db, -200.0, 130.0))
    if len(wanted) != len(BANDS_HZ):
        raise InputError("levels_db", f"must have {len(BANDS_HZ)} levels, has {len(wanted)}")
    spectrum, frequency = _spectrum(noise)
    shaped = _shaped(spectrum, frequency, wanted)
    signal = np.fft.irfft(shaped, RATE_HZ * SECONDS)
    if np.abs(signal).max() > 1.0:
        raise InputError("levels_db", "are louder than the scale of the files holds")
    return signal


def band_levels_db(signal: np.ndarray) -> np.ndarray:
    """Mean levels (21,) in dB of samples on the scale of the files, by bands with the edges of IEC 61260-1."""
    spectrum = np.fft.rfft(signal)
    return _levels_db(np.abs(spectrum) ** 2, *_edges(len(signal)), len(signal))


@cache
def _spectrum(noise: str) -> tuple[np.ndarray, np.ndarray]:
    signal = MADE_BY[noise]()
    return np.fft.rfft(signal), np.fft.rfftfreq(len(signal), 1.0 / RATE_HZ)


@cache
def _edges(n: int) -> tuple[np.ndarray, np.ndarray]:
    """First and last bin of each band, edges a twentieth of a decade from its centre (IEC 61260-1, base ten)."""
    low, high = EXACT_HZ * 10.0**-0.05, EXACT_HZ * 10.0**0.05
    return np.ceil(low * n / RATE_HZ).astype(int), np.ceil(high * n / RATE_HZ).astype(int)


def _levels_db(power: np.ndarray, first: np.ndarray, last: np.ndarray, n: int) -> np.ndarray:
    total = np.concatenate([[0.0], np.cumsum(power)])
    mean_square = 2.0 * (total[last] - total[first]) / n**2
    return 10.0 * np.log10(np.maximum(mean_square, 1e-30)) + FULL_SCALE_DB


def _shaped(spectrum: np.ndarray, frequency: np.ndarray, wanted_db: np.ndarray) -> np.ndarray:
    """The spectrum under a gain that runs smoothly over log frequency and gives each band its wanted level."""
    n = RATE_HZ * SECONDS
    first, last = _edges(n)
    place = np.log10(np.maximum(frequency, 1.0))
    centres = np.log10(EXACT_HZ)
    inside = slice(first[0], last[-1])
    power = np.abs(spectrum) ** 2
    wanted_db = np.maximum(wanted_db, SILENT_DB)
    gain_db = wanted_db - _levels_db(power, first, last, n)
    for _ in range(ROUNDS):
        by_bin = np.zeros(len(frequency))
        by_bin[inside] = 10.0 ** (np.interp(place[inside], centres, gain_db) / 10.0)
        gain_db += wanted_db - _levels_db(power * by_bin, first, last, n)
    return spectrum * np.sqrt(by_bin)


def _faded(signal: np.ndarray) -> np.ndarray:
    """Without a click where it starts and ends."""
    n = int(FADE_S * RATE_HZ)
    edge = 0.5 - 0.5 * np.cos(np.pi * np.arange(n) / n)
    out = signal.copy()
    out[:n] *= edge
    out[-n:] *= edge[::-1]
    return out


def _quantised(signal: np.ndarray) -> np.ndarray:
    """Whole numbers of 16 bits, with triangular dither: the rounding sounds as an even hiss below hearing."""
    rng = np.random.default_rng(5)
    dither = rng.random(len(signal)) - rng.random(len(signal))
    return np.clip(np.round(signal * 32767.0 + dither), -32768, 32767).astype(np.int16)
