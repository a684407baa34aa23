"""One leaf as a plate: surface mass, complex bending stiffness by frequency, radiation."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from .bands import SOUND_SPEED_M_S
from .constants import Constants
from .grid import Grid
from .inputs import Damping, Layer, Leaf

MODULUS_RATIO = 2.5
"""Plate modulus over shear modulus for a Poisson ratio of 0.2."""

NOMINAL_SIZE_M = 3.3
"""Square root of the area of a usual test wall."""

LEAST_LOSS = 0.005
"""Joints and edges damp every built-in leaf at least this much (Hopkins 2007: bare panels measure 0.005 and up)."""


LIMP = 1e-6 * (1.0 + 1j * LEAST_LOSS)
"""Next to no stiffness, in N m: keeps a limp leaf in the formulas of plates."""


def critical_frequency_hz(mass_kg_m2: np.ndarray, rigidity_nm: np.ndarray) -> np.ndarray:
    """Critical frequency in Hz of a plate (Cremer 1942)."""
    return SOUND_SPEED_M_S**2 / (2.0 * np.pi) * np.sqrt(mass_kg_m2 / np.maximum(rigidity_nm, 1e-9))


def bonded_rigidity_nm(layers: tuple[Layer, ...]) -> float:
    """Bending stiffness in N m of layers glued into one plate, about its neutral axis (laminate theory)."""
    edge = moment = area = 0.0
    for layer in layers:
        h = layer.thickness_mm / 1000.0
        modulus = 12.0 * layer.rigidity_nm / h**3
        area += modulus * h
        moment += modulus * h * (edge + h / 2.0)
        edge += h
    if area <= 0.0:
        return 0.0
    axis, edge, total = moment / area, 0.0, 0.0
    for layer in layers:
        h = layer.thickness_mm / 1000.0
        modulus = 12.0 * layer.rigidity_nm / h**3
        total += layer.rigidity_nm + modulus * h * (edge + h / 2.0 - axis) ** 2
        edge += h
    return total


def mean_loss(layers: tuple[Layer, ...], default: float) -> float:
    """Internal loss factor of a leaf: the layers' own, weighted by bending stiffness."""
    lost = total = 0.0
    for layer in layers:
        own, weight = layer.own_loss, layer.rigidity_nm + 1e-9
        lost += weight * (default if own is None else own)
        total += weight
    return max(lost / total, LEAST_LOSS)


def thick_plate_rigidity_nm(
    rigidity_nm: float, mass_kg_m2: float, thickness_m: float, frequency_hz: np.ndarray, shear_factor: float = 0.86
) -> np.ndarray:
    """Bending stiffness (F,) that a thin plate needs to carry the slower waves of a thick one.

    Mindlin's plate (1951) without rotary inertia: m w2 = B k4 / (1 + b k2), b = h2 E' / (12 K G). Waves end at the
    shear speed of the wall, where the formula of ISO 12354-1 annex B lets them fall below the speed of sound.
    """
    thin4 = mass_kg_m2 * (2.0 * np.pi * frequency_hz) ** 2 / rigidity_nm
    shear = thickness_m**2 / 12.0 * MODULUS_RATIO / shear_factor
    k2 = (shear * thin4 + np.sqrt((shear * thin4) ** 2 + 4.0 * thin4)) / 2.0
    return rigidity_nm * thin4 / (k2 * k2)


def masonry_edge_loss(mass_kg_m2: float, frequency_hz: np.ndarray, constants: Constants) -> np.ndarray:
    """Loss through the edges of a wall built into its surroundings; the form follows ISO 12354-1, annex C."""
    return constants.edge_loss * (mass_kg_m2 / 300.0) ** constants.edge_loss_mass / np.sqrt(frequency_hz)


def finite_size_loss(frequency_hz: np.ndarray, critical_hz: np.ndarray, constants: Constants) -> np.ndarray:
    """Width that a wall of 3.3 m adds to its coincidence, as a loss factor; only where few waves fit and near it.

    A finite plate answers to a band of wavenumbers about 1 / L wide (spatial windowing, Villot and others 2001).
    Far above coincidence the widening leaves the sum over angles as it is.
    """
    width = constants.size_loss * SOUND_SPEED_M_S / (2.0 * np.pi * frequency_hz * NOMINAL_SIZE_M)
    return width / (1.0 + (frequency_hz / (1.5 * critical_hz)) ** 4)


def damped_rigidity_nm(
    first: tuple[np.ndarray, float],
    second: tuple[complex, float],
    core: Damping,
    mass_kg_m2: float,
    frequency_hz: np.ndarray,
) -> np.ndarray:
    """Complex bending stiffness (F,) of two plates with a shear layer between (Ross, Ungar and Kerwin 1959).

    Each plate is its complex bending stiffness in N m and its thickness in m. The bending wave number depends on
    the result, so it is found by repetition.
    """
    (b1, h1), (b3, h3) = first, second
    k1, k3 = 12.0 * b1 / h1**2, 12.0 * b3 / h3**2
    h2 = core.thickness_mm / 1000.0
    arm = h2 + (h1 + h3) / 2.0
    omega = 2.0 * np.pi * frequency_hz
    k1, k3 = k1 + 1e-3, k3 + 1e-3  # a limp face has no stiffness to shear against
    stiffness = b1 + b3 + np.zeros(frequency_hz.shape, complex) + 1e-9
    shear = core.shear_modulus_pa * (1.0 + 1j * core.loss_factor) / h2 * (1.0 / k1.real + 1.0 / k3.real)
    coupled = k1 * k3 / (k1 + k3) * arm**2
    for _ in range(12):
        wave2 = omega * np.sqrt(mass_kg_m2 / np.abs(stiffness))
        ratio = shear / wave2
        stiffness = b1 + b3 + coupled * ratio / (1.0 + ratio)
    return stiffness


def _damped(leaf: Leaf, mass: float, loss: float, frequency_hz: np.ndarray) -> np.ndarray:
    """Stacks of more than two boards collapse pair by pair from the source side."""
    assert leaf.damping is not None
    layers = leaf.layers
    stiffness = np.full(frequency_hz.shape, layers[0].rigidity_nm * (1.0 + 1j * loss))
    thickness = layers[0].thickness_mm / 1000.0
    for layer in layers[1:]:
        h = layer.thickness_mm / 1000.0
        plate = (layer.rigidity_nm * (1.0 + 1j * loss), h)
        stiffness = damped_rigidity_nm((stiffness, thickness), plate, leaf.damping, mass, frequency_hz)
        thickness += h + leaf.damping.thickness_mm / 1000.0
    return stiffness


def _boards(leaf: Leaf, constants: Constants) -> tuple[float, complex]:
    """Surface mass and stiffness of boards, bonded or screwed, which is the same at every frequency."""
    mass = rigidity = lost = weights = 0.0
    for layer in leaf.layers:
        own, stiffness = layer.own_loss, layer.rigidity_nm
        mass += layer.mass_kg_m2
        rigidity += stiffness
        weights += stiffness + 1e-9
        lost += (stiffness + 1e-9) * (constants.board_loss if own is None else own)
    loss = max(lost / weights, LEAST_LOSS)
    if leaf.joined == "bonded":
        rigidity = bonded_rigidity_nm(leaf.layers)
    elif len(leaf.layers) > 1:
        loss += constants.stack_loss
    return mass, rigidity * (1.0 + 1j * loss) + LIMP


@lru_cache(maxsize=4096)
def _changing(leaf: Leaf, grid: Grid, constants: Constants) -> np.ndarray:
    """Stiffness (F,) of a damped or masonry leaf."""
    frequency, mass = grid.frequency_hz, leaf.mass_kg_m2
    loss = mean_loss(leaf.layers, constants.board_loss)
    if leaf.joined == "damped":
        stiffness = _damped(leaf, mass, loss, frequency)
        if leaf.is_masonry:
            stiffness = stiffness * (1.0 + 1j * masonry_edge_loss(mass, frequency, constants))
    else:
        rigidity = bonded_rigidity_nm(leaf.layers)
        thick = thick_plate_rigidity_nm(
            max(rigidity, 1e-6), mass, leaf.thickness_mm / 1000.0, frequency, constants.masonry_shear
        )
        widened = finite_size_loss(frequency, critical_frequency_hz(np.float64(mass), thick), constants)
        stiffness = thick * (1.0 + 1j * (loss + masonry_edge_loss(mass, frequency, constants) + widened))
    stiffness = np.asarray(stiffness, complex) + LIMP
    stiffness.setflags(write=False)
    return stiffness


def leaf_plates(leaves: Sequence[Leaf], grid: Grid, constants: Constants) -> tuple[np.ndarray, np.ndarray]:
    """Surface mass (N, 1) in kg/m2 and complex bending stiffness (N, F) in N m of leaves."""
    mass, stiffness = np.empty((len(leaves), 1)), np.empty((len(leaves), len(grid.frequency_hz)), complex)
    for i, leaf in enumerate(leaves):
        if leaf.joined == "damped" or leaf.is_masonry:
            mass[i], stiffness[i] = leaf.mass_kg_m2, _changing(leaf, grid, constants)
        else:
            mass[i], stiffness[i] = _boards(leaf, constants)
    return mass, stiffness


def radiation_of_free_waves(
    frequency_hz: np.ndarray,
    critical_hz: np.ndarray,
    length_m: np.ndarray,
    height_m: np.ndarray,
    speed_m_s: float = SOUND_SPEED_M_S,
) -> np.ndarray:
    """Radiation factor of free bending waves (ISO 12354-1:2017, annex B, after Maidanik and Leppington)."""
    f, fc = np.asarray(frequency_hz, float), np.asarray(critical_hz, float)
    area, around = length_m * height_m, 2.0 * (length_m + height_m)
    first_mode = speed_m_s**2 / (4.0 * fc) * (1.0 / length_m**2 + 1.0 / height_m**2)
    above = 1.0 / np.sqrt(np.clip(1.0 - fc / f, 1e-6, None))
    piston = 4.0 * area * (f / speed_m_s) ** 2
    small = np.sqrt(2.0 * np.pi * f * (length_m + height_m) / (16.0 * speed_m_s))
    ratio2 = np.clip(f / fc, 1e-9, 0.9999)
    ratio = np.sqrt(ratio2)
    edge = ((1.0 - ratio2) * np.log((1.0 + ratio) / (1.0 - ratio)) + 2.0 * ratio) / (
        4.0 * np.pi**2 * (1.0 - ratio2) ** 1.5
    )
    corner = 8.0 * speed_m_s**2 * (1.0 - 2.0 * ratio2) / (fc**2 * np.pi**4 * area * ratio * np.sqrt(1.0 - ratio2))
    below = around * speed_m_s / (area * fc) * edge + np.where(f > fc / 2.0, 0.0, corner)
    below = np.where((f < first_mode) & (below > piston), piston, below)
    large = np.where(f >= fc, above, below)
    tiny = np.where((f < fc) & (piston < small), piston, np.where((f > fc) & (above < small), above, small))
    return np.clip(np.where(first_mode <= fc / 2.0, large, tiny), 1e-6, 2.0)


def forced_radiation(
    wavenumber: np.ndarray, cosine: np.ndarray, area_m2: np.ndarray, around_m: np.ndarray
) -> np.ndarray:
    """Radiation factor of a finite panel driven at an angle, closed form (Davy 2009, JASA 126, 1871)."""
    half = 2.0 * area_m2 / around_m
    ka = 2.0 * wavenumber * half
    p = np.minimum(1.3 * np.sqrt(np.pi / ka), 1.0)
    h = 1.0 / np.maximum(2.0 / 3.0 * np.sqrt(ka / np.pi) - 0.124, 0.05)
    q2 = (2.0 * np.pi / (wavenumber**2 * area_m2)) ** 2
    g = np.maximum(cosine, h - (h / p - 1.0) * cosine)  # the line is the greater below p
    return 1.0 / np.sqrt(g * g + q2)
