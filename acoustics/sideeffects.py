"""What a lining does besides sound: warmth, damp and weight. Indicative; to be checked by those who answer for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .errors import Notice, between, positive
from .inputs import Element, Gap, Layer, Lining, lined

INSIDE_M2K_W, OUTSIDE_M2K_W = 0.13, 0.04
"""Surface resistances for horizontal heat flow (EN ISO 6946, table 7)."""

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

WINTER_OUTSIDE_C, WINTER_OUTSIDE_RH = 4.0, 0.88
INSIDE_C, INSIDE_RH = 20.0, 0.55
"""A winter month in a temperate maritime climate and an ordinary dwelling (common practice)."""


@dataclass(frozen=True, kw_only=True)
class SideEffects:
    """U-values in W/(m2 K), None where the wall is internal or a material is unknown; added mass; remarks."""

    u_before_w_m2k: float | None
    u_after_w_m2k: float | None
    condensation: bool | None
    added_mass_kg_m2: float
    added_mass_kg: float
    depth_lost_mm: float
    notices: tuple[Notice, ...]


def _layer_slab(layer: Layer) -> tuple[float, float] | None:
    """Thermal resistance in m2 K/W and equivalent air layer in m of a layer."""
    if layer.material not in _PROPERTIES:
        return None
    conductivity, vapour = _PROPERTIES[layer.material]
    thickness = layer.thickness_mm / 1000.0
    return thickness / conductivity, vapour * thickness


def _gap_slabs(gap: Gap) -> list[tuple[float, float]]:
    fibre = min(gap.fill.thickness_mm, gap.depth_mm) if gap.fill else 0.0
    air = gap.depth_mm - fibre
    slabs = []
    if air > 0.0:
        slabs.append((float(np.interp(air, _AIR_DEPTH_MM, _AIR_M2K_W)), air / 1000.0))
    if fibre > 0.0:
        slabs.append((fibre / 1000.0 / FIBRE_CONDUCTIVITY_W_MK, FIBRE_VAPOUR * fibre / 1000.0))
    return slabs


def slabs_of(element: Element) -> list[tuple[float, float]] | None:
    """Resistance and equivalent air layer of each layer from outside in; None if a material is unknown."""
    slabs: list[tuple[float, float]] = []
    for i, leaf in enumerate(element.leaves):
        for layer in leaf.layers:
            slab = _layer_slab(layer)
            if slab is None:
                return None
            slabs.append(slab)
        if i < len(element.gaps):
            slabs += _gap_slabs(element.gaps[i])
    return slabs


def u_value_w_m2k(slabs: list[tuple[float, float]]) -> float:
    """Thermal transmittance in W/(m2 K) of plane layers (EN ISO 6946, 6.7); studs are left out."""
    return 1.0 / (INSIDE_M2K_W + OUTSIDE_M2K_W + sum(r for r, _ in slabs))


def saturation_pa(temperature_c: np.ndarray) -> np.ndarray:
    """Saturation vapour pressure in Pa (EN ISO 13788, annex E)."""
    t = np.asarray(temperature_c, float)
    over_water, over_ice = 610.5 * np.exp(17.269 * t / (237.3 + t)), 610.5 * np.exp(21.875 * t / (265.5 + t))
    return np.where(t >= 0.0, over_water, over_ice)


def condenses(slabs: list[tuple[float, float]]) -> bool:
    """Whether vapour pressure reaches saturation at an interface in the winter month.

    A steady check with the boundary values of this module, simpler than the monthly balance of EN ISO 13788.
    """
    resistance = np.cumsum([OUTSIDE_M2K_W] + [r for r, _ in slabs])
    whole = resistance[-1] + INSIDE_M2K_W
    temperature = WINTER_OUTSIDE_C + (INSIDE_C - WINTER_OUTSIDE_C) * resistance / whole
    air = np.cumsum([0.0] + [max(d, 1e-4) for _, d in slabs])
    outside = WINTER_OUTSIDE_RH * float(saturation_pa(np.float64(WINTER_OUTSIDE_C)))
    inside = INSIDE_RH * float(saturation_pa(np.float64(INSIDE_C)))
    vapour = outside + (inside - outside) * air / air[-1]
    return bool(np.any(vapour[1:-1] > saturation_pa(temperature[1:-1])))


def lining_effects(
    element: Element, lining: Lining, area_m2: float, *, external: bool = False, on_joists: bool = False
) -> SideEffects:
    """Side effects of a lining over an area in m2. `external`: the wall faces outdoors on its source side."""
    area = positive("area_m2", area_m2, 1e4)
    together = lined(element, lining)
    added = together.surface_mass_kg_m2 - element.surface_mass_kg_m2
    notices = [_weight_notice(added, between("added", added * area, 0.0, 1e9), on_joists)]
    before = after = None
    condensation = None
    if external:
        bare, full = slabs_of(element), slabs_of(together)
        if bare is not None and full is not None:
            before, after, condensation = u_value_w_m2k(bare), u_value_w_m2k(full), condenses(full)
        notices.append(_damp_notice(condensation))
    return SideEffects(
        u_before_w_m2k=before,
        u_after_w_m2k=after,
        condensation=condensation,
        added_mass_kg_m2=added,
        added_mass_kg=added * area,
        depth_lost_mm=lining.depth_mm,
        notices=tuple(notices),
    )


def _weight_notice(added_kg_m2: float, total_kg: float, on_joists: bool) -> Notice:
    text = f"Adds {added_kg_m2:.0f} kg/m2, {total_kg:.0f} kg in all."
    if on_joists or added_kg_m2 > 30.0:
        text += " Have the joists or the wall that carry it checked by a structural engineer before work begins."
    return Notice(code="weight", text=text)


def _damp_notice(condensation: bool | None) -> Notice:
    if condensation is None:
        return Notice(
            code="condensation_unknown", text="A material's thermal data are not known: have the damp risk checked."
        )
    if condensation:
        text = "In winter vapour may condense behind the lining: plan a vapour control layer and have it checked (EN ISO 13788)."
        return Notice(code="condensation", text=text)
    return Notice(
        code="condensation_none",
        text="No condensation in a steady winter check; driving rain and leaks are not covered.",
    )
