"""Impact sound of floors under a tapping machine: indicative where the method is weak, and marked so."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .bands import EXACT_HZ
from .buildup import element_reduction_db
from .constants import FITTED
from .errors import InputError, Notice, between, positive
from .inputs import Element, KnownElement, Layer
from .junctions import structural_reverberation_s
from .leaf import bonded_rigidity_nm, critical_frequency_hz, masonry_edge_loss, mean_loss, radiation_of_free_waves
from .ratings import rate_impact

HAMMER_KG = 0.5
"""Mass of a hammer; five fall 40 mm, ten blows a second (ISO 16283-2, annex A)."""

REPRODUCIBILITY_DB = 1.5
"""Standard uncertainty of L_n,w between laboratories (ISO 12999-1:2020, from memory)."""

HEAVY_UNCERTAINTY_DB, LIGHT_UNCERTAINTY_DB = 3.0, 5.0
"""Standard uncertainties in dB: German practice allows 3 dB for heavy floors (DIN 4109-2, quoted); light floors
were found within 4 to 5 dB in single numbers (quoted), bands far worse. No residuals of this engine exist."""

# EN 12354-2:2000, table 1: K in dB by floor mass (rows) and mean mass of unlined flanking elements (columns).
K_FLANK_KG_M2 = (100, 150, 200, 250, 300, 350, 400, 450, 500)
K_TABLE_DB: dict[int, tuple[int, ...]] = {
    100: (1, 0, 0, 0, 0, 0, 0, 0, 0), 150: (1, 1, 0, 0, 0, 0, 0, 0, 0), 200: (2, 1, 1, 0, 0, 0, 0, 0, 0),
    250: (2, 1, 1, 1, 0, 0, 0, 0, 0), 300: (3, 2, 1, 1, 1, 0, 0, 0, 0), 350: (3, 2, 1, 1, 1, 1, 0, 0, 0),
    400: (4, 2, 2, 1, 1, 1, 1, 0, 0), 450: (4, 3, 2, 2, 1, 1, 1, 1, 1), 500: (4, 3, 2, 2, 1, 1, 1, 1, 1),
    600: (5, 4, 3, 2, 2, 1, 1, 1, 1), 700: (5, 4, 3, 3, 2, 2, 1, 1, 1), 800: (6, 4, 4, 3, 2, 2, 2, 1, 1),
    900: (6, 5, 4, 3, 3, 2, 2, 2, 2),
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class FloatingLayer:
    """Boards or screed on a resilient layer: mass in kg/m2, dynamic stiffness in MN/m3 (EN 29052-1)."""

    mass_kg_m2: float
    stiffness_mn_m3: float
    screed: bool = False

    def __post_init__(self) -> None:
        between("mass_kg_m2", self.mass_kg_m2, 1.0, 500.0)
        between("stiffness_mn_m3", self.stiffness_mn_m3, 0.5, 1000.0)

    @property
    def resonance_hz(self) -> float:
        """160 sqrt(s / m) (EN 12354-2, annex C)."""
        return 160.0 * (self.stiffness_mn_m3 / self.mass_kg_m2) ** 0.5

    def improvement_db(self) -> np.ndarray:
        """Reduction of impact level (21,): 30 lg(f / f0) for cement screed, 40 lg for dry layers; nothing below f0."""
        slope = 30.0 if self.screed else 40.0
        return np.clip(slope * np.log10(EXACT_HZ / self.resonance_hz), -3.0, 60.0)


@dataclass(frozen=True, kw_only=True)
class SoftCovering:
    """Carpet or the like: stiffness in N/m that a hammer of the tapping machine meets."""

    contact_stiffness_n_m: float

    def __post_init__(self) -> None:
        between("contact_stiffness_n_m", self.contact_stiffness_n_m, 1e3, 1e9)

    def improvement_db(self) -> np.ndarray:
        """Reduction of impact level (21,): 40 lg(f / f0) above the resonance of hammer and covering (Cremer)."""
        resonance = np.sqrt(self.contact_stiffness_n_m / HAMMER_KG) / (2.0 * np.pi)
        return np.clip(40.0 * np.log10(EXACT_HZ / resonance), 0.0, 60.0)


@dataclass(frozen=True, kw_only=True)
class ImpactResult:
    """Normalised impact level L_n (21,), standardised level L'_nT (21,) without flanking, and their ratings."""

    normalized_db: tuple[float, ...]
    normalized_weighted_db: int
    standardized_db: tuple[float, ...]
    standardized_weighted_db: int
    ci_db: int
    uncertainty_db: float
    notices: tuple[Notice, ...]


def standardized_from_normalized_db(normalized_db: np.ndarray, volume_m3: float) -> np.ndarray:
    """L'_nT = L'_n - 10 lg(0.032 V) (EN ISO 16283-2, T0 0.5 s, A0 10 m2)."""
    return np.asarray(normalized_db, float) - 10.0 * np.log10(0.032 * positive("volume_m3", volume_m3, 1e5))


CONTACT_STIFFNESS_N_M = 1.5e7
LIGHT_FLOOR_DB = -4.0
"""Local stiffness of a wooden deck under a hammer, and a level correction for light floors: both chosen so that 22 mm
chipboard on joists with wool and one board meets the lightweight reference floor of ISO 717-2 (types 1 and 2)."""


def hammer_loss_db(top: Layer) -> np.ndarray:
    """What a light deck takes off the hammer's force (21,) in dB: the deck gives way, |1 + j w m / Z|2 with
    Z = 8 sqrt(B m), and the wood is soft under the blow."""
    impedance = 8.0 * np.sqrt(max(top.rigidity_nm, 1e-3) * top.mass_kg_m2)
    gives_way = 1.0 + (2.0 * np.pi * EXACT_HZ * HAMMER_KG / impedance) ** 2
    soft = 1.0 + (EXACT_HZ * 2.0 * np.pi) ** 4 * (HAMMER_KG / CONTACT_STIFFNESS_N_M) ** 2
    return 10.0 * np.log10(gives_way * soft)


def _slab_db(element: Element) -> np.ndarray:
    """Normalised impact level (21,) in dB of a bare heavy floor: 155 - 30 lg m + 10 lg(Ts s f / 1000 Hz).

    EN 12354-2 annex B (from memory), with the loss of this engine's masonry and the radiation of ISO 12354-1 annex B.
    """
    leaf = element.leaves[0]
    mass = leaf.mass_kg_m2
    loss = mean_loss(leaf.layers, FITTED.board_loss) + masonry_edge_loss(mass, EXACT_HZ, FITTED)
    critical = critical_frequency_hz(np.float64(mass), np.float64(max(bonded_rigidity_nm(leaf.layers), 1.0)))
    length, height = (np.float64(x) for x in element.size_m)
    sigma = radiation_of_free_waves(EXACT_HZ, np.full(21, critical), length, height)
    time = structural_reverberation_s(EXACT_HZ, loss)
    return 155.0 - 30.0 * np.log10(mass) + 10.0 * np.log10(time * sigma * EXACT_HZ / 1000.0)


def bare_floor_db(element: Element | KnownElement) -> np.ndarray:
    """Normalised impact level (21,) in dB of a floor without covering, source side on top.

    Heavy floors by EN 12354-2, less what a ceiling adds to their airborne insulation. Others by reciprocity,
    L_n = 38 + 30 lg f - R in thirds (Heckl and Rathe 1963, proved for massive floors only): indicative.
    """
    reciprocal = 38.0 + 30.0 * np.log10(EXACT_HZ)
    if isinstance(element, KnownElement):
        return reciprocal - np.array(element.reduction_db)
    if element.leaves[0].is_masonry:
        bare = Element(leaves=element.leaves[:1], size_m=element.size_m, base_weighted_db=element.base_weighted_db)
        return _slab_db(bare) - (element_reduction_db(element) - element_reduction_db(bare))
    return reciprocal - element_reduction_db(element) - hammer_loss_db(element.leaves[0].layers[0]) + LIGHT_FLOOR_DB


def predict_impact(
    element: Element | KnownElement, volume_m3: float, covering: FloatingLayer | SoftCovering | None = None
) -> ImpactResult:
    """Impact level in the room below, source side (top) first; ceilings below are part of the element.

    Direct path only; add K of EN 12354-2 or a margin for heavy flanking walls. Raises InputError for the volume.
    """
    if not isinstance(element, Element | KnownElement):
        raise InputError("element", "must be an element or a known element")
    level = bare_floor_db(element)
    if covering is not None:
        level = level - covering.improvement_db()
    standard = standardized_from_normalized_db(level, volume_m3)
    heavy = isinstance(element, Element) and element.leaves[0].is_masonry
    rating = rate_impact(tuple(standard.tolist()))
    notices = [
        Notice(
            code="indicative",
            text="Impact sound of a timber floor by reciprocity with its airborne insulation: indicative.",
        )
    ]
    return ImpactResult(
        normalized_db=tuple(level.tolist()),
        normalized_weighted_db=rate_impact(tuple(level.tolist())).weighted_db,
        standardized_db=tuple(standard.tolist()),
        standardized_weighted_db=rating.weighted_db,
        ci_db=rating.ci_db,
        uncertainty_db=HEAVY_UNCERTAINTY_DB if heavy else LIGHT_UNCERTAINTY_DB,
        notices=() if heavy else tuple(notices),
    )


def equivalent_weighted_db(mass_kg_m2: float) -> float:
    """Equivalent weighted normalised impact level of a bare heavy floor in dB (EN 12354-2 annex B, 100 to 600 kg/m2)."""
    return 164.0 - 35.0 * float(np.log10(between("mass_kg_m2", mass_kg_m2, 100.0, 600.0)))


def flanking_correction_db(floor_kg_m2: float, flank_kg_m2: float) -> int:
    """K in dB of EN 12354-2:2000 table 1, at the nearest tabulated masses."""
    row = min(K_TABLE_DB, key=lambda m: abs(m - floor_kg_m2))
    column = min(range(len(K_FLANK_KG_M2)), key=lambda i: abs(K_FLANK_KG_M2[i] - flank_kg_m2))
    return K_TABLE_DB[row][column]


def screed_weighted_improvement_db(mass_kg_m2: float, stiffness_mn_m3: float) -> float:
    """Weighted improvement of a cement screed on a resilient layer in dB (EN 12354-2 annex C, from memory)."""
    return 13.0 * float(np.log10(mass_kg_m2)) - 14.2 * float(np.log10(stiffness_mn_m3)) + 20.8
