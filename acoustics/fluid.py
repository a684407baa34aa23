"""Cavities as equivalent fluids: air, and fibre by its flow resistivity."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from .bands import AIR_DENSITY_KG_M3, SOUND_SPEED_M_S
from .constants import Constants
from .grid import Grid
from .inputs import Gap

Fluid = tuple[np.ndarray, np.ndarray, np.ndarray]
"""Relative density and relative wavenumber squared, each (N, F) or one row where all are alike, and depth in m (N, 1)."""


def fibre(
    frequency_hz: np.ndarray, flow_resistivity_pa_s_m2: np.ndarray, frame_kg_m3: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Relative density and relative wavenumber squared (N, F) of fibrous fills (N, 1) with a limp frame.

    Impedance and wavenumber after Miki (1990), the moving frame after Panneton (2007). Below f / sigma = 0.001 the
    empirical law is held at its value there.
    """
    x = np.log(np.clip(frequency_hz / flow_resistivity_pa_s_m2, 1e-3, None))
    impedance = 1.0 + (0.070 - 0.107j) * np.exp(-0.632 * x)
    wavenumber = 1.0 + (0.109 - 0.160j) * np.exp(-0.618 * x)
    density = AIR_DENSITY_KG_M3 * impedance * wavenumber
    total = frame_kg_m3 + AIR_DENSITY_KG_M3
    limp = (total * density - AIR_DENSITY_KG_M3**2) / (total + density - 2.0 * AIR_DENSITY_KG_M3)
    relative = limp / AIR_DENSITY_KG_M3
    return relative, relative * wavenumber / impedance


AIR_VISCOSITY_M2_S = 1.51e-5
"""Kinematic viscosity of air at 20 degrees C."""
PANE_M = 1.5
"""Longest side of a pane between bars and reveals; common practice."""
CROSS_LOSS = 0.04
"""Least loss of a cavity deep enough for sound to run across it too, where it meets rims, frames and scatter."""


def edge_loss(frequency_hz: np.ndarray, size_m: tuple[np.ndarray, np.ndarray], absorption: float) -> np.ndarray:
    """Loss factor (N, F) of the sound in an empty cavity whose edges absorb.

    Between two leaves sound runs in two dimensions, with pi S / U between one edge and the next (Kosten 1960): it
    loses the share `absorption` c / (pi S / U) times a second.
    """
    length, height = size_m
    path = np.pi * length * height / (2.0 * (length + height))
    return absorption * SOUND_SPEED_M_S / (2.0 * np.pi * frequency_hz * path)


def wall_loss(frequency_hz: np.ndarray, depth_m: np.ndarray) -> np.ndarray:
    """Loss factor (N, F) of sound in a slit by viscosity and heat at its two faces (Kirchhoff 1868)."""
    viscous = np.sqrt(AIR_VISCOSITY_M2_S / (np.pi * frequency_hz))
    return viscous * (1.0 + 0.4 / np.sqrt(0.71)) / depth_m


def _column(values: Iterable[float]) -> np.ndarray:
    return np.array(list(values), float)[:, None]


def _shared(rows: np.ndarray) -> np.ndarray:
    """One row where all are alike."""
    return rows[:1] if len(rows) > 1 and np.array_equal(rows, np.broadcast_to(rows[:1], rows.shape)) else rows


def gap_fluids(
    gaps: Sequence[Gap],
    sizes_m: Sequence[tuple[float, float]],
    porous: Sequence[float],
    grid: Grid,
    constants: Constants,
) -> list[Fluid]:
    """The fluids of gaps (N) of one signature, from the source side.

    The spring of a cavity loses a part (`cavity_loss`) to fibre, board and timber; between hard sealed faces, like
    the panes of a window, only to its edges. `porous` is the part of the faces that is not hard.
    """
    frequency, depth = grid.frequency_hz, _column(g.depth_mm / 1000.0 for g in gaps)
    fills = [g.fill for g in gaps if g.fill is not None]
    if fills:
        lost = np.full((1, len(frequency)), constants.cavity_loss)
    else:
        part, size = _shared(_column(porous)), np.array(sizes_m, float)
        size = _shared(np.where(part < 1.0, np.minimum(size, PANE_M), size))
        lost = constants.cavity_loss * part + wall_loss(frequency, depth)
        lost = lost + edge_loss(frequency, (size[:, :1], size[:, 1:]), constants.empty_absorption)
    across = CROSS_LOSS * np.minimum((2.0 * depth * frequency / SOUND_SPEED_M_S) ** 2, 1.0)
    spring = _shared(1.0 + 1j * np.maximum(lost, across))
    air = np.ones((1, len(frequency)), complex)
    if not fills:
        return [(air, air / spring, depth)]
    fill = _column(min(g.fill.thickness_mm, g.depth_mm) / 1000.0 for g in gaps if g.fill is not None)
    kinds = _shared(np.array([(x.flow_resistivity_pa_s_m2, x.density_kg_m3) for x in fills]))
    density, wave2 = fibre(frequency, kinds[:, :1], kinds[:, 1:])
    wool = (density, wave2 / spring, fill)
    return [(air, air / spring, depth - fill), wool] if gaps[0].signature[-1] else [wool]
