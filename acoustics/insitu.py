"""Losses of elements as they are built in: in-situ structural reverberation and what follows from it.

ISO 12354-1:2017, 4.2.2 and annex C (from memory): R_situ = R - 10 lg(Ts,situ / Ts,lab) and the equivalent absorption
length from Ts,situ. Left as measured, after the same clause: light, double and unknown elements, those with an
internal loss factor above 0.03, those at least three times lighter than what surrounds them, and those that flexible
layers hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import AIR_IMPEDANCE_PA_S_M, EXACT_HZ, SOUND_SPEED_M_S
from .constants import FITTED
from .inputs import Element, KnownElement
from .junctions import REFERENCE_HZ, absorption_length_m, structural_reverberation_s
from .leaf import critical_frequency_hz, masonry_edge_loss, mean_loss, radiation_of_free_waves

MOST_INTERNAL_LOSS = 0.03
MUCH_LIGHTER = 3.0
MOST_TAKEN_UP = 0.5
"""Most that a border takes up: some comes back from what it runs on to (annex C gives 0.05 to 0.5, from memory)."""
HIGHEST_CRITICAL_HZ = 20_000.0
"""Where a limp leaf has no critical frequency."""


@dataclass(frozen=True)
class Plate:
    """An element as its junctions see it: the heaviest leaf of a double construction.

    `usual_loss` (21,) is the total loss factor that its predicted reduction holds, `solid` marks the elements whose
    reduction depends on how they are built in, `heavy` those of masonry, single or double.
    """

    mass_kg_m2: float
    critical_hz: float
    internal_loss: float
    usual_loss: np.ndarray
    solid: bool
    heavy: bool


@lru_cache(maxsize=4096)
def plate_of(element: Element | KnownElement) -> Plate | None:
    """None for an element of which the reduction alone is known."""
    if isinstance(element, KnownElement):
        return None
    leaf = max(element.leaves, key=lambda x: x.mass_kg_m2)
    mass, rigidity = leaf.mass_kg_m2, sum(layer.rigidity_nm for layer in leaf.layers)
    critical = min(float(critical_frequency_hz(np.float64(mass), np.float64(rigidity))), HIGHEST_CRITICAL_HZ)
    internal = mean_loss(leaf.layers, FITTED.board_loss)
    usual = internal + masonry_edge_loss(mass, EXACT_HZ, FITTED)
    solid = len(element.leaves) == 1 and leaf.is_masonry and internal <= MOST_INTERNAL_LOSS
    return Plate(mass, critical, internal, usual, solid, leaf.is_masonry)


def mass_of(element: Element | KnownElement) -> float:
    """Surface mass in kg/m2 that meets a junction."""
    plate = plate_of(element)
    return element.surface_mass_kg_m2 if plate is None else plate.mass_kg_m2


def border_absorption(k_db: np.ndarray, critical_hz: np.ndarray) -> np.ndarray:
    """What a border takes up into one neighbour, alpha of annex C: sqrt(fc / 1000 Hz) 10^(-K / 10)."""
    return np.sqrt(critical_hz / REFERENCE_HZ) * 10.0 ** (-k_db / 10.0)


@dataclass(frozen=True)
class BuiltIn:
    """Elements with the losses they have in this room, each (E, 21): reduction of direct and of structural paths in dB,
    and equivalent absorption length in m."""

    direct_db: np.ndarray
    structural_db: np.ndarray
    absorption_length_m: np.ndarray


def total_loss(
    plates: Sequence[Plate], area_m2: np.ndarray, known_m: np.ndarray, taken_up_m: np.ndarray, frequency_hz: np.ndarray
) -> np.ndarray:
    """Total loss factor in situ (E, F): inside, by radiation and over the borders (annex C).

    `area_m2` (E, 1); `known_m` (E, 1) is the length of the borders whose neighbours are known, and `taken_up_m` (E, F)
    the sum over them of length times absorption. The rest of the edge, at least that of a square, takes up what is
    usual: the standard's own first estimate where nothing is known.
    """
    mass, critical, internal = (
        np.array([getattr(p, name) for p in plates])[:, None] for name in ("mass_kg_m2", "critical_hz", "internal_loss")
    )
    usual = np.stack([p.usual_loss for p in plates]) - internal
    side = np.sqrt(area_m2)
    part = known_m / np.maximum(4.0 * side, known_m)
    sigma = radiation_of_free_waves(frequency_hz, critical, side, side)
    radiated = AIR_IMPEDANCE_PA_S_M * sigma / (np.pi * frequency_hz * mass)
    borders = SOUND_SPEED_M_S / (np.pi**2 * area_m2 * np.sqrt(frequency_hz * critical)) * taken_up_m
    return internal + (1.0 - part) * usual + part * radiated + borders


def _resonant_part(critical_hz: np.ndarray) -> np.ndarray:
    """Part of direct transmission that losses govern: below coincidence forced waves carry the most (rule of ours)."""
    return 1.0 / (1.0 + (0.7 * critical_hz / EXACT_HZ) ** 8)


def built_in(
    plates: Sequence[Plate | None],
    areas_m2: np.ndarray,
    reductions_db: np.ndarray,
    held: np.ndarray,
    border_area_m2: np.ndarray,
    known_m: np.ndarray,
    taken_up_m: np.ndarray,
) -> BuiltIn:
    """What its borders make of each element of reduction (E, 21) and area (E,).

    `held` (E,) is false where the element is not firmly connected or much lighter than its surroundings.
    `border_area_m2` (E,) is the area that the borders run round: that of the whole wall for a patch of it.
    """
    length = np.repeat(areas_m2[:, None], 21, axis=1)
    solid = np.array([plate is not None and plate.solid for plate in plates], bool)
    if not solid.any():
        return BuiltIn(reductions_db, reductions_db, length)
    chosen = [plate for plate in plates if plate is not None and plate.solid]
    usual = np.stack([p.usual_loss for p in chosen])
    change = (solid & held & (known_m > 0.0))[solid][:, None]
    found = total_loss(chosen, border_area_m2[solid][:, None], known_m[solid][:, None], taken_up_m[solid], EXACT_HZ)
    found = np.where(change, found, usual)
    gained = in_situ_db(1.0 / found, 1.0 / usual)
    part = _resonant_part(np.array([[p.critical_hz] for p in chosen]))
    direct, structural = reductions_db.copy(), reductions_db.copy()
    direct[solid] -= 10.0 * np.log10(1.0 - part + part * usual / found)
    structural[solid] += gained
    length[solid] = absorption_length_m(areas_m2[solid][:, None], structural_reverberation_s(EXACT_HZ, found), EXACT_HZ)
    return BuiltIn(direct, structural, length)


def in_situ_db(reverberation_in_situ_s: np.ndarray, reverberation_s: np.ndarray) -> np.ndarray:
    """R_situ - R in dB from the structural reverberation times in situ and of the measurement (ISO 12354-1, eq. 19)."""
    return -10.0 * np.log10(reverberation_in_situ_s / reverberation_s)
