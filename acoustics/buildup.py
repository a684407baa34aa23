"""Predict build-ups: reduction by band, ratings, resonances, mass, depth, uncertainty and remarks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import AIR_DENSITY_KG_M3, SOUND_SPEED_M_S
from .constants import FITTED, Constants
from .errors import Notice
from .grid import FINE, SEARCH, Grid
from .inputs import Element, Leaf
from .orthotropic import directions
from .ratings import airborne_weighted_db, rate_airborne, stc_db
from .transmission import batch_reduction_db, mass_law_weighted_db
from .uncertainty import element_band_uncertainty_db, element_uncertainty_db

MOST_KEPT = 8192
"""Entries kept of each kind before all are dropped."""

ISOTHERMAL_STIFFNESS_PA = 1.0e5
"""Stiffness of the air in a fibre-filled cavity times its depth (isothermal, 0.1 MPa)."""


@dataclass(frozen=True, kw_only=True)
class ElementResult:
    """Prediction for one element. `reduction_db` has 21 values; `uncertainty_db` is the standard uncertainty of
    `weighted_db` (68 % of cases lie within it), `band_uncertainty_db` that of each band."""

    reduction_db: tuple[float, ...]
    weighted_db: int
    c_db: int
    ctr_db: int
    stc_db: int
    resonance_hz: tuple[float, ...]
    surface_mass_kg_m2: float
    depth_mm: float
    uncertainty_db: float
    band_uncertainty_db: tuple[float, ...]
    notices: tuple[Notice, ...]


def _in_batches_db(elements: Sequence[Element], grid: Grid, constants: Constants) -> np.ndarray:
    """Reductions (N, 21) before anchoring; the factors of an element with a direction are averaged over all of them."""
    if not any(element.is_directed for element in elements):
        return _undirected_db(elements, grid, constants)
    turned = [directions(element) if element.is_directed else ((1.0, element),) for element in elements]
    factors = 10.0 ** (-_undirected_db([e for one in turned for _, e in one], grid, constants) / 10.0)
    weighted = factors * np.array([w for one in turned for w, _ in one])[:, None]
    starts = np.cumsum([0] + [len(one) for one in turned[:-1]])
    return -10.0 * np.log10(np.add.reduceat(weighted, starts, axis=0))


def _undirected_db(elements: Sequence[Element], grid: Grid, constants: Constants) -> np.ndarray:
    """Reductions (N, 21) of elements without a direction, worked out in batches of one topology."""
    groups: dict[tuple, list[int]] = {}
    for index, element in enumerate(elements):
        groups.setdefault(element.topology, []).append(index)
    result = np.empty((len(elements), 21))
    for members in groups.values():
        for start in range(0, len(members), grid.batch):
            chosen = members[start : start + grid.batch]
            result[chosen] = batch_reduction_db([elements[i] for i in chosen], grid, constants)
    return result


_BARE_WEIGHTED_DB: dict[tuple, float] = {}
"""Weighted reduction of masonry leaves alone as the plate model gives it, by leaf, size, grid and constants."""


def _bare_weighted_db(
    heavy: Sequence[tuple[Leaf, tuple[float, float]]], grid: Grid, constants: Constants
) -> dict[tuple, float]:
    """The entries for masonry leaves of given sizes; what is missing is worked out together."""
    if len(_BARE_WEIGHTED_DB) > MOST_KEPT:
        _BARE_WEIGHTED_DB.clear()
    keys = [(leaf, size, grid, constants) for leaf, size in dict.fromkeys(heavy)]
    found = {key: kept for key in keys if (kept := _BARE_WEIGHTED_DB.get(key)) is not None}
    missing = [key for key in keys if key not in found]
    if missing:
        bare = _in_batches_db([Element(leaves=(leaf,), size_m=size) for leaf, size, *_ in missing], grid, constants)
        found.update(zip(missing, airborne_weighted_db(bare, whole=False).tolist(), strict=True))
        _BARE_WEIGHTED_DB.update(found)
    return found


def _anchors_db(elements: Sequence[Element], grid: Grid, constants: Constants) -> np.ndarray:
    """How far all bands of elements with masonry are moved (N,) in dB.

    Onto a known weighted value of the bare leaf, or part of the way to the mass law.
    """
    shifts = np.zeros(len(elements))
    heavy = [(i, element, element.heavy_leaves) for i, element in enumerate(elements) if element.heavy_leaves]
    if not heavy:
        return shifts
    found = _bare_weighted_db([pair for *_, pairs in heavy for pair in pairs], grid, constants)
    for i, element, pairs in heavy:
        predicted = [found[leaf, size, grid, constants] for leaf, size in pairs]
        if element.base_weighted_db is not None:
            moved = [element.base_weighted_db - p for p in predicted]
        else:
            laws = [mass_law_weighted_db(leaf.mass_kg_m2, constants) for leaf, _ in pairs]
            moved = [constants.mass_law_pull * (law - p) for law, p in zip(laws, predicted, strict=True)]
        shifts[i] = sum(moved) / len(moved)
    return shifts


def reductions_db(
    elements: Sequence[Element], *, search: bool = False, grid: Grid | None = None, constants: Constants = FITTED
) -> np.ndarray:
    """Sound reduction index (N, 21) in dB of many elements; `search` trades up to 1 dB of R_w for speed."""
    grid = grid or (SEARCH if search else FINE)
    result = _in_batches_db(elements, grid, constants)
    return np.maximum(result + _anchors_db(elements, grid, constants)[:, None], 0.0)


_REDUCTIONS_DB: dict[Element, np.ndarray] = {}


def keep_reductions(elements: Iterable[Element]) -> None:
    """Work out together those reductions that are not yet kept: a room's elements in one go."""
    if len(_REDUCTIONS_DB) > MOST_KEPT:
        _REDUCTIONS_DB.clear()
    missing = [e for e in dict.fromkeys(elements) if e not in _REDUCTIONS_DB]
    if missing:
        values = reductions_db(missing)
        values.setflags(write=False)
        _REDUCTIONS_DB.update(zip(missing, values, strict=True))


def element_reduction_db(element: Element) -> np.ndarray:
    """Sound reduction index (21,) in dB of one element, kept for the next time."""
    found = _REDUCTIONS_DB.get(element)
    if found is None:
        found = reductions_db([element])[0]
        found.setflags(write=False)
        _REDUCTIONS_DB[element] = found
    return found


def forget() -> None:
    """Drop everything kept, as at the start of the program."""
    _REDUCTIONS_DB.clear()
    _BARE_WEIGHTED_DB.clear()
    predict_element.cache_clear()


def resonances_hz(element: Element) -> tuple[float, ...]:
    """Mass-spring-mass resonances in Hz, lowest first (ISO 12354-1, annex D, for one cavity; a chain for more)."""
    if not element.gaps:
        return ()
    masses = np.array([leaf.mass_kg_m2 for leaf in element.leaves])
    springs = []
    for gap in element.gaps:
        full = gap.fill is not None and gap.fill.thickness_mm >= 0.5 * gap.depth_mm
        modulus = ISOTHERMAL_STIFFNESS_PA if full else AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2
        springs.append(modulus / (gap.depth_mm / 1000.0))
    size = len(masses)
    stiffness = np.zeros((size, size))
    for i, spring in enumerate(springs):
        stiffness[i : i + 2, i : i + 2] += spring * np.array([[1.0, -1.0], [-1.0, 1.0]])
    scale = 1.0 / np.sqrt(masses)
    values = np.linalg.eigvalsh(stiffness * scale[:, None] * scale[None, :])
    return tuple(float(np.sqrt(v) / (2.0 * np.pi)) for v in values[1:])


def _notices(element: Element, resonances: tuple[float, ...]) -> tuple[Notice, ...]:
    found = []
    limp = [x for leaf in element.leaves for x in leaf.layers if x.rigidity_nm == 0.0 and x.material is None]
    if limp:
        found.append(
            Notice(
                code="no_stiffness",
                text="A layer has neither a stiffness nor a critical frequency: it is taken as limp.",
            )
        )
    if resonances and resonances[0] > 80.0:
        found.append(
            Notice(
                code="audible_resonance",
                text=f"The leaves and the cavity resonate at about {resonances[0]:.0f} Hz, inside what is heard of voices "
                "and music: around that frequency the build-up insulates less than its mass alone.",
            )
        )
    if len(element.leaves) > 2:
        found.append(
            Notice(
                code="triple_leaf",
                text="Three or more leaves: compare with two leaves of the same mass and depth, which are better at low frequencies.",
            )
        )
    if any(leaf.joined == "bonded" and len(leaf.layers) > 1 and not leaf.is_masonry for leaf in element.leaves):
        found.append(
            Notice(
                code="bonded_boards",
                text="Boards glued flat act as one thick board: their critical frequency falls into the middle of the audible range.",
            )
        )
    return tuple(found)


@lru_cache(maxsize=8192)
def predict_element(element: Element) -> ElementResult:
    """Predict one element from 50 to 5000 Hz and rate it (ISO 717-1, ASTM E413).

    The airborne path is a finite-size transfer-matrix model, the ties are closed-form bridges, bare masonry is
    drawn towards the mass law; see transmission.py and bridges.py for the sources.
    """
    reduction = element_reduction_db(element)
    rating = rate_airborne(tuple(reduction.tolist()))
    resonances = resonances_hz(element)
    spread, basis = element_uncertainty_db(element)
    return ElementResult(
        reduction_db=tuple(reduction.tolist()),
        weighted_db=rating.weighted_db,
        c_db=rating.c_db,
        ctr_db=rating.ctr_db,
        stc_db=int(stc_db(reduction)),
        resonance_hz=resonances,
        surface_mass_kg_m2=element.surface_mass_kg_m2,
        depth_mm=element.depth_mm,
        uncertainty_db=spread,
        band_uncertainty_db=element_band_uncertainty_db(element),
        notices=_notices(element, resonances) + basis,
    )
