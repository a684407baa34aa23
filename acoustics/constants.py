"""The model's shared constants. Each has a prior from physics or literature; FITTED holds the values in use.

The fit and its bounds are reproduced by ``python -m tests.bench.accuracy --fit``.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, eq=False)
class Constants:
    """Values shared by all constructions; none belongs to a single one."""

    board_loss: float = 0.01509
    stack_loss: float = 0.008537
    edge_loss: float = 0.8008
    edge_loss_mass: float = -0.08798
    size_loss: float = 0.8982
    mass_law_pull: float = 0.7709
    mass_law_db: float = 46.99
    mass_law_slope: float = 16.53
    masonry_shear: float = 0.6652
    masonry_leak_db: float = 67.54
    cavity_loss: float = 0.177
    lateral_hz: float = 348.5
    empty_resistivity: float = 63.37
    empty_resistivity_depth: float = 1.124
    reverberant_db: float = 13.2
    empty_absorption: float = 0.151
    strip_timber: float = 1.626
    strip_bar: float = 1.313
    strip_joist: float = 1.262
    strip_steel: float = 0.1986
    joist_mass_kg_m: float = 1.48
    resonant_share: float = 0.3734
    screw_pitch_m: float = 0.3695
    bar_compliance: float = 2.292e-06
    steel_compliance: float = 6.613e-07
    steel_stiffening: float = 1.018
    staggered_db: float = 5.156
    separate_db: float = 14.73
    ceiling_db: float = 54.91
    ceiling_slope_db: float = 18.87
    ceiling_cap_db: float = 95.0


FITTED = Constants()


@dataclass(frozen=True)
class Prior:
    """What physics or literature says of a constant before any fit.

    `spread` is the prior standard deviation, as a part of the value when `relative`. `low` and `high` bound the fit.
    """

    name: str
    value: float
    spread: float
    low: float
    high: float
    relative: bool
    origin: str


PRIORS: tuple[Prior, ...] = (
    Prior("board_loss", 0.0133, 0.3, 0.008, 0.03, True, "plasterboard 0.0125 to 0.0141, Hopkins (2007) table A2"),
    Prior("stack_loss", 0.008, 0.5, 0.001, 0.03, True, "friction between loosely screwed boards; no source found"),
    Prior("edge_loss", 1.0, 0.4, 0.2, 2.0, True, "total loss in situ 1 / sqrt(f), Craik, from memory"),
    Prior("edge_loss_mass", 0.0, 0.4, -1.0, 1.0, False, "heavier walls lose less through their edges; ISO 12354-1 annex C has the opposite sign in the laboratory"),
    Prior("size_loss", 1.0, 0.5, 0.05, 5.0, True, "a wall of few wavelengths cannot follow coincidence sharply: width 1 / kL of its window"),
    Prior("mass_law_pull", 0.5, 0.2, 0.0, 1.0, False, "0 trusts the plate model, 1 the mass law"),
    Prior("mass_law_db", 47.5, 1.0, 43.0, 52.0, False, "weighted reduction at 200 kg/m2: 21.65 lg m - 2.3, UK mass law, from memory"),
    Prior("mass_law_slope", 20.0, 3.0, 10.0, 38.0, False, "21.65 UK mass law; 30.9 and 37.5 in German and European formulas"),
    Prior("masonry_shear", 0.7, 0.4, 0.1, 1.0, True, "Mindlin's 0.86 for a homogeneous plate; mortar joints make masonry softer in shear"),
    Prior("masonry_leak_db", 68.0, 3.0, 55.0, 90.0, False, "pores, cracks and joints of bare masonry; measured walls level off at 55 to 70 dB"),
    Prior("cavity_loss", 0.2, 0.25, 0.02, 0.5, True, "loss of the air spring, 0.1 to 0.3 in double walls; from memory"),
    Prior("lateral_hz", 400.0, 0.6, 50.0, 3000.0, True, "half a wave between frames 0.4 to 0.6 m apart is 290 to 430 Hz; below it sound cannot run along the cavity"),
    Prior("empty_resistivity", 80.0, 0.6, 5.0, 500.0, True, "absorption of frames and edges in an empty cavity; no source found"),
    Prior("empty_resistivity_depth", 1.0, 0.3, 0.0, 2.0, False, "shape of the above with depth"),
    Prior("reverberant_db", 9.0, 3.0, 3.0, 15.0, False, "statistical energy analysis of the cavity gives 6 to 12 dB"),
    Prior("empty_absorption", 0.2, 0.5, 0.05, 0.6, True, "mean absorption of an empty cavity; common practice"),
    Prior("strip_timber", 1.6, 0.3, 0.5, 2.27, True, "1 hinged to 2.27 clamped at the studs"),
    Prior("strip_bar", 1.2, 0.4, 0.3, 2.27, True, "as strip_timber, for the side with studs"),
    Prior("strip_joist", 1.0, 0.4, 0.3, 2.27, True, "decks are nearer to hinged"),
    Prior("strip_steel", 0.2, 0.5, 0.0, 1.0, True, "light steel turns with the board"),
    Prior("joist_mass_kg_m", 1.5, 0.6, 0.1, 6.0, True, "part of a joist's 4 to 5.5 kg/m that moves as a mass"),
    Prior("resonant_share", 0.4, 0.6, 0.01, 1.5, True, "part of free bending waves that supports and edges leave in a bridged leaf"),
    Prior("screw_pitch_m", 0.35, 0.3, 0.2, 0.6, True, "screws at 0.2 to 0.4 m; common practice"),
    Prior("bar_compliance", 2.4e-6, 0.5, 2e-7, 2e-5, True, "resilient bar 4e5 N/m2 per metre"),
    Prior("steel_compliance", 3e-7, 0.6, 1e-8, 1e-5, True, "light steel stud at 500 Hz in m2/N, boards of 5 kg/m2 reduced mass; Davy and others (2012) give more, capped"),
    Prior("steel_stiffening", 1.0, 0.4, 0.0, 1.81, False, "compliance of thin sections falls with frequency; exponent 1.81 below a cap in Davy and others (2012)"),
    Prior("staggered_db", 8.0, 3.0, 0.0, 20.0, False, "sound through shared plates; no source found"),
    Prior("separate_db", 15.0, 3.0, 5.0, 30.0, False, "sound through the surrounds of separate frames; no source found"),
    Prior("ceiling_db", 55.0, 3.0, 45.0, 70.0, False, "flanking of the test facility at 100 Hz"),
    Prior("ceiling_slope_db", 20.0, 4.0, 5.0, 35.0, False, "its rise per decade"),
)  # fmt: skip
