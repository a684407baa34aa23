"""How sure a prediction is: residuals against measured constructions, and ISO 12999-1."""

from __future__ import annotations

import numpy as np

from .errors import Notice
from .inputs import Element

MEASUREMENT_IN_SITU_DB = 0.9
REPRODUCIBILITY_DB = 1.2
"""Standard uncertainty of R_w, D_nT,w: in situ, and between laboratories (ISO 12999-1:2020, from memory)."""

METHOD_IN_BUILDINGS_DB = 2.0
"""What the summing of paths leaves in real buildings, common to all of them, so that it does not average out: EN
12354-1:2000, clause 5 gives a standard deviation of 1.5 to 2.5 dB against field results (from memory)."""

CLASS_RMS_DB: dict[str, float] = {
    "masonry": 2.7,
    "single_light": 2.1,
    "timber_frame": 3.1,
    "steel_stud": 2.8,
    "resilient_bar": 1.9,
    "lining": 3.7,
    "separated": 3.5,
}
"""Root mean square of predicted less measured weighted reduction by class, each source predicted from a fit to the
others: ``python -m tests.bench.accuracy --leave-out``."""

OCTAVE_RMS_DB: tuple[float, ...] = (5.6, 5.0, 3.6, 4.2, 4.8, 4.2, 5.6)
"""The same by octave, 63 to 4000 Hz, over all classes."""

FAMILY_OCTAVE_RMS_DB: dict[str, tuple[float, ...]] = {
    "cavity": (5.5, 5.3, 3.7, 5.0, 6.1, 5.4, 6.1),
    "masonry": (7.2, 4.8, 4.1, 4.2, 4.2, 3.1, 4.7),
    "single_light": (3.8, 4.9, 3.0, 3.0, 3.3, 3.0, 5.8),
}
"""The same by family of classes: a class has too few rows in octaves. A family is drawn to all by four cases' weight."""


def family(kind: str) -> str:
    """The family to which a class belongs by band: masonry, one light leaf, or leaves with a cavity."""
    return kind if kind in ("masonry", "single_light") else "cavity"


def _thirds(octaves_db: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(np.interp(np.arange(21), np.arange(7) * 3 + 1, octaves_db).tolist())


BAND_UNCERTAINTY_DB: tuple[float, ...] = _thirds(OCTAVE_RMS_DB)
"""Standard uncertainty by third octave in dB; below 63 Hz no measured case was found and the last value is held."""

OTHER_PATHS_BAND_FACTOR = 1.5
"""Bands of flanking and side paths scatter more than their single numbers (common practice)."""

TYPICAL_DB = 2.9
"""Standard deviation of the single number over all classes, to which the values by band belong."""

GLAZING_TEXT = (
    "Only the panes and the air between them are reckoned: frames, seals and gaps around them often let more through."
)

UNVALIDATED_DB = 5.0
"""No published case of this kind was available: the value is a judgement, wider than any validated class."""


def construction_class(element: Element) -> str:
    """The kind of construction whose residuals apply."""
    kinds = {gap.connection.kind for gap in element.gaps}
    if not element.gaps:
        return "masonry" if element.leaves[0].is_masonry else "single_light"
    if any(leaf.is_masonry for leaf in element.leaves):
        return "lining"
    if kinds & {"staggered", "separate", "none", "clip", "hanger", "pad", "tie"}:
        return "separated"
    if "resilient_bar" in kinds:
        return "resilient_bar"
    return "steel_stud" if "steel_stud" in kinds else "timber_frame"


def _unvalidated(element: Element) -> str | None:
    if len(element.leaves) > 2 and not any(leaf.is_masonry for leaf in element.leaves):
        return "three leaves"
    if any(leaf.joined == "damped" for leaf in element.leaves):
        return "a damped leaf"
    if {gap.connection.kind for gap in element.gaps} & {"clip", "hanger", "pad", "tie"}:
        return "clips, hangers, pads or ties"
    return None


def element_uncertainty_db(element: Element) -> tuple[float, tuple[Notice, ...]]:
    """Standard uncertainty of the weighted reduction in dB, and a remark where no measured case backs it."""
    spread = CLASS_RMS_DB[construction_class(element)]
    if element.base_weighted_db is not None and not element.gaps:
        return MEASUREMENT_IN_SITU_DB, ()
    reason = _unvalidated(element)
    if reason is None:
        glazed = all(x.material == "glass" for leaf in element.leaves for x in leaf.layers)
        return spread, (Notice(code="glazing", text=GLAZING_TEXT),) if glazed else ()
    text = f"No published measurement of {reason} was found to test the model against: the range is wider."
    return max(spread, UNVALIDATED_DB), (Notice(code="not_validated", text=text),)


def element_band_uncertainty_db(element: Element) -> tuple[float, ...]:
    """Standard uncertainty (21,) in dB of each band of an element, wider where its single number is less sure."""
    kind = construction_class(element)
    spread, _ = element_uncertainty_db(element)
    wider = max(spread / CLASS_RMS_DB[kind], 1.0)
    return tuple(wider * value for value in _thirds(FAMILY_OCTAVE_RMS_DB[family(kind)]))
