"""What will be heard of each noise, in plain words, at a room's background."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .bands import (
    MUSIC_BASS_DB,
    REFERENCE_REVERBERATION_S,
    SPEECH_LOUD_DB,
    SPEECH_NORMAL_DB,
    SPEECH_RAISED_DB,
    TELEVISION_DB,
    a_weighted_db,
    thirds_from_octaves_db,
)
from .errors import InputError, between, numbers
from .intelligibility import speech_intelligibility_index

HEARING_THRESHOLD_DB = np.array([44.0, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.4, 5.8, 3.8, 2.1, 1.0, 0.8, 1.9, 0.5, -1.5, -3.1, -4.0, -3.8, -1.8])  # fmt: skip
"""Threshold of hearing in a diffuse field, 50 to 5000 Hz (ISO 389-7, from memory)."""

MASKING_INDEX_DB = np.interp(np.arange(21), [0, 10, 20], [-2.0, -2.5, -5.0])
"""Masked threshold relative to the level of the masking noise in the same band: -2 dB low, -5 to -6 dB high
(Zwicker and Fastl, Psychoacoustics, masking by broad-band noise, from memory)."""

BACKGROUND_DBA: dict[str, float] = {"night": 20.0, "evening": 27.0, "day": 33.0}
"""A-weighted background in a quiet home (common practice; BS 8233:2014 guides to at most 30 by night, 35 by day)."""

TELEVISION_DBA = 66.0
"""Level in the source room (common practice)."""

WALKER_RE_TAPPING_DB = np.interp(
    np.arange(21), [0, 1, 4, 7, 10, 13, 20], [-10.0, -11.0, -22.0, -30.0, -36.0, -42.0, -56.0]
)
"""Level of somebody walking in indoor shoes less that of the tapping machine on the same floor. The force of the
machine follows from its hammers (3.9 N2 per Hz); that of a walker, from measured third octaves of force, is near 2 N at
63 Hz and falls by some 10 dB an octave (from memory; it differs by 5 dB and more with weight, gait and sole)."""

WALKER_UNCERTAINTY_DB = 5.0

# Noise rating curves: L = A + B NR for octaves 63 to 4000 Hz (ISO/R 1996:1971 coefficients, secondary source).
NOISE_RATING_A_DB = np.array([35.5, 22.0, 12.0, 4.8, 0.0, -3.5, -6.1])
NOISE_RATING_B = np.array([0.790, 0.870, 0.930, 0.974, 1.0, 1.015, 1.025])


@dataclass(frozen=True, kw_only=True)
class Source:
    """A noise next door: mean levels (21,) in dB in the source room; `speech` marks talking."""

    key: str
    label: str
    levels_db: tuple[float, ...]
    speech: bool = False


def _source(key: str, label: str, levels_db: np.ndarray, speech: bool = False) -> Source:
    return Source(key=key, label=label, levels_db=tuple(levels_db.tolist()), speech=speech)


SOURCES: dict[str, Source] = {
    s.key: s
    for s in (
        _source("speech_normal", "Talking normally", SPEECH_NORMAL_DB, True),
        _source("speech_raised", "Talking with raised voices", SPEECH_RAISED_DB, True),
        _source("speech_loud", "Shouting or arguing", SPEECH_LOUD_DB, True),
        _source("television", "Television", TELEVISION_DB + TELEVISION_DBA - float(a_weighted_db(TELEVISION_DB))),
        _source("music_bass", "Loud music with bass", MUSIC_BASS_DB),
    )
}
"""Named noises. The level at 1 m is taken as the mean level of the source room (common practice)."""


@dataclass(frozen=True, kw_only=True)
class Audible:
    """What is left of a noise in the room.

    `excess_db` is the most by which the mean level of any band stands above its masked threshold (negative: below it
    everywhere).
    `intelligibility` is the speech intelligibility index, None for other noises. `words` is for the expected
    result, `words_if_worse` for one worse by the uncertainty.
    """

    key: str
    label: str
    level_dba: float
    excess_db: float
    intelligibility: float | None
    words: str
    words_if_worse: str


def background_levels_db(level_dba: float) -> np.ndarray:
    """Background (21,) in dB of a given A-weighted level, shaped like the noise rating curve of that level."""
    level = between("background_dba", level_dba, 0.0, 90.0)
    shapes = [thirds_from_octaves_db(NOISE_RATING_A_DB + NOISE_RATING_B * nr) for nr in (0.0, 40.0)]
    low, high = (float(a_weighted_db(s)) for s in shapes)
    weight = (level - low) / (high - low)
    shape = shapes[0] + weight * (shapes[1] - shapes[0])
    return shape + level - float(a_weighted_db(shape))


def received_db(
    source_db: Sequence[float], standardized_db: Sequence[float], reverberation_s: float = REFERENCE_REVERBERATION_S
) -> np.ndarray:
    """Level (21,) in dB in the receiving room: L2 = L1 - D_nT + 10 lg(T / 0.5 s) (ISO 16283-1)."""
    time = between("reverberation_s", reverberation_s, 0.05, 20.0)
    return (
        np.asarray(source_db, float)
        - np.asarray(standardized_db, float)
        + 10.0 * np.log10(time / REFERENCE_REVERBERATION_S)
    )


def excess_by_band_db(levels_db: np.ndarray, background_db: np.ndarray) -> np.ndarray:
    """How far each band (21,) stands above the higher of masked threshold and threshold in quiet."""
    threshold = np.maximum(background_db + MASKING_INDEX_DB, HEARING_THRESHOLD_DB)
    return np.asarray(levels_db, float) - threshold


# Speech privacy after ASTM E1130 (from memory): index up to 0.05 confidential, up to 0.20 normal privacy. From 0.45
# talk is followed well (ANSI S3.5 calls 0.45 the end of poor and 0.75 the beginning of good communication).
UNDERSTOOD = (
    (0.05, "heard as a murmur, not understood"),
    (0.20, "a word here and there understood"),
    (0.45, "partly understood"),
)
NO_SOUND_DB, MURMUR_DB, BARELY_DB, CLEARLY_DB = 0.0, 3.0, 5.0, 15.0
"""Most by which a band, or the loud syllables in it, stand above the masked threshold, where one word ends and the next begins (our judgement)."""

SYLLABLES_DB = 8.0
"""What loud syllables stand above the mean level of talk in a band: talk is heard before its mean is. Speech peaks are
12 to 15 dB up (ANSI S3.5-1997 counts 15); 8 dB is judged to be heard often enough, and keeps all that is called not
audible below an index of 0.05."""

FIRST_BAND_ABOVE_BASS = 6
"""200 Hz: below it people speak of bass or of a thud."""


def words_for(excess_db: np.ndarray, index: float | None, low: str = "bass") -> str:
    """What is heard, by rule, each boundary counting to the lesser word.

    `excess_db` (21,) is how far each band stands above its threshold, `index` the speech intelligibility index (None
    for what is not talk), `low` what people call a noise of which nothing but the bands under 200 Hz is left.
    """
    most = float(np.max(excess_db)) + (0.0 if index is None else SYLLABLES_DB)
    if most <= NO_SOUND_DB:
        return "not audible"
    if index is not None:
        if most <= MURMUR_DB and index <= UNDERSTOOD[0][0]:
            return "barely audible, not understood"
        return next((words for limit, words in UNDERSTOOD if index <= limit), "understood")
    if np.max(excess_db[FIRST_BAND_ABOVE_BASS:]) <= NO_SOUND_DB:
        return f"only the {low} is audible" if most > BARELY_DB else f"the {low} is barely audible"
    if most <= BARELY_DB:
        return "barely audible"
    return "audible" if most <= CLEARLY_DB else "clearly audible"


LOUDER_WORDS = (
    (3.0, "about as loud as now"),
    (7.0, "a little quieter than now"),
    (13.0, "about half as loud as now"),
    (17.0, "about a third as loud as now"),
    (25.0, "about a quarter as loud as now"),
)
"""By how many dB less (A-weighted) arrives: ten decibels less are heard as half as loud (Stevens 1955; the sone of
ISO 532-1 doubles every 10 phon), so 15 dB as a third and 20 dB as a quarter; 3 dB are just told apart."""


def loudness_words(less_db: float) -> str:
    """How loud a noise is that has become `less_db` quieter, each boundary counting to the lesser change."""
    return next((words for limit, words in LOUDER_WORDS if less_db <= limit), "far quieter than now")


def _heard(
    source: Source, standardized_db: np.ndarray, reverberation_s: float, background_db: np.ndarray
) -> tuple[np.ndarray, np.ndarray, float | None]:
    levels = received_db(source.levels_db, standardized_db, reverberation_s)
    index = speech_intelligibility_index(levels, background_db) if source.speech else None
    return levels, excess_by_band_db(levels, background_db), index


def audible(
    standardized_db: Sequence[float],
    *,
    background_dba: float | str = "evening",
    reverberation_s: float = REFERENCE_REVERBERATION_S,
    uncertainty_db: float = 0.0,
    sources: Sequence[str] = tuple(SOURCES),
) -> tuple[Audible, ...]:
    """Judge each named noise through a standardised level difference (21,) against the room's background.

    `background_dba` is night, evening, day or a level in dB(A). Speech is judged by the speech intelligibility
    index, everything by its masked threshold. Words are estimates for listeners of normal hearing.
    """
    difference = np.array(numbers("standardized_db", standardized_db, -50.0, 200.0))
    if len(difference) != 21:
        raise InputError("standardized_db", f"must have 21 values from 50 to 5000 Hz, has {len(difference)}")
    background = _background(background_dba)
    worse_by = between("uncertainty_db", uncertainty_db, 0.0, 30.0)
    found = []
    for key in sources:
        if key not in SOURCES:
            raise InputError("sources", f"unknown {key!r}; use {', '.join(SOURCES)}")
        source = SOURCES[key]
        levels, excess, index = _heard(source, difference, reverberation_s, background)
        _, worse, worse_index = _heard(source, difference - worse_by, reverberation_s, background)
        found.append(
            Audible(
                key=key,
                label=source.label,
                level_dba=float(a_weighted_db(levels)),
                excess_db=float(excess.max()),
                intelligibility=index,
                words=words_for(excess, index),
                words_if_worse=words_for(worse, worse_index),
            )
        )
    return tuple(found)


def footstep_levels_db(impact_db: Sequence[float], reverberation_s: float = REFERENCE_REVERBERATION_S) -> np.ndarray:
    """Level (21,) in dB of somebody walking above, from the standardised impact level L'_nT (21,) of the floor."""
    levels = np.array(numbers("impact_db", impact_db, -100.0, 150.0))
    if len(levels) != 21:
        raise InputError("impact_db", f"must have 21 values from 50 to 5000 Hz, has {len(levels)}")
    time = between("reverberation_s", reverberation_s, 0.05, 20.0)
    return levels + WALKER_RE_TAPPING_DB + 10.0 * np.log10(time / REFERENCE_REVERBERATION_S)


def audible_footsteps(
    impact_db: Sequence[float],
    *,
    background_dba: float | str = "evening",
    reverberation_s: float = REFERENCE_REVERBERATION_S,
    uncertainty_db: float = 0.0,
) -> Audible:
    """Judge the steps of somebody walking above by the floor's L'_nT (21,) in dB and the room's background.

    Rough: the uncertainty of the walker adds to that of the floor, and steps below 50 Hz are left out.
    """
    levels = footstep_levels_db(impact_db, reverberation_s)
    background = _background(background_dba)
    worse_by = float(np.hypot(between("uncertainty_db", uncertainty_db, 0.0, 30.0), WALKER_UNCERTAINTY_DB))
    excess = excess_by_band_db(levels, background)
    return Audible(
        key="footsteps",
        label="Footsteps",
        level_dba=float(a_weighted_db(levels)),
        excess_db=float(excess.max()),
        intelligibility=None,
        words=words_for(excess, None, low="thud"),
        words_if_worse=words_for(excess + worse_by, None, low="thud"),
    )


def _background(level: float | str) -> np.ndarray:
    if isinstance(level, str):
        if level not in BACKGROUND_DBA:
            raise InputError("background_dba", f"unknown {level!r}; use one of {', '.join(BACKGROUND_DBA)} or dB(A)")
        level = BACKGROUND_DBA[level]
    return background_levels_db(level)
