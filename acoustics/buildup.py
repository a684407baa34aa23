"""Predict build-ups: reduction by band, ratings, resonances, mass, depth, uncertainty and remarks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import AIR_DENSITY_KG_M3, SOUND_SPEED_M_S
from .constants import FITTED, Constants
from .errors import Notice
from .grid import FINE, SEARCH, Grid
from .inputs import Element, Leaf
from .ratings import rate_airborne, stc_db
from .transmission import batch_reduction_db, mass_law_weighted_db, topology, weighted_tenths_db
from .uncertainty import element_uncertainty_db

ISOTHERMAL_STIFFNESS_PA = 1.0e5
"""Stiffness of the air in a fibre-filled cavity times its depth (isothermal, 0.1 MPa)."""


@dataclass(frozen=True, kw_only=True)
class ElementResult:
    """Prediction for one element. `reduction_db` has 21 values; `uncertainty_db` is the standard uncertainty of
    `weighted_db` (68 % of cases lie within it)."""

    reduction_db: tuple[float, ...]
    weighted_db: int
    c_db: int
    ctr_db: int
    stc_db: int
    resonance_hz: tuple[float, ...]
    surface_mass_kg_m2: float
    depth_mm: float
    uncertainty_db: float
    notices: tuple[Notice, ...]


@lru_cache(maxsize=4096)
def masonry_shift_db(
    leaf: Leaf, size_m: tuple[float, float], known_db: float | None, grid: Grid, constants: Constants
) -> float:
    """How far all bands of a masonry leaf are moved: onto a known weighted value, or part of the way to the mass law."""
    bare = batch_reduction_db([Element(leaves=(leaf,), size_m=size_m)], grid, constants)
    predicted = float(weighted_tenths_db(bare)[0])
    if known_db is not None:
        return known_db - predicted
    return constants.mass_law_pull * (mass_law_weighted_db(leaf.mass_kg_m2, constants) - predicted)


def _anchor_db(element: Element, grid: Grid, constants: Constants) -> float:
    heavy = [leaf for leaf in element.leaves if leaf.is_masonry]
    if not heavy:
        return 0.0
    shifts = [masonry_shift_db(leaf, element.size_m, element.base_weighted_db, grid, constants) for leaf in heavy]
    return sum(shifts) / len(shifts)


def reductions_db(
    elements: Sequence[Element], *, search: bool = False, grid: Grid | None = None, constants: Constants = FITTED
) -> np.ndarray:
    """Sound reduction index (N, 21) in dB of many elements; `search` trades up to 1 dB of R_w for speed."""
    grid = grid or (SEARCH if search else FINE)
    groups: dict[tuple, list[int]] = {}
    for index, element in enumerate(elements):
        groups.setdefault(topology(element), []).append(index)
    result = np.empty((len(elements), 21))
    for members in groups.values():
        for start in range(0, len(members), grid.batch):
            chosen = members[start : start + grid.batch]
            result[chosen] = batch_reduction_db([elements[i] for i in chosen], grid, constants)
    shifts = np.array([_anchor_db(element, grid, constants) for element in elements])
    return np.maximum(result + shifts[:, None], 0.0)


@lru_cache(maxsize=8192)
def element_reduction_db(element: Element) -> np.ndarray:
    """Sound reduction index (21,) in dB of one element, kept for the next time."""
    values = reductions_db([element])[0]
    values.setflags(write=False)
    return values


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
        notices=_notices(element, resonances) + basis,
    )
