"""Single-number ratings: ISO 717-1 and ISO 717-2 with the enlarged ranges, ASTM E413."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .bands import BANDS_HZ, OCTAVES_HZ
from .errors import InputError, numbers

AIRBORNE_REFERENCE_DB = np.array([33, 36, 39, 42, 45, 48, 51, 52, 53, 54, 55, 56, 56, 56, 56, 56])
AIRBORNE_REFERENCE_OCTAVE_DB = np.array([36, 45, 52, 55, 56])
"""ISO 717-1, table 3: 100 to 3150 Hz, and octaves 125 to 2000 Hz."""

IMPACT_REFERENCE_DB = np.array([62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42])
IMPACT_REFERENCE_OCTAVE_DB = np.array([67, 67, 65, 62, 49])
"""ISO 717-2, table 3."""

STC_CONTOUR_DB = np.array([-16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4, 4])
"""ASTM E413 contour relative to 500 Hz, 125 to 4000 Hz."""

_C_CORE = [-29, -26, -23, -21, -19, -17, -15, -13, -12, -11, -10, -9, -9, -9, -9, -9]
_C_LOW = [-40, -36, -33]
C_SPECTRUM_DB = {
    (100, 3150): np.array(_C_CORE),
    (50, 3150): np.array(_C_LOW + _C_CORE),
    (50, 5000): np.array([v - 1 for v in _C_LOW + _C_CORE] + [-10, -10]),
    (100, 5000): np.array([v - 1 for v in _C_CORE] + [-10, -10]),
}
"""ISO 717-1 spectrum no. 1 by frequency range, table 4 and annex B."""

CTR_SPECTRUM_DB = np.array(
    [-25, -23, -21, -20, -20, -18, -16, -15, -14, -13, -12, -11, -9, -8, -9, -10, -11, -13, -15, -16, -18]
)
"""ISO 717-1 spectrum no. 2, 50 to 5000 Hz, the same values in every range."""

C_SPECTRUM_OCTAVE_DB = {
    (125, 2000): np.array([-21, -14, -8, -5, -4]),
    (63, 2000): np.array([-31, -21, -14, -8, -5, -4]),
    (63, 4000): np.array([-32, -22, -15, -9, -6, -5, -5]),
    (125, 4000): np.array([-22, -15, -9, -6, -5, -5]),
}
CTR_SPECTRUM_OCTAVE_DB = np.array([-18, -14, -10, -7, -4, -6, -11])
_OCTAVE_RANGE = {(100, 3150): (125, 2000), (50, 3150): (63, 2000), (50, 5000): (63, 4000), (100, 5000): (125, 4000)}


@dataclass(frozen=True, kw_only=True)
class AirborneRating:
    """Weighted value and spectrum adaptation terms in whole dB; None where the bands do not reach."""

    weighted_db: int
    c_db: int
    ctr_db: int
    deviation_sum_db: float
    c_50_3150_db: int | None = None
    ctr_50_3150_db: int | None = None
    c_50_5000_db: int | None = None
    ctr_50_5000_db: int | None = None
    c_100_5000_db: int | None = None
    ctr_100_5000_db: int | None = None


@dataclass(frozen=True, kw_only=True)
class ImpactRating:
    """Weighted normalised impact level and its adaptation terms in whole dB."""

    weighted_db: int
    ci_db: int
    deviation_sum_db: float
    ci_50_2500_db: int | None = None


@dataclass(frozen=True, kw_only=True)
class StcRating:
    """Sound transmission class in whole dB with the sum and the largest of its deficiencies."""

    weighted_db: int
    deficiency_sum_db: float
    largest_deficiency_db: float


def _half_up(value: np.ndarray | float) -> np.ndarray:
    return np.floor(np.asarray(value, float) + 0.5 + 1e-9)


def _tenths(values_db: np.ndarray) -> np.ndarray:
    """Values rounded half up to 0.1 dB, in whole tenths."""
    return _half_up(np.asarray(values_db, float) * 10.0)


def largest_shift_tenths(difference_tenths: np.ndarray, limit_tenths: float) -> np.ndarray:
    """Largest shift k with sum(max(0, k - d)) <= limit on the last axis.

    The sum is convex and piecewise linear in k, so k is the least over j of (limit + sum of the j smallest d) / j.
    """
    ordered = np.sort(difference_tenths, axis=-1)
    count = np.arange(1, ordered.shape[-1] + 1)
    return np.min((limit_tenths + np.cumsum(ordered, axis=-1)) / count, axis=-1)


def airborne_weighted_db(reduction_db: np.ndarray, *, whole: bool = True) -> np.ndarray:
    """Weighted reduction (ISO 717-1, 4.4) of 21 or 16 third octaves on the last axis.

    `whole` False gives steps of 0.1 dB, as used for uncertainty and for fitting.
    """
    values = np.asarray(reduction_db, float)
    core = values[..., 3:19] if values.shape[-1] == 21 else values
    shift = largest_shift_tenths(_tenths(core) - 10 * AIRBORNE_REFERENCE_DB, 320.0)
    step = 10.0 if whole else 1.0
    return 52.0 + np.floor(shift / step + 1e-9) * step / 10.0


def stc_db(reduction_db: np.ndarray, *, whole: bool = True) -> np.ndarray:
    """Sound transmission class (ASTM E413) of 21 bands, or of 16 bands 125 to 4000 Hz, on the last axis."""
    values = np.asarray(reduction_db, float)
    core = values[..., 4:20] if values.shape[-1] == 21 else values
    rounded = _half_up(core) * 10.0 if whole else _tenths(core)
    difference = rounded - 10 * STC_CONTOUR_DB
    shift = np.minimum(largest_shift_tenths(difference, 320.0), difference.min(axis=-1) + 80.0)
    step = 10.0 if whole else 1.0
    return np.floor(shift / step + 1e-9) * step / 10.0


def adaptation_db(reduction_db: np.ndarray, spectrum_a_db: np.ndarray) -> np.ndarray:
    """Reduction of the A-weighted level for a spectrum, X_A of ISO 717-1, 4.5, unrounded, last axis."""
    tenth = _tenths(reduction_db) / 10.0
    return -10.0 * np.log10(np.sum(10.0 ** ((spectrum_a_db - tenth) / 10.0), axis=-1))


def _terms(values_db: np.ndarray, weighted_db: float, c: np.ndarray, ctr: np.ndarray) -> tuple[int, int]:
    return tuple(int(_half_up(adaptation_db(values_db, s)) - weighted_db) for s in (c, ctr))  # type: ignore[return-value]


def _bands_of(
    values: Sequence[float], bands_hz: Sequence[float] | None, default: dict[int, Sequence[int]]
) -> list[int]:
    if bands_hz is None:
        if len(values) not in default:
            raise InputError("values_db", f"has {len(values)} values; give bands_hz with them")
        return list(default[len(values)])
    bands = [round(b) for b in numbers("bands_hz", bands_hz, 1.0, 20000.0)]
    if len(bands) != len(values):
        raise InputError("values_db", f"has {len(values)} values for {len(bands)} bands")
    if len(set(bands)) != len(bands):
        raise InputError("bands_hz", "names a band twice")
    return bands


_THIRDS_OF_LENGTH = {
    21: BANDS_HZ,
    16: BANDS_HZ[3:19],
    18: BANDS_HZ[3:],
    19: BANDS_HZ[:19],
    5: OCTAVES_HZ[1:6],
    7: OCTAVES_HZ,
}
_STC_OF_LENGTH = {21: BANDS_HZ, 16: BANDS_HZ[4:20]}


def _select(table: dict[int, float], grid: Sequence[int], low: int, high: int) -> np.ndarray | None:
    wanted = [b for b in grid if low <= b <= high]
    return np.array([table[b] for b in wanted]) if all(b in table for b in wanted) else None


def _core(table: dict[int, float], thirds: tuple[int, int], octaves: tuple[int, int]) -> tuple[np.ndarray, bool]:
    """The bands that a rating needs, and whether they are octaves."""
    third_values = _select(table, BANDS_HZ, *thirds)
    if third_values is not None:
        return third_values, False
    octave_values = _select(table, OCTAVES_HZ, *octaves)
    if octave_values is not None:
        return octave_values, True
    raise InputError(
        "bands_hz",
        f"must hold the third octaves {thirds[0]} to {thirds[1]} Hz or the octaves {octaves[0]} to {octaves[1]} Hz",
    )


def rate_airborne(values_db: Sequence[float], bands_hz: Sequence[float] | None = None) -> AirborneRating:
    """Rate an airborne quantity (R, R', D_nT) after ISO 717-1:2020.

    `values_db` are thirds or octaves; without `bands_hz` 21, 19, 18 or 16 thirds or 7 or 5 octaves are
    recognised by their number. Raises InputError naming values_db or bands_hz.
    """
    values = numbers("values_db", values_db, -200.0, 300.0)
    bands = _bands_of(values, bands_hz, _THIRDS_OF_LENGTH)
    table = dict(zip(bands, values, strict=True))
    core, octave = _core(table, (100, 3150), (125, 2000))
    reference = AIRBORNE_REFERENCE_OCTAVE_DB if octave else AIRBORNE_REFERENCE_DB
    difference = _tenths(core) - 10 * reference
    shift = float(np.floor(largest_shift_tenths(difference, 100.0 if octave else 320.0) / 10.0 + 1e-9))
    deviation = float(np.clip(10 * shift - difference, 0, None).sum() / 10.0)
    weighted = 52.0 + shift
    terms: dict[str, int | None] = {}
    for (low, high), spectrum in C_SPECTRUM_DB.items():
        if octave:
            low_octave, high_octave = _OCTAVE_RANGE[low, high]
            chosen = _select(table, OCTAVES_HZ, low_octave, high_octave)
            c_spectrum = C_SPECTRUM_OCTAVE_DB[low_octave, high_octave]
            ctr_spectrum = CTR_SPECTRUM_OCTAVE_DB[[low_octave <= b <= high_octave for b in OCTAVES_HZ]]
        else:
            chosen = _select(table, BANDS_HZ, low, high)
            c_spectrum = spectrum
            ctr_spectrum = CTR_SPECTRUM_DB[[low <= b <= high for b in BANDS_HZ]]
        suffix = "" if (low, high) == (100, 3150) else f"_{low}_{high}"
        if chosen is not None:
            terms[f"c{suffix}_db"], terms[f"ctr{suffix}_db"] = _terms(chosen, weighted, c_spectrum, ctr_spectrum)
    return AirborneRating(weighted_db=int(weighted), deviation_sum_db=deviation, **terms)  # type: ignore[arg-type]


def rate_impact(values_db: Sequence[float], bands_hz: Sequence[float] | None = None) -> ImpactRating:
    """Rate an impact level (L_n, L'_n, L'_nT) after ISO 717-2:2020; octave results are lowered by 5 dB."""
    values = numbers("values_db", values_db, -200.0, 300.0)
    bands = _bands_of(values, bands_hz, _THIRDS_OF_LENGTH)
    table = dict(zip(bands, values, strict=True))
    core, octave = _core(table, (100, 3150), (125, 2000))
    reference = IMPACT_REFERENCE_OCTAVE_DB if octave else IMPACT_REFERENCE_DB
    difference = 10 * reference - _tenths(core)
    shift = float(np.floor(largest_shift_tenths(difference, 100.0 if octave else 320.0) / 10.0 + 1e-9))
    deviation = float(np.clip(10 * shift - difference, 0, None).sum() / 10.0)
    at_500 = float(reference[2 if octave else 7]) - shift
    weighted = at_500 - 5.0 if octave else at_500
    sum_core = core if octave else core[:-1]
    ci = int(_half_up(_level_sum(sum_core)) - 15 - weighted)
    low = None if octave else _select(table, BANDS_HZ, 50, 2500)
    ci_low = None if low is None else int(_half_up(_level_sum(low)) - 15 - weighted)
    return ImpactRating(weighted_db=int(weighted), ci_db=ci, deviation_sum_db=deviation, ci_50_2500_db=ci_low)


def _level_sum(values_db: np.ndarray) -> float:
    return float(10.0 * np.log10(np.sum(10.0 ** (_tenths(values_db) / 100.0))))


def rate_stc(values_db: Sequence[float], bands_hz: Sequence[float] | None = None) -> StcRating:
    """Sound transmission class after ASTM E413 from thirds 125 to 4000 Hz (16 values) or 50 to 5000 Hz."""
    values = numbers("values_db", values_db, -200.0, 300.0)
    bands = _bands_of(values, bands_hz, _STC_OF_LENGTH)
    core = _select(dict(zip(bands, values, strict=True)), BANDS_HZ, 125, 4000)
    if core is None:
        raise InputError("bands_hz", "must hold the third octaves 125 to 4000 Hz")
    weighted = float(stc_db(core))
    deficiency = np.clip(STC_CONTOUR_DB + weighted - _half_up(core), 0, None)
    return StcRating(
        weighted_db=int(weighted),
        deficiency_sum_db=float(deficiency.sum()),
        largest_deficiency_db=float(deficiency.max()),
    )


def combined_rating_db(reduction_db: np.ndarray, *, traffic: bool = False) -> np.ndarray:
    """X_A1 (or X_A2 when `traffic`) over 100 to 3150 Hz of 21 bands on the last axis, unrounded, in dB."""
    spectrum = CTR_SPECTRUM_DB[3:19] if traffic else C_SPECTRUM_DB[100, 3150]
    return adaptation_db(np.asarray(reduction_db, float)[..., 3:19], spectrum)


def weighted_c_ctr_db(reduction_db: np.ndarray) -> tuple[int, int, int]:
    """Weighted value, C and C_tr in whole dB of 21 bands: rate_airborne without the enlarged ranges."""
    weighted = int(airborne_weighted_db(reduction_db))
    c, ctr = (int(_half_up(combined_rating_db(reduction_db, traffic=t))) - weighted for t in (False, True))
    return weighted, c, ctr
