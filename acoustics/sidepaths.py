"""The ways round: joined voids, boxed beams, flues, pipes, leaks. Each gives an area of transmission by band."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import EXACT_HZ, SOUND_SPEED_M_S
from .buildup import element_reduction_db
from .errors import InputError, between, inside, numbers, one_of, positive
from .fluid import wall_loss
from .inputs import Element, KnownElement, KnownLining, Lining
from .linings import elements_under, improvement_db

CAVITY_KINDS = ("void", "beam", "flue", "roof_void", "pipe")
CAVITY_UNCERTAINTY_DB, LEAK_UNCERTAINTY_DB, STATED_UNCERTAINTY_DB = 5.0, 5.0, 3.0
"""Standard uncertainties of these simple models in dB: a judgement, no published residuals were found."""

_WOOL_ABSORPTION = np.array(
    [0.10, 0.14, 0.20, 0.28, 0.38, 0.50, 0.60, 0.70, 0.78, 0.85, 0.90, 0.92, 0.94, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95]
)  # fmt: skip
"""Diffuse absorption of 100 mm of mineral wool by band (common practice)."""


@dataclass(frozen=True, kw_only=True)
class CavityRoute:
    """Source room, skin, cavity, link, cavity, skin, receiving room.

    A skin or link of None is open (factor 1). `link_area_m2` is the opening or the thin part of the wall between
    the two cavities. `absorption` is the mean absorption coefficient of the bare cavity; `wool` says that
    mineral wool of 100 mm lies in both cavities. Areas in m2. Diffuse fields in both cavities; indicative.
    """

    kind: str = "void"
    source_area_m2: float
    receiving_area_m2: float
    link_area_m2: float
    source_skin: Element | KnownElement | None = None
    receiving_skin: Element | KnownElement | None = None
    link: Element | KnownElement | None = None
    receiving_lining: Lining | KnownLining | None = None
    absorption: float = 0.1
    wool: bool = False

    def __post_init__(self) -> None:
        one_of("kind", self.kind, CAVITY_KINDS)
        positive("source_area_m2", self.source_area_m2, 1e4)
        positive("receiving_area_m2", self.receiving_area_m2, 1e4)
        between("link_area_m2", self.link_area_m2, 0.0, 1e3)
        between("absorption", self.absorption, 0.01, 1.0)
        if self.receiving_lining is not None and self.receiving_skin is None:
            raise InputError("receiving_lining", "an open cavity has no skin to line")

    def elements(self) -> list[Element]:
        """The build-ups whose reductions the route needs."""
        skins = [x for x in (self.source_skin, self.link) if isinstance(x, Element)]
        return skins + (
            elements_under(self.receiving_skin, self.receiving_lining) if self.receiving_skin is not None else []
        )

    def transmission_area_m2(self) -> np.ndarray:
        """Area (21,) in m2 that would let the same power through if it were open."""
        if self.link_area_m2 == 0.0:
            return np.zeros(21)
        alpha = _WOOL_ABSORPTION if self.wool else np.full(21, self.absorption)
        link = self.link_area_m2 * factor_of(self.link)
        into = self.source_area_m2 * factor_of(self.source_skin)
        out = self.receiving_area_m2 * factor_of(self.receiving_skin)
        if self.receiving_lining is not None:
            out = out * 10.0 ** (-improvement_db(self.receiving_skin, self.receiving_lining) / 10.0)
        # The void takes up sound on both of its large faces; what leaves through skin and link is lost to it too.
        loss_source = 2.0 * self.source_area_m2 * alpha + link + into
        loss_receiving = 2.0 * self.receiving_area_m2 * alpha + link + out
        return into * link * out / (loss_source * loss_receiving - link * link)

    uncertainty_db = CAVITY_UNCERTAINTY_DB
    basis = "two coupled reverberant cavities, indicative"


@dataclass(frozen=True, kw_only=True)
class Leak:
    """Gaps right through the wall: slits of `width_mm` through `depth_mm`, together `area_mm2`.

    `sealed` closes them with a bead of sealant 10 mm deep (mass law of 16 kg/m2).
    """

    kind: str = "leak"
    area_mm2: float
    width_mm: float = 3.0
    depth_mm: float = 215.0
    sealed: bool = False

    def __post_init__(self) -> None:
        one_of("kind", self.kind, ("leak",))
        between("area_mm2", self.area_mm2, 0.0, 1e7)
        between("width_mm", self.width_mm, 0.05, 500.0)
        between("depth_mm", self.depth_mm, 0.5, 3000.0)

    def transmission_area_m2(self) -> np.ndarray:
        """Area (21,) in m2 that would let the same power through if it were open."""
        factor = _slit_by_band(self.width_mm / 1000.0, self.depth_mm / 1000.0)
        return self.area_mm2 / 1e6 * (_closed(factor) if self.sealed else factor)

    uncertainty_db = LEAK_UNCERTAINTY_DB
    basis = "slit in a thick wall"


@dataclass(frozen=True, kw_only=True)
class Hole:
    """Round holes right through the wall: `count` of `diameter_mm` through `depth_mm`; `sealed` as for a leak."""

    kind: str = "hole"
    diameter_mm: float
    depth_mm: float = 215.0
    count: int = 1
    sealed: bool = False

    def __post_init__(self) -> None:
        one_of("kind", self.kind, ("hole",))
        between("diameter_mm", self.diameter_mm, 0.2, 1000.0)
        between("depth_mm", self.depth_mm, 0.5, 3000.0)
        between("count", self.count, 0, 10000)

    @property
    def area_mm2(self) -> float:
        return self.count * np.pi / 4.0 * self.diameter_mm**2

    def transmission_area_m2(self) -> np.ndarray:
        """Area (21,) in m2 that would let the same power through if it were open."""
        factor = hole_factor(self.diameter_mm / 1000.0, self.depth_mm / 1000.0, EXACT_HZ)
        return self.area_mm2 / 1e6 * (_closed(factor) if self.sealed else factor)

    uncertainty_db = LEAK_UNCERTAINTY_DB
    basis = "round hole in a thick wall"


@dataclass(frozen=True, kw_only=True)
class StatedRoute:
    """Any other path whose reduction by band (21 values in dB) over `area_m2` is known or assumed."""

    kind: str = "stated"
    area_m2: float
    reduction_db: tuple[float, ...]

    def __post_init__(self) -> None:
        positive("area_m2", self.area_m2, 1e4)
        values = numbers("reduction_db", self.reduction_db, -20.0, 150.0)
        if len(values) != 21:
            raise InputError("reduction_db", f"must have 21 values from 50 to 5000 Hz, has {len(values)}")
        object.__setattr__(self, "reduction_db", values)

    def transmission_area_m2(self) -> np.ndarray:
        """Area (21,) in m2 that would let the same power through if it were open."""
        return self.area_m2 * 10.0 ** (-np.array(self.reduction_db) / 10.0)

    uncertainty_db = STATED_UNCERTAINTY_DB
    basis = "stated by the user"


Route = CavityRoute | Leak | Hole | StatedRoute


@dataclass(frozen=True, kw_only=True)
class SidePath:
    """A named way round the separating wall, as it is (`before`) and as treated (`after`; None: left as it is)."""

    name: str
    before: Route
    after: Route | None = None

    @property
    def kind(self) -> str:
        return self.before.kind

    def __post_init__(self) -> None:
        for name in ("before", "after"):
            state = getattr(self, name)
            if not isinstance(state, CavityRoute | Leak | Hole | StatedRoute) and not (
                name == "after" and state is None
            ):
                with inside(name):
                    raise InputError("", "must be a cavity route, a leak or a stated route")


def factor_of(element: Element | KnownElement | None) -> np.ndarray:
    """Transmission factor (21,) of a skin; one where there is none."""
    if element is None:
        return np.ones(21)
    if isinstance(element, KnownElement):
        return 10.0 ** (-np.array(element.reduction_db) / 10.0)
    return 10.0 ** (-element_reduction_db(element) / 10.0)


@lru_cache(maxsize=1024)
def _slit_by_band(width_m: float, depth_m: float) -> np.ndarray:
    return slit_factor(width_m, depth_m, EXACT_HZ)


def _closed(factor: np.ndarray) -> np.ndarray:
    """The factor behind a bead of sealant 10 mm deep (mass law of 16 kg/m2)."""
    return factor / (1.0 + (np.pi * EXACT_HZ * 16.0 / (1.205 * SOUND_SPEED_M_S)) ** 2)


def hole_factor(diameter_m: float, depth_m: float, frequency_hz: np.ndarray) -> np.ndarray:
    """Transmission factor (F,) of a round hole in a diffuse field (Wilson and Soroka 1965; Gomperts 1964).

    A tube with the radiation impedance of a piston in a wall at both ends and the friction of its wall (Kirchhoff).
    A small hole meets twice the pressure of a plane wave head on, a wide one lets through what falls on it.
    """
    frequency = np.asarray(frequency_hz, float)
    radius = diameter_m / 2.0
    ka = 2.0 * np.pi * frequency * radius / SOUND_SPEED_M_S
    resistance, reactance = piston_impedance(ka)
    z = resistance + 1j * reactance
    friction = wall_loss(frequency, radius)
    way = ka * depth_m / radius * (1.0 + friction / 2.0 - 0.5j * friction)
    factor = 4.0 * resistance / np.abs(2.0 * z * np.cos(way) + 1j * np.sin(way) * (1.0 + z * z)) ** 2
    return np.minimum(factor * (1.0 + 1.0 / (1.0 + ka**2)), 100.0)


def piston_impedance(ka: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Resistance and reactance (F,) over rho c of a round piston in a wall: 1 - J1(x) / (x / 2) and H1(x) / (x / 2)
    at x = 2 ka (Rayleigh), from the integrals that define Bessel's and Struve's functions."""
    points, weights = np.polynomial.legendre.leggauss(96)
    angle, weight = (points + 1.0) * np.pi / 4.0, weights * np.pi / 4.0
    wave = 2.0 * np.asarray(ka, float)[:, None] * np.cos(angle)
    share = 4.0 / np.pi * np.sin(angle) ** 2 * weight
    return 1.0 - np.cos(wave) @ share, np.sin(wave) @ share


def slit_factor(width_m: float, depth_m: float, frequency_hz: np.ndarray) -> np.ndarray:
    """Transmission factor of a straight slit in a diffuse field, capped at ten (Gomperts and Kihlman 1967, from memory).

    The end correction is that of a slit in a wall: (ln(8 / kw) - 0.577) / pi of the width at each end.
    """
    k = 2.0 * np.pi * np.asarray(frequency_hz, float) * width_m / SOUND_SPEED_M_S
    end = np.clip((np.log(8.0 / k) - 0.57722) / np.pi, 0.0, None)
    length = depth_m / width_m
    phase = k * (length + 2.0 * end)
    bend = np.clip(np.cos(k * end) ** 2, 0.05, None)
    loss = 0.02  # friction in narrow gaps keeps the resonances finite (common practice)
    bottom = (np.sin(phase) ** 2 + loss * phase) / bend + k * k / 2.0 * (1.0 + np.cos(phase) * np.cos(k * length))
    narrow = np.minimum(8.0 * k * bend / (2.0 * bottom), 10.0)
    thin = 1.0 / (1.0 + k**4)  # wider than a wavelength it is an opening, which lets everything through
    return thin * narrow + (1.0 - thin)
