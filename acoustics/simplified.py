"""Formulas of the standards for one element by hand, beside the model: for checks, not for predictions.

ISO 12354-1 annexes B and D (from memory, with the editions named), DIN 4109-2 and -32 (from memory).
"""

from __future__ import annotations

import numpy as np

from .errors import between, one_of, positive
from .leaf import radiation_of_free_waves

WEIGHTED_BY_MASS: dict[str, tuple[float, float]] = {
    "en_2000": (37.5, -42.0),
    "din": (30.9, -22.2),
    "uk": (21.65, -2.3),
}
"""Slope in dB per decade of mass and constant in dB: EN 12354-1:2000 annex B, DIN 4109-32:2016, UK relation."""

LINING_STEPS_2000_DB = ((200.0, -1.0), (250.0, -3.0), (315.0, -5.0), (400.0, -7.0), (500.0, -9.0), (1600.0, -10.0))
LINING_BASES_2000_DB = ((80.0, 35.0), (100.0, 32.0), (125.0, 30.0), (160.0, 28.0))


def weighted_by_mass_db(mass_kg_m2: float, relation: str) -> float:
    """Weighted reduction of a heavy element from its mass alone; the relations differ by up to 5 dB."""
    one_of("relation", relation, WEIGHTED_BY_MASS)
    slope, constant = WEIGHTED_BY_MASS[relation]
    return slope * float(np.log10(between("mass_kg_m2", mass_kg_m2, 50.0, 2000.0))) + constant


def critical_hz(thickness_m: float, plate_speed_m_s: float, speed_m_s: float = 340.0) -> float:
    """Critical frequency c2 / (1.8 cL h)."""
    return speed_m_s**2 / (1.8 * positive("plate_speed_m_s", plate_speed_m_s) * positive("thickness_m", thickness_m))


def thick_critical_hz(
    thickness_m: float, plate_speed_m_s: float, frequency_hz: float, speed_m_s: float = 340.0
) -> float:
    """Effective critical frequency of a thick plate (annex B)."""
    thin = critical_hz(thickness_m, plate_speed_m_s, speed_m_s)
    limit = plate_speed_m_s / (5.5 * thickness_m)
    if frequency_hz >= limit:
        return 2.0 * thin * (frequency_hz / limit) ** 3
    part = 4.05 * thickness_m * frequency_hz / plate_speed_m_s
    return thin * (part + float(np.sqrt(1.0 + part * part)))


def laboratory_loss(internal_loss: float, mass_kg_m2: float, frequency_hz: np.ndarray) -> np.ndarray:
    """Total loss factor of a heavy element in a laboratory (annex C, first estimate)."""
    return internal_loss + mass_kg_m2 / (485.0 * np.sqrt(np.asarray(frequency_hz, float)))


def forced_radiation_factor(
    frequency_hz: np.ndarray, length_m: float, height_m: float, speed_m_s: float = 340.0
) -> np.ndarray:
    """Radiation factor of forced waves (annex B), at most 2."""
    long, short = max(length_m, height_m), min(length_m, height_m)
    k = 2.0 * np.pi * np.asarray(frequency_hz, float) / speed_m_s
    shape = -0.964 - (0.5 + short / (np.pi * long)) * np.log(short / long) + 5.0 * short / (2.0 * np.pi * long)
    return np.minimum(
        0.5 * (np.log(k * np.sqrt(long * short)) - (shape - 1.0 / (4.0 * np.pi * long * short * k**2))), 2.0
    )


def element_reduction_db(
    frequency_hz: np.ndarray,
    mass_kg_m2: float,
    critical_frequency_hz: float,
    loss: np.ndarray,
    size_m: tuple[float, float],
    *,
    density_kg_m3: float = 1.2,
    speed_m_s: float = 340.0,
) -> np.ndarray:
    """Reduction (F,) in dB of one homogeneous element by annex B; `loss` is the total loss factor (F,)."""
    f, fc = np.asarray(frequency_hz, float), critical_frequency_hz
    length, height = size_m
    sigma = radiation_of_free_waves(f, np.full(f.shape, fc), np.float64(length), np.float64(height), speed_m_s)
    forced = forced_radiation_factor(f, length, height, speed_m_s)
    air = (2.0 * density_kg_m3 * speed_m_s / (2.0 * np.pi * f * mass_kg_m2)) ** 2
    shape = (length + height) ** 2 / (length**2 + height**2)
    below = air * (2.0 * forced + shape * np.sqrt(fc / f) * sigma**2 / loss)
    at = air * np.pi * sigma**2 / (2.0 * loss)
    above = air * np.pi * fc * sigma**2 / (2.0 * f * loss)
    half_third = 2.0 ** (1.0 / 6.0)
    factor = np.where(fc >= f * half_third, below, np.where(fc >= f / half_third, at, above))
    return -10.0 * np.log10(factor)


def lining_resonance_hz(first_kg_m2: float, second_kg_m2: float, stiffness_mn_m3: float) -> float:
    """Resonance of a lining: 160 sqrt(s (1/m1 + 1/m2)) with s in MN/m3; a filled cavity of d metres has 0.111 / d."""
    return 160.0 * float(np.sqrt(stiffness_mn_m3 * (1.0 / first_kg_m2 + 1.0 / second_kg_m2)))


def lining_2000_db(resonance_hz: float, base_weighted_db: float) -> float:
    """Weighted improvement of a lining by EN 12354-1:2000, table D.1; the 2017 edition is in linings.py."""
    f0 = between("resonance_hz", resonance_hz, 1.0, 20000.0)
    for limit, gain in LINING_STEPS_2000_DB:
        if 160.0 < f0 <= limit * 1.12:
            return gain
    if f0 > 160.0:
        return -5.0
    centres, bases = zip(*LINING_BASES_2000_DB, strict=True)
    return max(float(np.interp(np.log10(f0), np.log10(centres), bases)) - base_weighted_db / 2.0, 0.0)


def flanking_correction_din_db(floor_kg_m2: float, flank_kg_m2: float) -> float:
    """K of DIN 4109-2:2018; not to be mixed with the table of EN 12354-2, from which it departs by up to 1 dB."""
    return 0.0 if flank_kg_m2 > floor_kg_m2 else 0.6 + 5.5 * float(np.log10(floor_kg_m2 / flank_kg_m2))


def composite_db(areas_m2: np.ndarray, reductions_db: np.ndarray) -> np.ndarray:
    """Reduction in dB of parts (P,) or (P, F) side by side: the mean of their factors by area."""
    areas, reductions = np.asarray(areas_m2, float), np.asarray(reductions_db, float)
    factors = 10.0 ** (-reductions / 10.0)
    return -10.0 * np.log10(np.tensordot(areas / areas.sum(), factors, axes=1))
