"""What is built does besides sound: warmth, damp and weight. Indicative; to be checked by those who answer for it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .condensation import Climate, Damp, Slab, yearly_damp
from .errors import one_of
from .inputs import Connection, Element, Gap, Layer

SURFACES_M2K_W: dict[str, tuple[float, float]] = {
    "outside": (0.13, 0.04),
    "void_below": (0.17, 0.17),
    "void_above": (0.10, 0.10),
}
"""Surface resistances on the room's and on the far side: a wall to the open air, a floor over a ventilated void, a
ceiling under a ventilated roof void, whose air counts as still (EN ISO 6946, table 7 and 6.9.4)."""

# Thermal conductivity in W/(m K) and vapour resistance factor (EN ISO 10456 and handbook values, from memory).
_PROPERTIES: dict[str, tuple[float, float]] = {
    "gypsum_board": (0.21, 8), "gypsum_board_natural": (0.21, 8), "gypsum_board_dense": (0.25, 10),
    "gypsum_fibre_board": (0.32, 13), "cement_board": (0.25, 30), "brick_solid": (0.77, 10),
    "brick_calcium_silicate": (1.0, 15), "concrete": (1.9, 100), "aircrete_block": (0.16, 7),
    "dense_block": (1.3, 20), "lightweight_block": (0.5, 10), "clinker_block": (0.4, 8), "stone": (1.8, 50),
    "screed": (1.2, 50), "mortar": (0.9, 15), "plaster_gypsum": (0.4, 8), "plaster_dense": (0.9, 15),
    "plaster_lime": (0.7, 10), "lath_and_plaster": (0.5, 10), "chipboard": (0.14, 30), "plywood": (0.15, 100),
    "osb": (0.13, 40), "mdf": (0.14, 20), "hardboard": (0.16, 50), "softboard": (0.05, 5),
    "softwood_boards": (0.13, 30), "softwood": (0.13, 30), "hardwood_boards": (0.18, 50), "glass": (1.0, 1e6),
    "steel_sheet": (50.0, 1e6), "ceramic_tile": (1.3, 200), "membrane_heavy": (0.25, 20000),
    "rubber_mat": (0.14, 5000), "sand_pugging": (0.5, 5),
}  # fmt: skip
FIBRE_CONDUCTIVITY_W_MK, FIBRE_VAPOUR = 0.038, 1.0
_AIR_DEPTH_MM = (0.0, 5.0, 7.0, 10.0, 15.0, 25.0)
_AIR_M2K_W = (0.0, 0.11, 0.13, 0.15, 0.17, 0.18)
"""Resistance of an unventilated air layer, horizontal heat flow (EN ISO 6946, table 8)."""

STUD_MM = {"timber_stud": 45.0, "joist": 50.0, "pad": 45.0}
"""Width of timber that stands right through a cavity (common practice). Light steel is left out: EN ISO 6946 does not
cover metal that bridges insulation."""
STUD_CONDUCTIVITY_W_MK = 0.13


@dataclass(frozen=True, kw_only=True)
class SideEffects:
    """U-values in W/(m2 K) and the damp of the year after the work: None where no climate lies beyond or a material is
    unknown. Masses in kg/m2, of boards and wool without the frame."""

    u_before_w_m2k: float | None
    u_after_w_m2k: float | None
    damp: Damp | None
    added_mass_kg_m2: float


def _layer_slab(layer: Layer) -> Slab | None:
    if layer.material not in _PROPERTIES:
        return None
    conductivity, vapour = _PROPERTIES[layer.material]
    thickness = layer.thickness_mm / 1000.0
    return Slab(thickness / conductivity, vapour * thickness)


def _stud_part(tie: Connection) -> float:
    return min(STUD_MM.get(tie.kind, 0.0) / tie.spacing_mm, 1.0)


def _gap_slabs(gap: Gap) -> list[Slab]:
    fibre = min(gap.fill.thickness_mm, gap.depth_mm) if gap.fill else 0.0
    air = gap.depth_mm - fibre
    part = _stud_part(gap.connection)
    slabs = []
    if air > 0.0:
        resistance = float(np.interp(air, _AIR_DEPTH_MM, _AIR_M2K_W))
        slabs.append(Slab(resistance, air / 1000.0, part, air / 1000.0 / STUD_CONDUCTIVITY_W_MK))
    if fibre > 0.0:
        depth = fibre / 1000.0
        slabs.append(Slab(depth / FIBRE_CONDUCTIVITY_W_MK, FIBRE_VAPOUR * depth, part, depth / STUD_CONDUCTIVITY_W_MK))
    return slabs


def slabs_of(element: Element) -> list[Slab] | None:
    """The plane layers from the far side to the room; None if a material is unknown."""
    slabs: list[Slab] = []
    for i, leaf in enumerate(element.leaves):
        for layer in leaf.layers:
            slab = _layer_slab(layer)
            if slab is None:
                return None
            slabs.append(slab)
        if i < len(element.gaps):
            slabs += _gap_slabs(element.gaps[i])
    return slabs


def u_value_w_m2k(slabs: list[Slab], beyond: str = "outside") -> float:
    """Thermal transmittance in W/(m2 K) (EN ISO 6946, 6.7.2): with studs, the mean of the upper limit, heat flowing
    straight through, and the lower, each layer at one temperature. Cavities that follow each other share their studs."""
    inside, outside = SURFACES_M2K_W[one_of("beyond", beyond, SURFACES_M2K_W)]
    part = max((slab.stud_part for slab in slabs), default=0.0)
    clear = inside + outside + sum(slab.resistance_m2k_w for slab in slabs)
    if part == 0.0:
        return 1.0 / clear
    through = inside + outside + sum(s.stud_m2k_w if s.stud_part else s.resistance_m2k_w for s in slabs)
    upper = 1.0 / ((1.0 - part) / clear + part / through)
    lower = inside + outside + sum(_shared_m2k_w(slab) for slab in slabs)
    return 2.0 / (upper + lower)


def _shared_m2k_w(slab: Slab) -> float:
    if slab.stud_part == 0.0:
        return slab.resistance_m2k_w
    return 1.0 / ((1.0 - slab.stud_part) / slab.resistance_m2k_w + slab.stud_part / slab.stud_m2k_w)


@lru_cache(maxsize=2048)
def side_effects(
    before: Element,
    after: Element,
    *,
    beyond: str | None = None,
    climate: Climate | None = None,
    indoors: str = "normal",
) -> SideEffects:
    """What the work makes of warmth, damp and weight. `beyond` says what lies behind the element (SURFACES_M2K_W); None
    for one inside the house."""
    added = after.surface_mass_kg_m2 - before.surface_mass_kg_m2
    bare, full = (slabs_of(element) if beyond else None for element in (before, after))
    if beyond is None or bare is None or full is None:
        return SideEffects(u_before_w_m2k=None, u_after_w_m2k=None, damp=None, added_mass_kg_m2=added)
    inside, outside = SURFACES_M2K_W[one_of("beyond", beyond, SURFACES_M2K_W)]
    damp = None
    if climate is not None:
        damp = yearly_damp(full, climate, inside_m2k_w=inside, outside_m2k_w=outside, indoors=indoors)
    return SideEffects(
        u_before_w_m2k=u_value_w_m2k(bare, beyond),
        u_after_w_m2k=u_value_w_m2k(full, beyond),
        damp=damp,
        added_mass_kg_m2=added,
    )
