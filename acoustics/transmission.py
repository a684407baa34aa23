"""Transmission factors of build-ups of one topology at once: (N build-ups, F sampled frequencies)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .bands import AIR_DENSITY_KG_M3, AIR_IMPEDANCE_PA_S_M, SOUND_SPEED_M_S
from .bridges import Tie, bridge_factor, tie_of
from .constants import Constants
from .fluid import gap_fluids
from .grid import Grid, angle_nodes
from .inputs import Element, Gap
from .leaf import critical_frequency_hz, forced_radiation, leaf_plate, radiation_of_free_waves
from .ratings import airborne_weighted_db


@dataclass(frozen=True)
class Plates:
    """One leaf position over the batch: mass (N, 1) and complex stiffness (N, F)."""

    mass: np.ndarray
    stiffness: np.ndarray
    masonry: bool


@dataclass(frozen=True)
class Cavity:
    """One gap position over the batch: fluids as (density, wavenumber squared (N, F), depth (N, 1))."""

    depth: np.ndarray
    filled: np.ndarray
    fluids: list[tuple[np.ndarray, np.ndarray, np.ndarray]]
    tie: Tie | None


def topology(element: Element) -> tuple:
    """Elements with equal topology can share one batch."""
    gaps = tuple((g.connection, g.fill is not None, _partly(g)) for g in element.gaps)
    return (tuple(leaf.is_masonry for leaf in element.leaves), gaps)


def _partly(gap: Gap) -> bool:
    return gap.fill is not None and gap.depth_mm - min(gap.fill.thickness_mm, gap.depth_mm) > 0.1


def _column(values: Sequence[float]) -> np.ndarray:
    return np.array(values, float)[:, None]


def _plates(elements: Sequence[Element], i: int, grid: Grid, constants: Constants) -> Plates:
    parts = [leaf_plate(e.leaves[i], grid, constants) for e in elements]
    return Plates(_column([m for m, _ in parts]), np.stack([b for _, b in parts]), elements[0].leaves[i].is_masonry)


def _cavity(elements: Sequence[Element], i: int, grid: Grid, constants: Constants) -> Cavity:
    gaps = [e.gaps[i] for e in elements]
    layers = [gap_fluids(g, grid, constants) for g in gaps]
    fluids = [
        (np.stack([x[j][0] for x in layers]), np.stack([x[j][1] for x in layers]), _column([x[j][2] for x in layers]))
        for j in range(len(layers[0]))
    ]
    depth = _column([g.depth_mm / 1000.0 for g in gaps])
    filled = _column([min(g.fill.thickness_mm / g.depth_mm, 1.0) if g.fill else 0.0 for g in gaps])
    return Cavity(depth, filled, fluids, tie_of(gaps[0].connection, constants))


class Batch:
    """The arrays of a batch and the factors that several terms of the model share."""

    def __init__(self, elements: Sequence[Element], grid: Grid, constants: Constants) -> None:
        self.grid, self.constants = grid, constants
        self.frequency = grid.frequency_hz[None, :]
        self.omega = 2.0 * np.pi * self.frequency
        self.wavenumber = self.omega / SOUND_SPEED_M_S
        self.leaves = [_plates(elements, i, grid, constants) for i in range(len(elements[0].leaves))]
        self.cavities = [_cavity(elements, i, grid, constants) for i in range(len(elements[0].gaps))]
        self.length = _column([e.size_m[0] for e in elements])
        self.height = _column([e.size_m[1] for e in elements])
        self.area = self.length * self.height
        self.around = 2.0 * (self.length + self.height)
        self.strips = self._strips()
        self._sample_angles()

    def _strips(self) -> list[np.ndarray | None]:
        """Angular resonance (N, F) of the board strips between rigid supports, per leaf."""
        strips: list[np.ndarray | None] = [None] * len(self.leaves)
        for j, cavity in enumerate(self.cavities):
            if cavity.tie is None:
                continue
            for i, factor, spacing in zip((j, j + 1), cavity.tie.strip, cavity.tie.strip_spacing_m, strict=True):
                plates = self.leaves[i]
                if factor and not plates.masonry:
                    own = factor * np.pi**2 / spacing**2 * np.sqrt(np.abs(plates.stiffness) / plates.mass)
                    strips[i] = own if strips[i] is None else np.maximum(strips[i], own)
        return strips

    def _sample_angles(self) -> None:
        centres, widths = [], []
        for i, plates in enumerate(self.leaves[:2]):
            fc = critical_frequency_hz(plates.mass, plates.stiffness.real)
            loss = plates.stiffness.imag / plates.stiffness.real
            centre = fc / self.frequency
            air = 2.0 * AIR_IMPEDANCE_PA_S_M / (self.omega * plates.mass)
            width = (0.7 + 1.3 * i) * centre * (loss + air) / 2.0 + 0.003
            beyond = np.maximum(centre - 1.0, 0.0)
            centres.append(np.minimum(centre, 1.0))
            widths.append(np.minimum(width + beyond, 3.0))
        self.s, weights = angle_nodes(self.grid, centres, widths)
        self.cosine = np.sqrt(1.0 - self.s)
        forced = forced_radiation(self.wavenumber[..., None], self.cosine, self.area[..., None], self.around[..., None])
        self.weights = weights * np.minimum(forced * self.cosine, 1.5)

    def impedance(self, i: int) -> np.ndarray:
        """Impedance of leaf i over that of air (N, F, A), with the stiffness of strips between supports."""
        plates, strip = self.leaves[i], self.strips[i]
        inertia = 1j * self.omega * plates.mass / AIR_IMPEDANCE_PA_S_M
        bending = 1j * plates.stiffness * self.wavenumber**4 / (self.omega * AIR_IMPEDANCE_PA_S_M)
        if strip is not None:
            inertia = inertia - 1j * plates.mass * strip**2 * (1.0 + 0.1j) / (self.omega * AIR_IMPEDANCE_PA_S_M)
        return inertia[..., None] - bending[..., None] * (self.s * self.s)

    def diffuse(self, factor: np.ndarray) -> np.ndarray:
        """Diffuse-field mean (N, F) of a factor by angle (N, F, A)."""
        return np.sum(factor * self.weights, axis=-1)


def _through(batch: Batch, impedances: Sequence[np.ndarray], cavities: Sequence[Cavity]) -> np.ndarray:
    """Transfer-matrix factor by angle (N, F, A) of plates with fluids between (e.g. Vigran 2008, ch. 8)."""
    c = batch.cosine
    # Carry pressure and velocity back from a unit transmitted wave: two numbers instead of a matrix product.
    velocity = c + 0j
    pressure = 1.0 + impedances[-1] * velocity
    for impedance, cavity in zip(impedances[-2::-1], cavities[::-1], strict=True):
        for density, wave2, depth in cavity.fluids[::-1]:
            normal = np.sqrt(wave2[..., None] - batch.s)
            normal = np.where(normal.imag > 0.0, -normal, normal)
            phase = normal * (batch.wavenumber * depth)[..., None]
            ratio = density[..., None] / normal
            e = np.exp(1j * phase)
            back = 1.0 / e
            cos, sin = 0.5 * (e + back), 0.5 * (e - back)
            pressure, velocity = pressure * cos + velocity * sin * ratio, pressure * sin / ratio + velocity * cos
        pressure = pressure + impedance * velocity
    return 4.0 / np.abs(pressure + velocity / c) ** 2


def _single(batch: Batch, i: int) -> np.ndarray:
    """Diffuse factor (N, F) of leaf i alone, without supports."""
    plates = batch.leaves[i]
    bending = plates.stiffness * batch.wavenumber**4 / batch.omega
    z = 1j * (batch.omega * plates.mass)[..., None] - 1j * bending[..., None] * (batch.s * batch.s)
    return batch.diffuse(1.0 / np.abs(1.0 + z * batch.cosine / (2.0 * AIR_IMPEDANCE_PA_S_M)) ** 2)


def _limp(batch: Batch) -> np.ndarray:
    """Diffuse factor (N, F) of a limp sheet of the whole mass."""
    mass = sum(plates.mass for plates in batch.leaves)
    z = (batch.omega * mass / (2.0 * AIR_IMPEDANCE_PA_S_M))[..., None] * batch.cosine
    return batch.diffuse(1.0 / (1.0 + z * z))


def _free_waves(batch: Batch) -> np.ndarray:
    """Factor (N, F) of free bending waves of a single leaf below its critical frequency (ISO 12354-1, annex B)."""
    plates, f = batch.leaves[0], batch.frequency
    fc = critical_frequency_hz(plates.mass, plates.stiffness.real)
    loss = plates.stiffness.imag / plates.stiffness.real
    sigma = radiation_of_free_waves(f, fc, batch.length, batch.height)
    shape = (batch.length + batch.height) ** 2 / (batch.length**2 + batch.height**2)
    factor = (2.0 * AIR_IMPEDANCE_PA_S_M / (batch.omega * plates.mass)) ** 2 * shape * np.sqrt(fc / f) * sigma**2 / loss
    return np.where(f < 0.9 * fc, factor, 0.0)


def _double(batch: Batch) -> np.ndarray:
    """Airborne factor (N, F) of leaves and cavities."""
    factor = batch.diffuse(_through(batch, [batch.impedance(i) for i in range(len(batch.leaves))], batch.cavities))
    held = [strip for strip in batch.strips if strip is not None]
    if held:
        # Below the resonance of strips and cavity the wall moves as one, and no stiffer than its mass.
        strip2 = sum(strip**2 for strip in held) / len(held)
        first, second, cavity = batch.leaves[0], batch.leaves[1], batch.cavities[0]
        spring2 = AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2 / cavity.depth * (1.0 / first.mass + 1.0 / second.mass)
        factor = np.where(batch.omega**2 < strip2 + spring2, np.maximum(factor, _limp(batch)), factor)
    if len(batch.leaves) == 2:
        factor = factor + _reverberant(batch)
    return factor


def _reverberant(batch: Batch) -> np.ndarray:
    """Factor (N, F) of a reverberant field in the cavity, which carries sound at coincidence."""
    constants, cavity = batch.constants, batch.cavities[0]
    absorption = constants.empty_absorption + (1.0 - constants.empty_absorption) * np.sqrt(cavity.filled)
    knee = SOUND_SPEED_M_S / (2.0 * np.pi * cavity.depth)
    weight = 10.0 ** (-constants.reverberant_db / 10.0) / (1.0 + (knee / batch.frequency) ** 4)
    return _single(batch, 0) * _single(batch, 1) / absorption * weight


def _bridged(batch: Batch, factor: np.ndarray) -> np.ndarray:
    """Add what the connections carry; with three leaves each pair raises the factor by its own ratio."""
    for j, cavity in enumerate(batch.cavities):
        if cavity.tie is None:
            continue
        pair = batch.leaves[j : j + 2]
        first, second = ((p.mass, p.stiffness) for p in pair)
        bridge = bridge_factor(cavity.tie, first, second, cavity.depth, batch.frequency, batch.constants)
        if len(batch.leaves) == 2:
            factor = factor + bridge
        else:
            alone = batch.diffuse(_through(batch, [batch.impedance(j), batch.impedance(j + 1)], [cavity]))
            factor = factor * (1.0 + bridge / alone)
    return factor


def _surround(batch: Batch) -> np.ndarray:
    """Factor (1, F) of what no laboratory or building keeps out: surrounds, edges and leaks."""
    c = batch.constants
    ceiling = np.minimum(c.ceiling_db + c.ceiling_slope_db * np.log10(batch.frequency / 100.0), c.ceiling_cap_db)
    return 10.0 ** (-ceiling / 10.0)


def batch_reduction_db(elements: Sequence[Element], grid: Grid, constants: Constants) -> np.ndarray:
    """Sound reduction index (N, 21) in dB of elements of one topology, before any anchoring of masonry."""
    batch = Batch(elements, grid, constants)
    if len(batch.leaves) == 1:
        factor = batch.diffuse(_through(batch, [batch.impedance(0)], [])) + _free_waves(batch)
    else:
        factor = _bridged(batch, _double(batch))
    return -10.0 * np.log10(grid.band_mean(factor + _surround(batch)))


def mass_law_weighted_db(mass_kg_m2: float) -> float:
    """Weighted reduction of a heavy wall by mass alone in dB (UK mass law, ISO 12354-1 annex B, from memory)."""
    return 21.65 * float(np.log10(max(mass_kg_m2, 50.0))) - 2.3


def weighted_tenths_db(reduction_db: np.ndarray) -> np.ndarray:
    return airborne_weighted_db(reduction_db, whole=False)
