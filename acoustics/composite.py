"""An element with others in it: windows, doors and patches by area, slits and holes by what they let through."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from .bands import a_weighted_shares
from .buildup import ElementResult, element_reduction_db, predict_element
from .errors import InputError, inside, positive
from .inputs import Element, KnownElement
from .ratings import rate_airborne, stc_db
from .sidepaths import LEAK_UNCERTAINTY_DB, STATED_UNCERTAINTY_DB, Hole, Leak


@dataclass(frozen=True, kw_only=True)
class Part:
    """A window, door or patch of `area_m2` within an element."""

    area_m2: float
    element: Element | KnownElement

    def __post_init__(self) -> None:
        positive("area_m2", self.area_m2, 1e4)
        if not isinstance(self.element, Element | KnownElement):
            raise InputError("element", "must be an element or a known element")


@dataclass(frozen=True, kw_only=True)
class Composite:
    """An element of `size_m` with parts in it and openings right through it."""

    element: Element
    parts: tuple[Part, ...] = ()
    openings: tuple[Leak | Hole, ...] = ()

    def __post_init__(self) -> None:
        left = self.area_m2
        for i, part in enumerate(self.parts):
            left -= part.area_m2
            if left < -1e-9:
                with inside(f"parts[{i}]"):
                    raise InputError("area_m2", f"the parts are larger than the element of {self.area_m2:.2f} m2")
        if sum(opening.area_mm2 for opening in self.openings) / 1e6 > self.area_m2:
            raise InputError("openings", f"are larger than the element of {self.area_m2:.2f} m2")

    @property
    def area_m2(self) -> float:
        length, height = self.element.size_m
        return length * height

    def transmission_areas_m2(self) -> np.ndarray:
        """Open areas (1 + parts + openings, 21) in m2 that would let the same power through, the element's rest first."""
        rest = max(self.area_m2 - sum(part.area_m2 for part in self.parts), 0.0)
        rows = [rest * 10.0 ** (-element_reduction_db(self.element) / 10.0)]
        for part in self.parts:
            known = isinstance(part.element, KnownElement)
            reduction = np.array(part.element.reduction_db) if known else element_reduction_db(part.element)
            rows.append(part.area_m2 * 10.0 ** (-reduction / 10.0))
        return np.stack(rows + [opening.transmission_area_m2() for opening in self.openings])


def predict_composite(composite: Composite) -> ElementResult:
    """Predict an element with its parts and openings: the mean of the factors by area (ISO 12354-3, annex B).

    The uncertainty is that of each part by its share of the A-weighted energy of pink noise.
    """
    whole = predict_element(composite.element)
    parts = [predict_element(p.element) if isinstance(p.element, Element) else None for p in composite.parts]
    areas = composite.transmission_areas_m2()
    total = areas.sum(axis=0)
    reduction = np.maximum(-10.0 * np.log10(total / composite.area_m2), 0.0)
    rating = rate_airborne(tuple(reduction.tolist()))
    spreads = [whole.uncertainty_db] + [p.uncertainty_db if p else STATED_UNCERTAINTY_DB for p in parts]
    spreads += [LEAK_UNCERTAINTY_DB] * len(composite.openings)
    through = areas * a_weighted_shares("pink")
    shares = through.sum(axis=1) / through.sum()
    by_band = [whole.band_uncertainty_db] + [
        p.band_uncertainty_db if p else (STATED_UNCERTAINTY_DB,) * 21 for p in parts
    ]
    by_band += [(LEAK_UNCERTAINTY_DB,) * 21] * len(composite.openings)
    bands = np.sqrt(np.sum((areas / total * np.array(by_band)) ** 2, axis=0))
    notices = {n.code: n for result in [whole, *parts] if result is not None for n in result.notices}
    return replace(
        whole,
        reduction_db=tuple(reduction.tolist()),
        weighted_db=rating.weighted_db,
        c_db=rating.c_db,
        ctr_db=rating.ctr_db,
        stc_db=int(stc_db(reduction)),
        uncertainty_db=float(np.sqrt(np.sum((shares * np.array(spreads)) ** 2))),
        band_uncertainty_db=tuple(bands.tolist()),
        notices=tuple(notices.values()),
    )
