"""Sound carried across a cavity by what ties the leaves: lines (studs, joists, bars) and points (clips, ties)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .bands import AIR_DENSITY_KG_M3, AIR_IMPEDANCE_PA_S_M, SOUND_SPEED_M_S
from .constants import Constants
from .inputs import Connection
from .leaf import critical_frequency_hz, radiation_of_free_waves


@dataclass(frozen=True)
class Tie:
    """A connection in the terms of the model: lines `spacing_m` apart, or `per_m2` points.

    `compliance` is m2/N for lines and m/N for points, on the side of the receiving leaf. `extra_db` is the loss of
    paths through plates and surrounds; an `edge` path is as dense as the surround is to the area. `thin` sections
    stiffen with frequency. `spring_pa_m` makes the points one spring beside that of the cavity. `strip` are the
    stiffness factors of the two leaves between supports and `strip_spacing_m` the support spacings they go with.
    `surround` is what reaches the receiving leaf through its edges beside the points.
    """

    spacing_m: float = 0.0
    per_m2: float = 0.0
    compliance: float = 0.0
    steel: bool = False
    thin: bool = False
    mass_kg_m: float = 0.0
    extra_db: float = 0.0
    edge: bool = False
    screwed: bool = True
    spring_pa_m: float = 0.0
    strip: tuple[float, float] = (0.0, 0.0)
    strip_spacing_m: tuple[float, float] = (0.0, 0.0)
    surround: Tie | None = None


POINT_STIFFNESS_N_M = {"clip": 1.0e5, "hanger": 5.0e4, "tie": 1.0e8}
"""Rubber clip 30 to 150 kN/m, sprung or rubber hanger 10 to 150 kN/m (from memory); wall ties from 2 MN/m for wire to
100 MN/m for the twisted strip of old cavity walls (Hopkins 2007, from memory): the strip is taken."""
POINTS_PER_M2 = {"clip": 2.0, "hanger": 1.5, "tie": 2.5}
PAD_STIFFNESS_N_M = 5.0e5
"""Rubber pad of 50 x 50 x 10 mm: 0.2 to 1 MN/m (from memory); one pad per 0.4 m of batten (common practice)."""
PADS_PER_M = 2.5
EDGE_SPACING = 1.5
"""Spacing of lines that a surround amounts to, in units of area over perimeter."""


def tie_of(connection: Connection, constants: Constants, *, masonry: bool = False) -> Tie | None:
    """The mechanical terms of a connection, or None where nothing touches; `masonry` when both leaves are."""
    c, kind, spacing = constants, connection.kind, connection.spacing_mm / 1000.0
    studs = (connection.stud_spacing_mm or connection.spacing_mm) / 1000.0
    if kind == "none":
        return None
    if kind == "timber_stud":
        return Tie(spacing_m=spacing, strip=(c.strip_timber,) * 2, strip_spacing_m=(spacing, spacing))
    if kind == "joist":
        return Tie(
            spacing_m=spacing,
            mass_kg_m=c.joist_mass_kg_m,
            strip=(c.strip_joist, c.strip_timber),
            strip_spacing_m=(spacing, spacing),
        )
    if kind == "steel_stud":
        return Tie(spacing_m=spacing, steel=True, strip=(c.strip_steel,) * 2, strip_spacing_m=(spacing, spacing))
    if kind == "resilient_bar":
        return Tie(
            spacing_m=spacing,
            compliance=c.bar_compliance,
            thin=True,
            strip=(c.strip_bar, c.strip_steel),
            strip_spacing_m=(studs, spacing),
        )
    if kind == "pad":
        return Tie(
            spacing_m=spacing,
            compliance=1.0 / (PAD_STIFFNESS_N_M * PADS_PER_M),
            strip=(c.strip_joist, c.strip_steel),
            strip_spacing_m=(spacing, spacing),
        )
    if kind == "staggered":
        return _through_edges(c.staggered_db)
    if kind == "separate":
        return _through_edges(c.separate_db)
    per_m2, stiffness = POINTS_PER_M2[kind], POINT_STIFFNESS_N_M[kind]
    if kind == "tie" and masonry:
        # Masonry bends in waves longer than the spacing of its ties, so that they act together.
        return Tie(spring_pa_m=per_m2 * stiffness)
    # What hangs from clips still meets the walls around it, as separate frames do.
    around = None if kind == "tie" else _through_edges(c.separate_db)
    return Tie(per_m2=per_m2, compliance=1.0 / stiffness, surround=around)


def _through_edges(loss_db: float) -> Tie:
    return Tie(spacing_m=EDGE_SPACING, edge=True, mass_kg_m=3.0, extra_db=loss_db, screwed=False)


def steel_stud_compliance(
    frequency_hz: np.ndarray,
    mass1: np.ndarray,
    mass2: np.ndarray,
    spacing_m: float,
    depth_m: np.ndarray,
    constants: Constants,
) -> np.ndarray:
    """Compliance of a light steel stud in m2/N.

    The shape is the regression of Davy, Guigou-Carter and Villet (2012, from memory); its level and its fall with
    frequency are fitted.
    """
    reduced = mass1 * mass2 / (mass1 + mass2)
    shape = (reduced / 5.0) ** -1.40 * (spacing_m / 0.6) ** 0.804 * (depth_m / 0.09) ** -0.729
    return constants.steel_compliance * shape * _stiffening(frequency_hz, constants)


def _stiffening(frequency_hz: np.ndarray, constants: Constants) -> np.ndarray:
    """How thin steel sections stiffen with frequency, one at 500 Hz."""
    return (frequency_hz / 500.0) ** -constants.steel_stiffening


def _resonant(
    leaf: tuple[np.ndarray, np.ndarray],
    frequency_hz: np.ndarray,
    length_m: np.ndarray,
    height_m: np.ndarray,
    share: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Growth of what a line and a point pass to (or take from) a leaf by its free bending waves.

    Power injected over near-field power, times radiation loss over total loss: (s / 2n) sqrt(fc / f) for a line and
    (pi / 4)(s / n)(fc / f) for a point, with radiation factor s and total loss n (after Cremer; the limit of Davy
    2010 above coincidence). Used on both leaves, as reciprocity asks. `share` is the part of the free waves that the
    supports leave.
    """
    mass, stiffness = leaf
    rigid = np.abs(stiffness)
    ratio = critical_frequency_hz(mass, rigid) / frequency_hz
    sigma = radiation_of_free_waves(frequency_hz, ratio * frequency_hz, length_m, height_m)
    loss = stiffness.imag / stiffness.real + AIR_IMPEDANCE_PA_S_M * sigma / (2.0 * np.pi * frequency_hz * mass)
    held = share * sigma / loss
    return 1.0 + held / 2.0 * np.sqrt(ratio), 1.0 + held * np.pi / 4.0 * ratio


def bridge_factor(
    tie: Tie,
    first: tuple[np.ndarray, np.ndarray],
    second: tuple[np.ndarray, np.ndarray],
    depth_m: np.ndarray,
    frequency_hz: np.ndarray,
    constants: Constants,
    size_m: tuple[np.ndarray, np.ndarray],
) -> np.ndarray:
    """Transmission factor (N, F) of one connection between two leaves, each (mass (N, 1), stiffness (N, F)).

    The free velocity of the first leaf drives the connection, the second leaf radiates from the line or point
    (Cremer's line force; Davy 1991; Vigran 2008, eq. 8.27). A screwed line turns into points where the bending
    wavelength falls below the screw pitch.
    """
    (m1, b1), (m2, b2) = first, second
    omega = 2.0 * np.pi * frequency_hz
    stiff1, stiff2 = np.abs(b1), np.abs(b2)
    fc1, fc2 = critical_frequency_hz(m1, stiff1), critical_frequency_hz(m2, stiff2)
    free2 = 8.0 * AIR_IMPEDANCE_PA_S_M / (omega * m1) ** 2
    length, height = size_m
    strips = [np.minimum(length, x) if x else length for x in tie.strip_spacing_m]
    share = constants.resonant_share
    line1, dot1 = _resonant(first, frequency_hz, strips[0], height, share)
    line2, dot2 = _resonant(second, frequency_hz, strips[1], height, share)
    point1, point2 = 8.0 * np.sqrt(stiff1 * m1), 8.0 * np.sqrt(stiff2 * m2)
    if tie.per_m2:
        force = 1.0 / (1.0 / point1 + 1.0 / point2 + 1j * omega * tie.compliance)
        radiated = AIR_DENSITY_KG_M3 / (2.0 * np.pi * SOUND_SPEED_M_S * m2**2)
        dots = tie.per_m2 * free2 * np.abs(force) ** 2 * radiated * dot1 * dot2
        if tie.surround is None:
            return dots
        return dots + bridge_factor(tie.surround, first, second, depth_m, frequency_hz, constants, size_m)
    compliance: np.ndarray | float = tie.compliance
    if tie.thin:
        compliance = compliance * _stiffening(frequency_hz, constants)
    if tie.steel:
        compliance = steel_stud_compliance(frequency_hz, m1, m2, tie.spacing_m, depth_m, constants)
    z1 = 2.0 * m1 * (stiff1 / m1) ** 0.25 * np.sqrt(omega) * (1.0 + 1j)
    z2 = 2.0 * m2 * (stiff2 / m2) ** 0.25 * np.sqrt(omega) * (1.0 + 1j)
    line = _line_force2(z1, z2, compliance, tie, 1.0, omega)
    spacing = tie.spacing_m * length * height / (2.0 * (length + height)) if tie.edge else tie.spacing_m
    factor = free2 * line * AIR_DENSITY_KG_M3 / (2.0 * omega * m2**2) / spacing * line1 * line2
    if tie.screwed:
        pitch = constants.screw_pitch_m
        force2 = _line_force2(point1, point2, compliance / pitch, tie, pitch, omega)
        points = (
            free2
            * force2
            * AIR_DENSITY_KG_M3
            / (2.0 * np.pi * SOUND_SPEED_M_S * m2**2)
            / (tie.spacing_m * pitch)
            * dot1
            * dot2
        )
        turn = SOUND_SPEED_M_S**2 / (np.maximum(fc1, fc2) * pitch**2)
        weight = 1.0 / (1.0 + (frequency_hz / turn) ** 2)
        factor = weight * factor + (1.0 - weight) * points
    return factor * 10.0 ** (-tie.extra_db / 10.0)


def _line_force2(
    z1: np.ndarray, z2: np.ndarray, compliance: np.ndarray | float, tie: Tie, pitch_m: float, omega: np.ndarray
) -> np.ndarray:
    """Squared force on the second leaf per unit free velocity of the first, through a mass and a spring."""
    spring = 1.0 + 1j * omega * compliance * z2
    mass = 1j * omega * tie.mass_kg_m * pitch_m
    return np.abs(z2 / (spring + (z2 + mass * spring) / z1)) ** 2
