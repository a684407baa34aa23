"""Where the model samples frequency and angle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .bands import EXACT_HZ, SOUND_SPEED_M_S


@dataclass(frozen=True)
class Grid:
    """Frequencies per third octave and angle nodes per proposal.

    Angles are sampled in s = sin2(theta) by several overlapping proposals whose nodes are combined by the
    balance heuristic (Veach and Guibas 1995): Gauss-Legendre in s and in cos(theta) for the smooth part,
    and a Lorentz-shaped proposal for each leaf's coincidence peak, which is far narrower than any plain rule
    resolves.
    """

    per_band: int = 3
    smooth: int = 12
    grazing: int = 12
    peak: int = 8

    @cached_property
    def frequency_hz(self) -> np.ndarray:
        """Sampled frequencies (21 x per_band,), Gauss-Legendre points of each band in log frequency."""
        points, _ = np.polynomial.legendre.leggauss(self.per_band)
        return (EXACT_HZ[:, None] * 10.0 ** (0.05 * points)[None, :]).ravel()

    @cached_property
    def band_weights(self) -> np.ndarray:
        _, weights = np.polynomial.legendre.leggauss(self.per_band)
        return weights / 2.0

    @cached_property
    def wavenumber(self) -> np.ndarray:
        return 2.0 * np.pi * self.frequency_hz / SOUND_SPEED_M_S

    def band_mean(self, factor: np.ndarray) -> np.ndarray:
        """Mean over each band of a factor (..., 21 x per_band) -> (..., 21)."""
        shape = (*factor.shape[:-1], len(EXACT_HZ), self.per_band)
        return factor.reshape(shape) @ self.band_weights

    def __hash__(self) -> int:
        return hash((self.per_band, self.smooth, self.grazing, self.peak))


def _gauss(count: int) -> tuple[np.ndarray, np.ndarray]:
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1.0) / 2.0, weights / 2.0


def angle_nodes(grid: Grid, centres: list[np.ndarray], widths: list[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Nodes of sin2(theta) and their weights on [0, 1].

    `centres` and `widths` are the coincidence peaks in sin2, each (N, F). Returns two arrays (N, F, A).
    """
    smooth, smooth_weight = _gauss(grid.smooth)
    grazing, grazing_weight = _gauss(grid.grazing)
    peak, peak_weight = _gauss(grid.peak)
    total = grid.smooth + grid.grazing + grid.peak * len(centres)
    shape = centres[0].shape if centres else (1, 1)
    nodes = [np.broadcast_to(smooth, (*shape, grid.smooth)), np.broadcast_to(1.0 - grazing**2, (*shape, grid.grazing))]
    weights = [
        np.broadcast_to(smooth_weight * (grid.smooth / total), (*shape, grid.smooth)),
        np.broadcast_to(grazing_weight * (grid.grazing / total), (*shape, grid.grazing)),
    ]
    lorentz = []
    for centre, width in zip(centres, widths, strict=True):
        low, high = np.arctan((0.0 - centre) / width), np.arctan((1.0 - centre) / width)
        span = (high - low)[..., None]
        s = centre[..., None] + width[..., None] * np.tan(low[..., None] + span * peak)
        nodes.append(np.clip(s, 0.0, 1.0 - 1e-12))
        weights.append(np.broadcast_to(peak_weight * (grid.peak / total), s.shape))
        lorentz.append((centre[..., None], width[..., None], width[..., None] / span))
    s = np.concatenate(nodes, axis=-1)
    density = grid.smooth / total + (grid.grazing / total) * 0.5 / np.sqrt(1.0 - s)
    for centre, width, scale in lorentz:
        density = density + (grid.peak / total) * scale / (width**2 + (s - centre) ** 2)
    return s, np.concatenate(weights, axis=-1) / density


FINE = Grid()
SEARCH = Grid(per_band=1, smooth=6, grazing=5, peak=4)
