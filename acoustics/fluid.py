"""Cavities as equivalent fluids: air, and fibre by its flow resistivity."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .bands import AIR_DENSITY_KG_M3
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


@lru_cache(maxsize=4096)
def gap_fluids(gap: Gap, grid: Grid, constants: Constants) -> tuple[tuple[np.ndarray, np.ndarray, float], ...]:
    """The fluids of a gap from the source side: relative density (F,), relative wavenumber squared (F,), depth in m.

    The spring of every cavity has a loss (`cavity_loss`); a wholly empty one also a small flow resistance that
    stands for what studs and edges absorb.
    """
    frequency = grid.frequency_hz
    spring = 1.0 + 1j * constants.cavity_loss
    depth = gap.depth_mm / 1000.0
    fill = 0.0 if gap.fill is None else min(gap.fill.thickness_mm, gap.depth_mm) / 1000.0
    layers = []
    if depth - fill > 1e-4:
        density = np.ones(frequency.shape, complex)
        if gap.fill is None:
            resistivity = constants.empty_resistivity * (depth / 0.09) ** constants.empty_resistivity_depth
            density = 1.0 - 1j * resistivity / (AIR_DENSITY_KG_M3 * 2.0 * np.pi * frequency)
        layers.append((density, density / spring, depth - fill))
    if gap.fill is not None:
        density, wavenumber = fibre(frequency, gap.fill.flow_resistivity_pa_s_m2, gap.fill.density_kg_m3)
        layers.append((density, wavenumber**2 / spring, fill))
    return tuple(layers)
