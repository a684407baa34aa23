"""What a lining adds to the element it stands on."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .buildup import element_reduction_db
from .errors import between
from .inputs import Element, KnownElement, KnownLining, Layer, Leaf, Lining, lined
from .ratings import airborne_weighted_db


@lru_cache(maxsize=512)
def stand_in(element: KnownElement) -> Element:
    """A wall or board of the known element's mass, to carry a lining in the calculation.

    An element whose build-up is unknown is taken as brick from 80 kg/m2, else as a single board.
    """
    mass = element.surface_mass_kg_m2
    if mass >= 80.0:
        layer = Layer(material="brick_solid", thickness_mm=mass / 1.75)
        known = float(airborne_weighted_db(np.array(element.reduction_db), whole=False))
        return Element(leaves=(Leaf(layers=(layer,), masonry=True),), base_weighted_db=min(max(known, 10.0), 80.0))
    return Element(leaves=(Leaf(layers=(Layer(material="gypsum_board", thickness_mm=mass / 0.68),)),))


def reduction_of_db(element: Element | KnownElement) -> np.ndarray:
    """Reduction (21,) in dB, predicted or known."""
    return np.array(element.reduction_db) if isinstance(element, KnownElement) else element_reduction_db(element)


def elements_under(base: Element | KnownElement, lining: Lining | KnownLining | None) -> list[Element]:
    """The build-ups whose reductions a base with its lining needs."""
    found = [] if isinstance(base, KnownElement) else [base]
    if isinstance(lining, Lining):
        element = stand_in(base) if isinstance(base, KnownElement) else base
        found += [element, lined(element, lining)]
    return found


@lru_cache(maxsize=8192)
def improvement_db(base: Element | KnownElement, lining: Lining | KnownLining | None) -> np.ndarray:
    """Improvement of the reduction index (21,) in dB by a lining on the receiving side; negative where it harms."""
    if lining is None:
        values = np.zeros(21)
    elif isinstance(lining, KnownLining):
        values = np.array(lining.improvement_db)
    else:
        element = stand_in(base) if isinstance(base, KnownElement) else base
        values = element_reduction_db(lined(element, lining)) - element_reduction_db(element)
    values.setflags(write=False)
    return values


def estimated_improvement_db(resonance_hz: float, base_weighted_db: float) -> float:
    """Weighted improvement in dB by resonance alone (ISO 12354-1:2017 annex D, from memory).

    For a check by hand: it knows nothing of fixings and lies 5 dB above measured one-sided linings on average.
    """
    f0 = between("resonance_hz", resonance_hz, 1.0, 20000.0)
    if f0 <= 160.0:
        return max(74.4 - 20.0 * float(np.log10(max(f0, 30.0))) - base_weighted_db / 2.0, 0.0)
    steps = ((200.0, -1.0), (250.0, -3.0), (315.0, -5.0), (400.0, -7.0), (500.0, -9.0), (1600.0, -10.0))
    return next((gain for limit, gain in steps if f0 <= limit * 1.12), -5.0)
