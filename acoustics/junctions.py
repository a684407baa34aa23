"""Vibration reduction at junctions and structural reverberation (ISO 12354-1:2017, annexes C and E)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .bands import SOUND_SPEED_M_S
from .errors import InputError, finite, numbers, one_of, positive

JUNCTIONS = (
    "rigid_cross", "rigid_t", "flexible_t", "lightweight_facade", "light_to_heavy", "light_double", "timber", "corner", "thickness_change",
)  # fmt: skip
FLEXIBLE_KNEE_HZ = 125.0
"""Knee of a flexible layer of about 100 MN/m3 (ISO 12354-1, annex E)."""
REFERENCE_HZ = 1000.0


@dataclass(frozen=True, kw_only=True)
class Junction:
    """Where a flanking element meets the separating one. `k_db` gives K for Ff, Df and Fd when known."""

    kind: str
    length_m: float
    k_db: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        one_of("kind", self.kind, JUNCTIONS)
        positive("length_m", self.length_m, 200.0)
        if self.k_db is not None:
            values = numbers("k_db", self.k_db, -20.0, 100.0)
            if len(values) != 3:
                raise InputError("k_db", "must be three numbers: Ff, Df, Fd")
            object.__setattr__(self, "k_db", values)


def vibration_reduction_db(kind: str, mass_ratio: float, frequency_hz: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """K straight on and K round the corner in dB, each shaped as `frequency_hz`.

    `mass_ratio` is the surface mass of the other (perpendicular) element over that of the element the sound
    leaves. A corner and a change of thickness have one value only, returned twice. Rigid cross, T and flexible
    T agree with EN 12354-1:2000, annex H; the rest of the formulas are from memory of annex E.
    """
    one_of("kind", kind, JUNCTIONS)
    m = float(np.log10(finite("mass_ratio", mass_ratio)))
    f = np.asarray(frequency_hz, float)
    flat = np.ones_like(f)
    m2 = 5.7 * m * m
    if kind == "rigid_cross":
        return (8.7 + 17.1 * m + m2) * flat, (8.7 + m2) * flat
    if kind == "rigid_t":
        return (5.7 + 14.1 * m + m2) * flat, (5.7 + m2) * flat
    if kind == "flexible_t":
        soft = 10.0 * np.log10(np.maximum(f / FLEXIBLE_KNEE_HZ, 1.0))
        return 5.7 + 14.1 * m + m2 + 2.0 * soft, 5.7 + m2 + soft
    if kind == "lightweight_facade":
        return max(5.0 + 10.0 * m, 5.0) * flat, (10.0 + 10.0 * abs(m)) * flat
    slope = 3.3 * np.log10(f / 500.0)
    if kind == "light_to_heavy":
        corner = 10.0 + 10.0 * abs(m) + slope
        if m >= 0.0:
            return np.maximum(10.0 + 20.0 * m - slope, 10.0), corner
        # A heavy element that runs past a light one is hardly held back by it.
        return max(3.0 + 14.1 * m + m2, -4.0) * flat, corner
    if kind in ("light_double", "timber"):
        return 10.0 + 20.0 * abs(m) - slope, 10.0 + 10.0 * abs(m) - slope
    if kind == "corner":
        one = max(15.0 * abs(m) - 3.0, -2.0) * flat
        return one, one
    one = (5.0 * m * m - 5.0) * flat
    return one, one


def least_vibration_reduction_db(length_m: np.ndarray, area_i_m2: np.ndarray, area_j_m2: np.ndarray) -> np.ndarray:
    """Smallest K in dB for a junction of this length between elements of these areas (ISO 12354-1, 4.2.3)."""
    return 10.0 * np.log10(length_m * (1.0 / area_i_m2 + 1.0 / area_j_m2))


def structural_reverberation_s(frequency_hz: np.ndarray, total_loss: np.ndarray) -> np.ndarray:
    """Structural reverberation time in s from the total loss factor."""
    return 2.2 / (np.asarray(frequency_hz, float) * np.asarray(total_loss, float))


def absorption_length_m(
    area_m2: float, reverberation_s: np.ndarray, frequency_hz: np.ndarray, speed_m_s: float = SOUND_SPEED_M_S
) -> np.ndarray:
    """Equivalent absorption length a in m of an element (ISO 12354-1, eq. 22)."""
    f = np.asarray(frequency_hz, float)
    return 2.2 * np.pi**2 * area_m2 / (speed_m_s * np.asarray(reverberation_s, float)) * np.sqrt(REFERENCE_HZ / f)


def velocity_level_difference_db(k_db: np.ndarray, length_m: float, a_i_m: np.ndarray, a_j_m: np.ndarray) -> np.ndarray:
    """Direction-averaged junction velocity level difference in dB, never negative (ISO 12354-1, eq. 21)."""
    return np.maximum(k_db - 10.0 * np.log10(length_m / np.sqrt(a_i_m * a_j_m)), 0.0)


def flanking_reduction_db(
    r_i_db: np.ndarray,
    r_j_db: np.ndarray,
    difference_db: np.ndarray,
    separating_m2: float,
    area_i_m2: float,
    area_j_m2: float,
) -> np.ndarray:
    """Flanking reduction index R_ij in dB, referred to the separating area (ISO 12354-1, eq. 20), without linings."""
    return (r_i_db + r_j_db) / 2.0 + difference_db + 10.0 * np.log10(separating_m2 / np.sqrt(area_i_m2 * area_j_m2))


def weighted_flanking_db(
    r_i_db: float, r_j_db: float, k_db: float, separating_m2: float, length_m: float, lining_db: float = 0.0
) -> float:
    """Simplified model: weighted flanking reduction R_ij,w in dB (ISO 12354-1, 4.4)."""
    return (r_i_db + r_j_db) / 2.0 + lining_db + k_db + float(10.0 * np.log10(separating_m2 / length_m))


def two_linings_db(first_db: float, second_db: float) -> float:
    """Improvement of two linings on one path: the larger and half the smaller (ISO 12354-1, 4.4)."""
    return max(first_db, second_db) + min(first_db, second_db) / 2.0


def light_flanking_db(d_nf_db: float, separating_m2: float, laboratory_length_m: float, length_m: float) -> float:
    """R_Ff in dB from a laboratory D_n,f of a light construction (ISO 12354-1, 4.2.4)."""
    return d_nf_db + float(10.0 * np.log10(separating_m2 * laboratory_length_m / (10.0 * length_m)))
