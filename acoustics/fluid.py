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


def edge_loss(frequency_hz: np.ndarray, size_m: tuple[float, float], absorption: float) -> np.ndarray:
    """Loss factor (F,) of the sound in an empty cavity whose edges absorb.

    Between two leaves sound runs in two dimensions, with pi S / U between one edge and the next (Kosten 1960): it
    loses the share `absorption` c / (pi S / U) times a second.
    """
    length, height = size_m
    path = np.pi * length * height / (2.0 * (length + height))
    return absorption * SOUND_SPEED_M_S / (2.0 * np.pi * frequency_hz * path)


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
        lost = constants.cavity_loss * porous + edge_loss(frequency, size_m, constants.empty_absorption)
    else:
        lost = np.full(frequency.shape, constants.cavity_loss)
    spring = 1.0 + 1j * lost
    layers = []
    if depth - fill > 1e-4:
        density = np.ones(frequency.shape, complex)
        layers.append((density, density / spring, depth - fill))
    if gap.fill is not None:
        density, wavenumber = fibre(frequency, gap.fill.flow_resistivity_pa_s_m2, gap.fill.density_kg_m3)
        layers.append((density, wavenumber**2 / spring, fill))
    return tuple(layers)
