"""Cavities as equivalent fluids: air, and fibre by its flow resistivity."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .bands import AIR_DENSITY_KG_M3, SOUND_SPEED_M_S
from .constants import Constants
from .grid import Grid
from .inputs import Gap


def fibre(
    frequency_hz: np.ndarray, flow_resistivity_pa_s_m2: float, frame_kg_m3: float
) -> tuple[np.ndarray, np.ndarray]:
    """Relative density and relative wavenumber (F,) of a fibrous fill with a limp frame.

    Impedance and wavenumber after Miki (1990), the moving frame after Panneton (2007). Below f / sigma = 0.001 the
    empirical law is held at its value there.
    """
    x = np.clip(frequency_hz / flow_resistivity_pa_s_m2, 1e-3, None)
    impedance = 1.0 + 0.070 * x**-0.632 - 0.107j * x**-0.632
    wavenumber = 1.0 + 0.109 * x**-0.618 - 0.160j * x**-0.618
    density = AIR_DENSITY_KG_M3 * impedance * wavenumber
    modulus = impedance / wavenumber
    total = frame_kg_m3 + AIR_DENSITY_KG_M3
    limp = (total * density - AIR_DENSITY_KG_M3**2) / (total + density - 2.0 * AIR_DENSITY_KG_M3)
    relative = limp / AIR_DENSITY_KG_M3
    root = np.sqrt(relative / modulus)
    return relative, np.where(root.imag > 0.0, -root, root)


AIR_VISCOSITY_M2_S = 1.51e-5
"""Kinematic viscosity of air at 20 degrees C."""
PANE_M = 1.5
"""Longest side of a pane between bars and reveals; common practice."""
CROSS_LOSS = 0.04
"""Least loss of a cavity deep enough for sound to run across it too, where it meets rims, frames and scatter."""


def edge_loss(frequency_hz: np.ndarray, size_m: tuple[float, float], absorption: float) -> np.ndarray:
    """Loss factor (F,) of the sound in an empty cavity whose edges absorb.

    Between two leaves sound runs in two dimensions, with pi S / U between one edge and the next (Kosten 1960): it
    loses the share `absorption` c / (pi S / U) times a second.
    """
    length, height = size_m
    path = np.pi * length * height / (2.0 * (length + height))
    return absorption * SOUND_SPEED_M_S / (2.0 * np.pi * frequency_hz * path)


def wall_loss(frequency_hz: np.ndarray, depth_m: float) -> np.ndarray:
    """Loss factor (F,) of sound in a slit by viscosity and heat at its two faces (Kirchhoff 1868)."""
    viscous = np.sqrt(AIR_VISCOSITY_M2_S / (np.pi * frequency_hz))
    return viscous * (1.0 + 0.4 / np.sqrt(0.71)) / depth_m


@lru_cache(maxsize=4096)
def gap_fluids(
    gap: Gap, size_m: tuple[float, float], porous: float, grid: Grid, constants: Constants
) -> tuple[tuple[np.ndarray, np.ndarray, float], ...]:
    """The fluids of a gap from the source side: relative density (F,), relative wavenumber squared (F,), depth in m.

    The spring of a cavity loses a part (`cavity_loss`) to fibre, board and timber; between hard sealed faces, like
    the panes of a window, only to its edges. `porous` is the part of the faces that is not hard.
    """
    frequency = grid.frequency_hz
    depth = gap.depth_mm / 1000.0
    fill = 0.0 if gap.fill is None else min(gap.fill.thickness_mm, gap.depth_mm) / 1000.0
    if gap.fill is None:
        if porous < 1.0:
            size_m = (min(size_m[0], PANE_M), min(size_m[1], PANE_M))
        lost = constants.cavity_loss * porous + edge_loss(frequency, size_m, constants.empty_absorption)
        lost = lost + wall_loss(frequency, depth)
    else:
        lost = np.full(frequency.shape, constants.cavity_loss)
    lost = np.maximum(lost, CROSS_LOSS * np.minimum((2.0 * depth * frequency / SOUND_SPEED_M_S) ** 2, 1.0))
    spring = 1.0 + 1j * lost
    layers = []
    if depth - fill > 1e-4:
        density = np.ones(frequency.shape, complex)
        layers.append((density, density / spring, depth - fill))
    if gap.fill is not None:
        density, wavenumber = fibre(frequency, gap.fill.flow_resistivity_pa_s_m2, gap.fill.density_kg_m3)
        layers.append((density, wavenumber**2 / spring, fill))
    return tuple(layers)
