"""Integrals over the angle of incidence: what plates and fluids let through from a diffuse field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .bands import AIR_IMPEDANCE_PA_S_M, SOUND_SPEED_M_S
from .fluid import Fluid
from .grid import REAL, Grid, angle_nodes
from .leaf import critical_frequency_hz, forced_radiation

MOST_LOSS = REAL(18.0)
"""Twice the attenuation in a fluid layer, in nepers, beyond which it no longer matters beside flanking and leaks: 78 dB."""
SCALE = 1e-12
"""Keeps squared pressures in range of single precision."""
LEAST_COSINE = REAL(1e-6)
"""Keeps the tangent in range of single precision at a quarter wave without loss."""


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
        self.open2 = REAL(4.0) * self.secant * self.secant
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
        return np.einsum("nfa,nfa->nf", factor, np.broadcast_to(self.weights, factor.shape)).astype(float)

    def through(self, impedances: Sequence[np.ndarray], spaces: Sequence[Space]) -> np.ndarray:
        """Diffuse factor (N, F) of plates with fluids between (transfer matrices, e.g. Vigran 2008, ch. 8).

        Pressure and velocity over the cosine are carried back from a unit transmitted wave: two numbers instead of
        a matrix product. The secants of the air on both sides are already in the impedances. Of each fluid the cosine
        of its phase is taken out in front, and counts by its square alone.
        """
        pressure: np.ndarray = impedances[-1]
        velocity: np.ndarray | None = None  # one, until the first fluid has been crossed
        squared: np.ndarray | np.float32 = REAL(1.0)
        shrunk: np.ndarray | np.float32 = REAL(SCALE)
        for impedance, space in zip(impedances[-2::-1], list(spaces)[::-1], strict=True):
            for cosine2, over, under in self._layers(space):
                if velocity is None:
                    pressure, velocity = pressure + over, pressure * under + REAL(1.0)
                else:
                    pressure, velocity = pressure + velocity * over, velocity + pressure * under
                squared = squared * cosine2
            pressure = pressure + impedance * velocity
            if impedance is not impedances[0]:
                pressure -= self.secant * velocity  # an inner plate has no air of its own
                shrink = REAL(1.0) / np.maximum(np.abs(pressure), REAL(1.0))  # keeps many leaves in range
                pressure, velocity, shrunk = pressure * shrink, velocity * shrink, shrunk * shrink
        if velocity is None:
            pressure = pressure + self.secant
        open2 = self.open2 * (shrunk * shrunk)
        return self.diffuse(open2 / (squared * _square(REAL(SCALE) * pressure)))

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
        return np.ones(under.shape, REAL), np.zeros_like(under), under.astype(np.complex64)

    def _fluid(self, fluid: Fluid, s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Squared cosine of the phase, and j times its tangent times and over the impedance, of a fluid layer (N, F, A).

        With the phase x - j y: |cos|2 = (cos 2x + cosh 2y) / 2 and tan = (sin 2x - j sinh 2y) / (cos 2x + cosh 2y).
        """
        density, wave2, depth = fluid
        real, loss = _normal(wave2[:, self.span], s)
        way = _real(2.0 * self.wavenumber * depth)
        x, y = real * way, loss * way
        np.minimum(y, MOST_LOSS, out=y)
        grow = np.exp(y, out=y)
        grow *= REAL(0.5)
        fade = REAL(0.25) / grow
        whole = np.cos(x)
        whole += grow
        whole += fade
        np.maximum(whole, LEAST_COSINE, out=whole)
        grow -= fade
        sine, sinh = np.sin(x, out=x), grow
        sine /= whole
        sinh /= whole
        whole *= REAL(0.5)
        under, over = np.empty(x.shape, np.complex64), np.empty(x.shape, np.complex64)
        inverse = REAL(1.0) / (real * real + loss * loss)
        sr, sl, hr, hl = sine * real, sine * loss, sinh * real, sinh * loss
        np.add(sl, hr, out=under.real)
        np.subtract(sr, hl, out=under.imag)
        hr -= sl
        sr += hl
        np.multiply(hr, inverse, out=over.real)
        np.multiply(sr, inverse, out=over.imag)
        heavy = density[:, self.span]
        if not np.all(heavy == 1.0):
            over *= _complex(heavy)
            under *= _complex(1.0 / heavy)
        return whole, over, under

    def single(self, impedance: np.ndarray) -> np.ndarray:
        """Diffuse factor (N, F) of one leaf alone from its impedance with secant."""
        return self.diffuse(self.open2 / _square(impedance + self.secant))

    def limp(self, mass: np.ndarray) -> np.ndarray:
        """Diffuse factor (N, F) of a limp sheet."""
        z = _real(self.omega * mass / (2.0 * AIR_IMPEDANCE_PA_S_M)) * self.cosine
        return self.diffuse(1.0 / (1.0 + z * z))


def _square(values: np.ndarray) -> np.ndarray:
    """Squared magnitude, without the root that np.abs takes."""
    return values.real * values.real + values.imag * values.imag


def _real(values: np.ndarray) -> np.ndarray:
    return values.astype(REAL)[..., None]


def _complex(values: np.ndarray) -> np.ndarray:
    return values.astype(np.complex64)[..., None]


def _normal(wave2: np.ndarray, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Real part and minus imaginary part of sqrt(wave2 - s) for a lossy fluid, stable in single precision."""
    a = _real(wave2.real) - s
    b = _real(np.maximum(-wave2.imag, 1e-9))
    real = a * a
    real += b * b
    np.sqrt(real, out=real)
    real += np.abs(a)
    real *= REAL(0.5)
    np.sqrt(real, out=real)
    loss = (b * REAL(0.5)) / real
    beyond = np.nonzero(a < 0.0)  # few angles, next to grazing
    real[beyond], loss[beyond] = loss[beyond], real[beyond]
    return real, loss


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
