"""Where the model samples frequency and angle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from .bands import EXACT_HZ, SOUND_SPEED_M_S

REAL = np.float32
"""Angle integrals are done in single precision: their quadrature error is a thousand times larger."""


@lru_cache(maxsize=64)
def _gauss(count: int) -> tuple[np.ndarray, np.ndarray]:
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1.0) / 2.0, weights / 2.0


@dataclass(frozen=True, eq=False)
class Grid:
    """Frequencies per third octave, angle nodes per proposal, and build-ups worked out at once.

    Angles are sampled in s = sin2(theta) by several overlapping proposals whose nodes are combined by the
    balance heuristic (Veach and Guibas 1995): Gauss-Legendre in s and in cos(theta) for the smooth part,
    and a Lorentz-shaped proposal for each leaf's coincidence peak, which is far narrower than any plain rule
    resolves.
    """

    per_band: int = 3
    smooth: int = 12
    grazing: int = 12
    peak: int = 8
    batch: int = 16

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

    @cached_property
    def plain_nodes(self) -> tuple[np.ndarray, np.ndarray]:
        """Nodes of the smooth and grazing proposals in s, and their Gauss weights (sum one in each proposal)."""
        smooth, smooth_weight = _gauss(self.smooth)
        grazing, grazing_weight = _gauss(self.grazing)
        nodes = np.concatenate([smooth, 1.0 - grazing**2])
        return nodes.astype(REAL), np.concatenate([smooth_weight, grazing_weight]).astype(REAL)

    @cached_property
    def plain_counts(self) -> np.ndarray:
        return np.concatenate([np.full(self.smooth, self.smooth), np.full(self.grazing, self.grazing)]).astype(REAL)

    def plain_density(self, s: np.ndarray) -> np.ndarray:
        """Density of the plain proposals at s, times their number of nodes."""
        return self.smooth + (0.5 * self.grazing) / np.sqrt(1.0 - s)

    @cached_property
    def plain_rule(self) -> tuple[np.ndarray, np.ndarray]:
        """Nodes and weights on [0, 1] for functions without a coincidence peak."""
        nodes, weights = self.plain_nodes
        return nodes, weights * self.plain_counts / self.plain_density(nodes)

    @cached_property
    def sharper(self) -> Grid:
        """Twice the nodes at each peak, for heavy leaves on ties, whose peaks split and stand close."""
        return replace(self, peak=2 * self.peak)


def angle_nodes(grid: Grid, centres: list[np.ndarray], widths: list[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Nodes of sin2(theta) and their weights on [0, 1].

    `centres` and `widths` are the coincidence peaks in sin2, each (N, F). Returns two arrays (N, F, A).
    """
    plain, plain_weight = grid.plain_nodes
    peak, peak_weight = (x.astype(REAL) for x in _gauss(grid.peak))
    count = len(plain) + grid.peak * len(centres)
    s = np.empty((*centres[0].shape, count), REAL)
    weights = np.empty_like(s)
    s[..., : len(plain)] = plain
    weights[..., : len(plain)] = plain_weight * grid.plain_counts
    lorentz = []
    for i, (centre, width) in enumerate(zip(centres, widths, strict=True)):
        place = slice(len(plain) + i * grid.peak, len(plain) + (i + 1) * grid.peak)
        low, high = np.arctan((0.0 - centre) / width), np.arctan((1.0 - centre) / width)
        angle = low[..., None] + (high - low)[..., None] * peak
        s[..., place] = centre[..., None] + width[..., None] * (np.sin(angle) / np.cos(angle))
        weights[..., place] = peak_weight * grid.peak
        lorentz.append((centre[..., None], (width**2)[..., None], (grid.peak * width / (high - low))[..., None]))
    np.clip(s, 0.0, 0.999999, out=s)
    density = grid.plain_density(s)
    for centre, width2, scale in lorentz:
        offset = s - centre
        density += scale / (width2 + offset * offset)
    weights /= density
    return s, weights


# glibc gives large freed blocks back to the system and fetches them again, page by page, for every temporary array.
# One large block freed up front raises its threshold; elsewhere this does nothing.
_block = np.empty(3_900_000)
del _block

FINE = Grid(per_band=5, smooth=6, grazing=10, peak=11, batch=64)
SEARCH = Grid(per_band=2, smooth=1, grazing=3, peak=4, batch=512)
