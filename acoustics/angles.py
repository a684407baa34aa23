"""Integrals over the angle of incidence: what plates and fluids let through from a diffuse field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .bands import AIR_IMPEDANCE_PA_S_M, SOUND_SPEED_M_S
from .grid import REAL, Grid, angle_nodes
from .leaf import critical_frequency_hz, forced_radiation

Fluid = tuple[np.ndarray, np.ndarray, np.ndarray]
"""Relative density (N, F), relative wavenumber squared (N, F), depth in m (N, 1)."""


@dataclass(frozen=True)
class Space:
    """What lies between two leaves: fluids, the frequency from which sound runs along them, and a
    spring in Pa/m beside them."""

    fluids: list[Fluid]
    lateral_hz: float = 0.0
    spring_pa_m: float = 0.0


class Angles:
    """Angle nodes over a range of the sampled frequencies, with finite-size weights; arrays are (N, F, A) or broadcast."""

    def __init__(
        self, grid: Grid, span: slice, nodes: tuple[np.ndarray, np.ndarray], size: tuple[np.ndarray, np.ndarray]
    ) -> None:
        s, weights = nodes
        length, height = size
        self.span = span
        self.omega = 2.0 * np.pi * grid.frequency_hz[None, span]
        self.wavenumber = self.omega / SOUND_SPEED_M_S
        self.s, self.s2 = s, s * s
        self.cosine = np.sqrt(1.0 - s)
        self.secant = 1.0 / self.cosine
        area, around = length * height, 2.0 * (length + height)
        forced = forced_radiation(_real(self.wavenumber), self.cosine, _real(area), _real(around))
        self.weights = weights * np.minimum(forced * self.cosine, REAL(1.5))

    def impedance(
        self, mass: np.ndarray, stiffness: np.ndarray, strip: np.ndarray | None = None, strip_loss: float = 0.0
    ) -> np.ndarray:
        """Impedance (N, F, A) of a leaf over that of air, plus the secant of the angle.

        `strip` (N, F) is the angular resonance of the strips that rigid supports make of a board, `strip_loss` their
        loss factor.
        """
        stiffness = stiffness[:, self.span] * self.wavenumber**4 / (self.omega * AIR_IMPEDANCE_PA_S_M)
        inertia = self.omega * mass / AIR_IMPEDANCE_PA_S_M
        resistance: np.ndarray | float = 0.0
        if strip is not None:
            held = mass * strip[:, self.span] ** 2 / (self.omega * AIR_IMPEDANCE_PA_S_M)
            inertia, resistance = inertia - held, strip_loss * held
        whole = np.empty(np.broadcast_shapes((*stiffness.shape, 1), self.s2.shape), np.complex64)
        whole.real = _real(stiffness.imag) * self.s2 + (self.secant + _real(np.asarray(resistance + 0.0 * inertia)))
        whole.imag = _real(inertia) - _real(stiffness.real) * self.s2
        return whole

    def diffuse(self, factor: np.ndarray) -> np.ndarray:
        """Diffuse-field mean (N, F) of a factor by angle (N, F, A)."""
        return np.sum(factor * self.weights, axis=-1, dtype=float)

    def through(self, impedances: Sequence[np.ndarray], spaces: Sequence[Space]) -> np.ndarray:
        """Diffuse factor (N, F) of plates with fluids between (transfer matrices, e.g. Vigran 2008, ch. 8).

        Pressure and velocity over the cosine are carried back from a unit transmitted wave: two numbers instead of
        a matrix product. The secants of the air on both sides are already in the impedances.
        """
        pressure: np.ndarray = impedances[-1]
        velocity: np.ndarray | None = None  # one, until the first fluid has been crossed
        scale: np.ndarray | np.float32 = REAL(1.0)
        for impedance, space in zip(impedances[-2::-1], list(spaces)[::-1], strict=True):
            for even, over, under in self._layers(space):
                if velocity is None:
                    pressure, velocity = pressure * even + over, pressure * under + even
                else:
                    pressure, velocity = pressure * even + velocity * over, pressure * under + velocity * even
            pressure = pressure + impedance * velocity
            if impedance is not impedances[0]:
                pressure -= self.secant * velocity  # an inner plate has no air of its own
                shrink = REAL(1.0) / np.maximum(np.abs(pressure), REAL(1.0))  # keeps many leaves in range
                pressure, velocity, scale = pressure * shrink, velocity * shrink, scale * shrink
        if velocity is None:
            pressure = pressure + self.secant
        amplitude = REAL(2.0) * self.secant * scale / np.abs(pressure)
        return self.diffuse(amplitude * amplitude)

    def _layers(self, space: Space) -> Iterator[tuple[np.ndarray, np.ndarray, np.ndarray]]:
        """The layers of a space from the receiving side."""
        s = self.s
        if space.lateral_hz:
            ratio2 = (self.omega / (2.0 * np.pi * space.lateral_hz)) ** 2
            s = s * _real(ratio2 / (1.0 + ratio2))
        if space.spring_pa_m:
            yield self._sprung(space, s)
            return
        for fluid in space.fluids[::-1]:
            yield self._fluid(fluid, s)

    def _sprung(self, space: Space, s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """A thin cavity as the compliance of its fluids beside a spring that bridges it."""
        soft = sum(
            _complex(self.wavenumber * depth / density[:, self.span]) * (_complex(wave2[:, self.span]) - s)
            for density, wave2, depth in space.fluids
        )
        spring = _complex(self.omega * AIR_IMPEDANCE_PA_S_M / (space.spring_pa_m * (1.0 + 0.05j)) + 0j)
        under = 1j * soft * spring / (soft + spring)
        return np.ones_like(under), np.zeros_like(under), under.astype(np.complex64)

    def _fluid(self, fluid: Fluid, s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """cos, j sin times impedance, and j sin over impedance of a fluid layer (N, F, A)."""
        density, wave2, depth = fluid
        real, loss = _normal(wave2[:, self.span], s)
        way = _real(self.wavenumber * depth)
        x, y = real * way, np.minimum(loss * way, REAL(15.0))
        grow = np.exp(y) * REAL(0.5)
        fade = REAL(0.25) / grow
        cosh, sinh, cos, sin = grow + fade, grow - fade, np.cos(x), np.sin(x)
        odd = _join(cos * sinh, sin * cosh)
        inverse = 1.0 / (real * real + loss * loss)
        over, under = odd * _join(real * inverse, loss * inverse), odd * _join(real, -loss)
        heavy = density[:, self.span]
        if not np.all(heavy == 1.0):
            over, under = over * _complex(heavy), under * _complex(1.0 / heavy)
        return _join(cos * cosh, sin * sinh), over, under

    def single(self, impedance: np.ndarray) -> np.ndarray:
        """Diffuse factor (N, F) of one leaf alone from its impedance with secant."""
        amplitude = REAL(2.0) * self.secant / np.abs(impedance + self.secant)
        return self.diffuse(amplitude * amplitude)

    def limp(self, mass: np.ndarray) -> np.ndarray:
        """Diffuse factor (N, F) of a limp sheet."""
        z = _real(self.omega * mass / (2.0 * AIR_IMPEDANCE_PA_S_M)) * self.cosine
        return self.diffuse(1.0 / (1.0 + z * z))


def _real(values: np.ndarray) -> np.ndarray:
    return values.astype(REAL)[..., None]


def _complex(values: np.ndarray) -> np.ndarray:
    return values.astype(np.complex64)[..., None]


def _join(real: np.ndarray, imaginary: np.ndarray) -> np.ndarray:
    whole = np.empty(real.shape, np.complex64)
    whole.real, whole.imag = real, imaginary
    return whole


def _normal(wave2: np.ndarray, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Real part and minus imaginary part of sqrt(wave2 - s) for a lossy fluid, stable in single precision."""
    a = _real(wave2.real) - s
    b = _real(np.maximum(-wave2.imag, 1e-9))
    larger = np.sqrt((np.sqrt(a * a + b * b) + np.abs(a)) * REAL(0.5))
    smaller = b / (larger + larger)
    positive = a > 0
    return np.where(positive, larger, smaller), np.where(positive, smaller, larger)


def peaked_nodes(
    grid: Grid,
    span: slice,
    leaves: Sequence[tuple[np.ndarray, np.ndarray]],
    springs: np.ndarray | float,
    ringing: Sequence[tuple[np.ndarray, np.ndarray]] = (),
) -> tuple[np.ndarray, np.ndarray]:
    """Angle nodes and weights (N, F, A) that resolve the coincidence of each leaf (mass (N, 1), stiffness (N, F)).

    `springs` is the stiffness in N/m3 of the cavity beside the leaves, which moves their peaks a little. `ringing`
    are further peaks and widths (N, F), of leaves that ring on a tie or on a cavity with little loss.
    """
    frequency = grid.frequency_hz[None, span]
    omega = 2.0 * np.pi * frequency
    centres, widths = [], []
    for i, (mass, stiffness) in enumerate(leaves):
        stiffness = stiffness[:, span]
        centre = critical_frequency_hz(mass, stiffness.real) / frequency
        loss = stiffness.imag / stiffness.real
        air = AIR_IMPEDANCE_PA_S_M / (omega * mass)
        shift = springs / (omega**2 * mass)
        # Equal leaves get unequal widths, so that the nodes of the second add to those of the first.
        width = (0.8 + 0.7 * i) * centre * (loss + air + shift) / 2.0 + np.maximum(centre - 1.0, 0.0)
        centres.append(np.minimum(centre, 1.0).astype(REAL))
        widths.append(np.clip(width, 1e-5, 3.0).astype(REAL))
    for centre, width in ringing:
        centres.append(centre[:, span].astype(REAL))
        widths.append(np.clip(width[:, span], 1e-4, 3.0).astype(REAL))
    return angle_nodes(grid, centres, widths)


def angle_ranges(
    grid: Grid,
    plain_octaves: int,
    leaves: Sequence[tuple[np.ndarray, np.ndarray]],
    springs: np.ndarray | float,
    ringing: Sequence[tuple[np.ndarray, np.ndarray]],
    size: tuple[np.ndarray, np.ndarray],
) -> list[Angles]:
    """Plain nodes in the octaves where every leaf is far below coincidence, peaked nodes above."""
    start, end = 3 * plain_octaves * grid.per_band, len(grid.frequency_hz)
    ranges = []
    if start:
        ranges.append(Angles(grid, slice(0, start), grid.plain_rule, size))
    if start < end:
        span = slice(start, end)
        ranges.append(Angles(grid, span, peaked_nodes(grid, span, leaves, springs, ringing), size))
    return ranges
