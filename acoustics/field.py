"""Field tests from level-meter readings: ISO 16283-1 (airborne) and ISO 16283-2 (impact)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .bands import BANDS_HZ, REFERENCE_REVERBERATION_S
from .errors import InputError, numbers, positive
from .ratings import rate_airborne, rate_impact

SABINE_S_PER_M = 0.16
BACKGROUND_FULL_DB, BACKGROUND_LIMIT_DB, LIMIT_CORRECTION_DB = 10.0, 6.0, 1.3
"""ISO 16283-1, 9.2: no correction from 10 dB, a fixed 1.3 dB at or below 6 dB (limit of measurement)."""


@dataclass(frozen=True, kw_only=True)
class FieldResult:
    """Standardised result by band, the bands limited by background noise, and the single numbers.

    `apparent_reduction_db` is None without an area. For impact, the C terms are None and ci_db is set. Terms of the
    enlarged ranges are None where the bands do not reach.
    """

    bands_hz: tuple[int, ...]
    standardized_db: tuple[float, ...]
    background_limited: tuple[bool, ...]
    weighted_db: int
    c_db: int | None = None
    ctr_db: int | None = None
    ci_db: int | None = None
    c_50_3150_db: int | None = None
    ctr_50_3150_db: int | None = None
    c_50_5000_db: int | None = None
    ctr_50_5000_db: int | None = None
    ci_50_2500_db: int | None = None
    apparent_reduction_db: tuple[float, ...] | None = None


def energy_mean_db(levels_db: np.ndarray) -> np.ndarray:
    """Energy average over positions (first axis) of levels in dB."""
    return 10.0 * np.log10(np.mean(10.0 ** (np.atleast_2d(levels_db) / 10.0), axis=0))


def background_corrected_db(signal_db: np.ndarray, background_db: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Signal level without background in dB, and where the limit of measurement was met (ISO 16283-1, 9.2)."""
    signal, background = np.asarray(signal_db, float), np.asarray(background_db, float)
    margin = signal - background
    limited = margin <= BACKGROUND_LIMIT_DB
    safe = np.where(limited, BACKGROUND_LIMIT_DB, margin)
    exact = signal + 10.0 * np.log10(1.0 - 10.0 ** (-safe / 10.0))
    corrected = np.where(limited, signal - LIMIT_CORRECTION_DB, np.where(margin >= BACKGROUND_FULL_DB, signal, exact))
    return corrected, limited


def low_frequency_level_db(room_db: np.ndarray, corner_db: np.ndarray) -> np.ndarray:
    """Room level in the bands 50 to 80 Hz for rooms under 25 m3 (ISO 16283-1, low-frequency procedure)."""
    room, corner = np.asarray(room_db, float), np.asarray(corner_db, float)
    return 10.0 * np.log10((10.0 ** (corner / 10.0) + 2.0 * 10.0 ** (room / 10.0)) / 3.0)


def _positions(field: str, readings: object, count: int) -> np.ndarray:
    """Readings as the energy mean over positions (count,)."""
    if not hasattr(readings, "__len__") or isinstance(readings, (str, dict)) or len(readings) == 0:  # type: ignore[arg-type]
        raise InputError(field, "must be a list of levels in dB, or a list of such lists")
    nested = hasattr(readings[0], "__len__")  # type: ignore[index]
    rows = list(readings) if nested else [readings]  # type: ignore[call-overload]
    table = []
    for i, row in enumerate(rows):
        name = f"{field}[{i}]" if nested else field
        levels = numbers(name, row, -50.0, 200.0)
        if len(levels) != count:
            raise InputError(name, f"has {len(levels)} levels for {count} bands")
        table.append(levels)
    return energy_mean_db(np.array(table))


def _bands(bands_hz: Sequence[float] | None, readings: object) -> tuple[int, ...]:
    """The bands given, or those that the number of readings stands for: 50 to 5000 Hz or 100 to 3150 Hz."""
    if bands_hz is not None:
        bands = tuple(round(b) for b in numbers("bands_hz", bands_hz, 1.0, 20000.0))
        if len(set(bands)) != len(bands):
            raise InputError("bands_hz", "names a band twice")
        return bands
    row = (
        readings[0] if hasattr(readings, "__len__") and len(readings) and hasattr(readings[0], "__len__") else readings
    )  # type: ignore[index, arg-type]
    return BANDS_HZ if hasattr(row, "__len__") and len(row) == 21 else BANDS_HZ[3:19]  # type: ignore[arg-type]


def _reverberation(values: object, count: int) -> np.ndarray:
    times = numbers("reverberation_s", values if hasattr(values, "__len__") else [values] * count, 0.01, 60.0)
    if len(times) != count:
        raise InputError("reverberation_s", f"has {len(times)} times for {count} bands")
    return np.array(times)


def _received(receiving_db: object, background_db: object, count: int) -> tuple[np.ndarray, np.ndarray]:
    receiving = _positions("receiving_db", receiving_db, count)
    if background_db is None:
        return receiving, np.zeros(count, bool)
    return background_corrected_db(receiving, _positions("background_db", background_db, count))


def field_airborne(
    *,
    source_db: Sequence[float] | Sequence[Sequence[float]],
    receiving_db: Sequence[float] | Sequence[Sequence[float]],
    reverberation_s: Sequence[float] | float,
    volume_m3: float,
    background_db: Sequence[float] | Sequence[Sequence[float]] | None = None,
    area_m2: float | None = None,
    bands_hz: Sequence[float] | None = None,
) -> FieldResult:
    """Standardised level difference D_nT by band and its rating (ISO 16283-1, ISO 717-1).

    Levels are one list by band or one list per position (averaged by energy). With `area_m2` the apparent
    reduction index R' is added. Raises InputError with the field's name.
    """
    bands = _bands(bands_hz, receiving_db)
    volume = positive("volume_m3", volume_m3, 1e5)
    source = _positions("source_db", source_db, len(bands))
    received, limited = _received(receiving_db, background_db, len(bands))
    times = _reverberation(reverberation_s, len(bands))
    standardized = source - received + 10.0 * np.log10(times / REFERENCE_REVERBERATION_S)
    apparent = None
    if area_m2 is not None:
        area = positive("area_m2", area_m2, 1e4)
        apparent = source - received + 10.0 * np.log10(area * times / (SABINE_S_PER_M * volume))
    rating = rate_airborne(tuple(standardized), bands)
    return FieldResult(
        bands_hz=bands,
        standardized_db=tuple(standardized.tolist()),
        background_limited=tuple(limited.tolist()),
        weighted_db=rating.weighted_db,
        c_db=rating.c_db,
        ctr_db=rating.ctr_db,
        c_50_3150_db=rating.c_50_3150_db,
        ctr_50_3150_db=rating.ctr_50_3150_db,
        c_50_5000_db=rating.c_50_5000_db,
        ctr_50_5000_db=rating.ctr_50_5000_db,
        apparent_reduction_db=None if apparent is None else tuple(apparent.tolist()),
    )


def field_impact(
    *,
    receiving_db: Sequence[float] | Sequence[Sequence[float]],
    reverberation_s: Sequence[float] | float,
    volume_m3: float,
    background_db: Sequence[float] | Sequence[Sequence[float]] | None = None,
    bands_hz: Sequence[float] | None = None,
) -> FieldResult:
    """Standardised impact level L'_nT by band under a tapping machine and its rating (ISO 16283-2, ISO 717-2)."""
    bands = _bands(bands_hz, receiving_db)
    positive("volume_m3", volume_m3, 1e5)
    received, limited = _received(receiving_db, background_db, len(bands))
    times = _reverberation(reverberation_s, len(bands))
    standardized = received - 10.0 * np.log10(times / REFERENCE_REVERBERATION_S)
    rating = rate_impact(tuple(standardized), bands)
    return FieldResult(
        bands_hz=bands,
        standardized_db=tuple(standardized.tolist()),
        background_limited=tuple(limited.tolist()),
        weighted_db=rating.weighted_db,
        ci_db=rating.ci_db,
        ci_50_2500_db=rating.ci_50_2500_db,
    )
