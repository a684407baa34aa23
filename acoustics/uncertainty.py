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
    "masonry": 2.5,
    "single_light": 2.1,
    "timber_frame": 3.6,
    "steel_stud": 3.1,
    "resilient_bar": 2.4,
    "lining": 3.9,
    "separated": 3.9,
}
"""Root mean square of predicted less measured weighted reduction by class, each source predicted from a fit to the
others: ``python -m tests.bench.accuracy --leave-out``."""

OCTAVE_RMS_DB: tuple[float, ...] = (5.5, 5.0, 3.9, 4.3, 4.8, 4.3, 5.5)
"""The same by octave, 63 to 4000 Hz, over all classes: the classes have too few octave rows each."""

BAND_UNCERTAINTY_DB: tuple[float, ...] = tuple(np.interp(np.arange(21), np.arange(7) * 3 + 1, OCTAVE_RMS_DB).tolist())
"""Standard uncertainty by third octave in dB; below 63 Hz no measured case was found and the last value is held."""

OTHER_PATHS_BAND_FACTOR = 1.5
"""Bands of flanking and side paths scatter more than their single numbers (common practice)."""

TYPICAL_DB = 3.1
"""Standard deviation of the single number over all classes, to which the values by band belong."""

GLAZING_DB = 6.0
GLAZING_TEXT = "Double glazing comes out too good here, by 5 dB for panes in one frame: use a measured value of the window instead."
"""The two measured windows lie 2 and 5 dB below the model; sealed units with narrow cavities lie lower still."""

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
    if element.gaps and all(x.material == "glass" for leaf in element.leaves for x in leaf.layers):
        return GLAZING_DB, (Notice(code="glazing", text=GLAZING_TEXT),)
    reason = _unvalidated(element)
    if reason is None:
        return spread, ()
    text = f"No published measurement of {reason} was found to test the model against: the range is wider."
    return max(spread, UNVALIDATED_DB), (Notice(code="not_validated", text=text),)
