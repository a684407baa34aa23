"""What a lining adds to the element it stands on."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .buildup import element_reduction_db
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
