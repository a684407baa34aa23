"""Plates that are stiffer along than across: floorboards, ribbed decks, profiled sheets."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from .inputs import Element, Layer

AZIMUTHS = 10
"""Directions over a quarter turn; twice as many move no band by more than 0.3 dB (sheets with a ratio of 6 and 16)."""


def stiffness_at(rigidity_nm: float, ratio: float, azimuth: float) -> float:
    """Bending stiffness in N m of waves that run at `azimuth` (radians) from the boards.

    (sqrt(B along) cos2 + sqrt(B across) sin2)2, with the torsion that the geometric mean gives (Heckl 1960; Cremer,
    Heckl and Ungar 1988). Between the directions lie two critical frequencies and all between.
    """
    along, across = ratio**0.25, ratio**-0.25
    return rigidity_nm * (along * np.cos(azimuth) ** 2 + across * np.sin(azimuth) ** 2) ** 2


def _turned(layer: Layer, azimuth: float) -> Layer:
    if layer.stiffness_ratio is None or layer.rigidity_nm == 0.0:
        return layer
    rigidity = stiffness_at(layer.rigidity_nm, layer.stiffness_ratio, azimuth)
    modulus = 12.0 * rigidity / (layer.thickness_mm / 1000.0) ** 3
    return replace(
        layer, youngs_modulus_pa=modulus, poisson=0.0, critical_frequency_hz=None, stiffness_ratio=None, hollow=None,
        surface_mass_kg_m2=layer.mass_kg_m2,
    )  # fmt: skip


@lru_cache(maxsize=1024)
def directions(element: Element) -> tuple[tuple[float, Element], ...]:
    """The element as waves of each direction meet it, with weights that sum to one; all layers lie one way."""
    points, weights = np.polynomial.legendre.leggauss(AZIMUTHS)
    found = []
    for azimuth, weight in zip((points + 1.0) * np.pi / 4.0, weights / 2.0, strict=True):
        leaves = tuple(
            replace(leaf, layers=tuple(_turned(layer, float(azimuth)) for layer in leaf.layers))
            for leaf in element.leaves
        )
        found.append((float(weight), replace(element, leaves=leaves)))
    return tuple(found)
