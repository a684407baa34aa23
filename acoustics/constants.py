"""The model's shared constants. Each has a prior from physics or literature; FITTED holds the values in use.

``python -m tests.bench.accuracy --fit`` fits them anew and prints them beside their priors and bounds.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, eq=False)
class Constants:
    """Values shared by all constructions; none belongs to a single one. PRIORS says what each means."""

    board_loss: float = 0.0144
    stack_loss: float = 0.008
    edge_loss: float = 1.0
    edge_loss_mass: float = 0.0
    size_loss: float = 1.0
    mass_law_pull: float = 0.711
    mass_law_db: float = 46.9
    mass_law_slope: float = 17.0
    masonry_shear: float = 0.7
    masonry_leak_db: float = 68.0
    cavity_loss: float = 0.182
    lateral_hz: float = 400.0
    reverberant_db: float = 13.2
    empty_absorption: float = 0.186
    strip_timber: float = 1.62
    strip_bar: float = 1.34
    strip_joist: float = 1.07
    strip_steel: float = 0.2
    strip_loss: float = 0.181
    joist_mass_kg_m: float = 1.5
    resonant_share: float = 0.326
    screw_pitch_m: float = 0.35
    bar_compliance: float = 2.25e-06
    steel_compliance: float = 6.38e-07
    steel_stiffening: float = 1.0
    staggered_db: float = 6.96
    separate_db: float = 15.7
    ceiling_db: float = 54.7
    ceiling_slope_db: float = 20.0
    ceiling_cap_db: float = 95.0


FITTED = Constants()


@dataclass(frozen=True)
class Prior:
    """What physics or literature says of a constant before any fit.

    `spread` is the prior standard deviation, as a part of the value when `relative`; a constant without spread is
    held at its prior, since the measurements say nothing against it. `low` and `high` bound the fit.
    """

    name: str
    meaning: str
    value: float
    spread: float
    low: float
    high: float
    relative: bool
    origin: str


PRIORS: tuple[Prior, ...] = (
    Prior("board_loss", "internal loss factor of boards that give none", 0.0133, 0.3, 0.008, 0.03, True, "plasterboard 0.0125 to 0.0141, Hopkins (2007) table A2"),
    Prior("stack_loss", "loss factor that screwed stacks add by friction", 0.008, 0.0, 0.001, 0.03, True, "two boards measure about 0.02 in all; from memory"),
    Prior("edge_loss", "loss of built-in masonry through its edges, times sqrt(f)", 1.0, 0.0, 0.2, 2.0, True, "total loss in situ 1 / sqrt(f), Craik, from memory"),
    Prior("edge_loss_mass", "exponent of that loss with mass", 0.0, 0.0, -1.0, 1.0, False, "none in Craik's law; ISO 12354-1 annex C has 1 in the laboratory"),
    Prior("size_loss", "widening of a wall's coincidence by its size, in 1 / kL", 1.0, 0.0, 0.05, 5.0, True, "width 1 / kL of a finite plate's window of wavenumbers"),
    Prior("mass_law_pull", "share of the mass law in bare masonry", 0.5, 0.2, 0.0, 1.0, False, "0 trusts the plate model, 1 the mass law"),
    Prior("mass_law_db", "weighted reduction of masonry of 200 kg/m2 in dB", 47.5, 1.0, 43.0, 52.0, False, "21.65 lg m - 2.3, UK mass law, from memory"),
    Prior("mass_law_slope", "its rise per decade of mass in dB", 20.0, 3.0, 10.0, 38.0, False, "21.65 UK mass law; 30.9 and 37.5 in German and European formulas"),
    Prior("masonry_shear", "shear factor of masonry", 0.7, 0.0, 0.1, 1.0, True, "Mindlin's 0.86 for a homogeneous plate; mortar joints make masonry softer in shear"),
    Prior("masonry_leak_db", "limit that pores and joints of bare masonry set in dB", 68.0, 0.0, 55.0, 90.0, False, "measured walls level off at 55 to 70 dB"),
    Prior("cavity_loss", "loss factor of the air spring by fibre, or between board and timber", 0.2, 0.25, 0.02, 0.5, True, "0.1 to 0.3 in double walls; from memory"),
    Prior("lateral_hz", "frequency in Hz below which sound cannot run along a filled cavity", 400.0, 0.0, 50.0, 3000.0, True, "half a wave between frames 0.4 to 0.6 m apart is 290 to 430 Hz"),
    Prior("reverberant_db", "reverberant field of a cavity, dB below leaf times leaf", 9.0, 3.0, 3.0, 15.0, False, "statistical energy analysis of the cavity gives 6 to 12 dB"),
    Prior("empty_absorption", "absorption of the edges of an empty cavity", 0.2, 0.5, 0.05, 0.6, True, "timber and board reveals 0.1 to 0.3; common practice"),
    Prior("strip_timber", "stiffness of board strips between timber studs, 1 hinged", 1.6, 0.3, 0.5, 2.27, True, "1 hinged to 2.27 clamped at the studs"),
    Prior("strip_bar", "the same on the stud side of resilient bars", 1.2, 0.4, 0.3, 2.27, True, "as strip_timber"),
    Prior("strip_joist", "the same for decks on joists", 1.0, 0.4, 0.3, 2.27, True, "decks are nearer to hinged"),
    Prior("strip_steel", "the same on light steel", 0.2, 0.0, 0.0, 1.0, True, "light steel turns with the board"),
    Prior("strip_loss", "loss factor of the strips at their supports", 0.15, 0.5, 0.03, 0.5, True, "screwed panels measure 0.05 to 0.3 at their first resonance; from memory"),
    Prior("joist_mass_kg_m", "part of a joist that moves as a mass in kg/m", 1.5, 0.0, 0.1, 6.0, True, "a third of a joist's 4 to 5.5 kg/m"),
    Prior("resonant_share", "share of free bending waves that supports leave in a bridged leaf", 0.4, 0.6, 0.01, 1.5, True, "1 in Davy (2010); frames and screws take a part"),
    Prior("screw_pitch_m", "pitch in m at which a line turns into points", 0.35, 0.0, 0.2, 0.6, True, "screws at 0.2 to 0.4 m; common practice"),
    Prior("bar_compliance", "compliance of a resilient bar in m2/N", 2.4e-6, 0.5, 2e-7, 2e-5, True, "stiffness 4e5 N/m2 per metre of bar"),
    Prior("steel_compliance", "compliance of a light steel stud at 500 Hz in m2/N, boards of 5 kg/m2 reduced mass", 3e-7, 0.6, 1e-8, 1e-5, True, "Davy and others (2012) give more, capped"),
    Prior("steel_stiffening", "exponent of the fall of compliance of thin steel with frequency", 1.0, 0.0, 0.0, 1.81, False, "1.81 below a cap in Davy and others (2012), nothing above it"),
    Prior("staggered_db", "loss in dB through shared plates of staggered studs", 8.0, 3.0, 0.0, 20.0, False, "no source found"),
    Prior("separate_db", "loss in dB through the surrounds of separate frames and hung ceilings", 15.0, 3.0, 5.0, 30.0, False, "no source found"),
    Prior("ceiling_db", "limit of what is measured at 100 Hz in dB", 55.0, 3.0, 45.0, 70.0, False, "flanking of test facilities"),
    Prior("ceiling_slope_db", "its rise per decade in dB", 20.0, 0.0, 5.0, 35.0, False, "as the mass law of a flanking wall"),
)  # fmt: skip
