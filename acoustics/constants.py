"""The model's shared constants. Each has a prior from physics or literature; FITTED holds the values in use.

The fit and its bounds are reproduced by ``python -m tests.bench.accuracy --fit``.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, eq=False)
class Constants:
    """Values shared by all constructions; none belongs to a single one."""

    board_loss: float = 0.0137
    stack_loss: float = 0.0076
    edge_loss: float = 0.606
    edge_loss_mass: float = -0.58
    mass_law_pull: float = 0.5
    cavity_loss: float = 0.15
    empty_resistivity: float = 86.0
    empty_resistivity_depth: float = 1.19
    reverberant_db: float = 10.4
    empty_absorption: float = 0.244
    strip_timber: float = 2.05
    strip_bar: float = 1.15
    strip_joist: float = 0.80
    strip_steel: float = 0.174
    screw_pitch_m: float = 0.394
    bar_compliance: float = 2.36e-6
    steel_compliance_cap: float = 2.08e-7
    steel_compliance_gain: float = 0.39
    staggered_db: float = 8.6
    separate_db: float = 15.9
    ceiling_db: float = 55.4
    ceiling_slope_db: float = 20.0
    ceiling_cap_db: float = 95.0


FITTED = Constants()
