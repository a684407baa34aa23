"""Every path into a room: through the separating patches, over the junctions, and round the side."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import EXACT_HZ, a_weighted_shares
from .buildup import element_reduction_db, keep_reductions
from .constants import FITTED
from .errors import InputError, Notice, between, inside, positive
from .inputs import Element, KnownElement, KnownLining, Lining, lined
from .junctions import (
    Junction,
    absorption_length_m,
    flanking_reduction_db,
    least_vibration_reduction_db,
    structural_reverberation_s,
    velocity_level_difference_db,
    vibration_reduction_db,
)
from .leaf import masonry_edge_loss, mean_loss
from .linings import elements_under, improvement_db, stand_in
from .sidepaths import CavityRoute, SidePath
from .uncertainty import element_uncertainty_db

KNOWN_UNCERTAINTY_DB = 1.5
"""Standard uncertainty of a reduction or improvement taken from a measurement of a like construction, in dB: that
between laboratories (ISO 12999-1) and a little for the likeness (judgement)."""

FLANKING_UNCERTAINTY_DB = 3.0
"""Junctions alone scatter by about 4 dB at 95 % (Hopkins 2003, quoted); with the elements 3 dB (judgement)."""


def _element(field: str, value: object) -> None:
    if not isinstance(value, Element | KnownElement):
        raise InputError(field, "must be an element or a known element")


def _lining(field: str, value: object) -> None:
    if value is not None and not isinstance(value, Lining | KnownLining):
        raise InputError(field, "must be a lining or a known lining")


@dataclass(frozen=True, kw_only=True)
class SeparatingPatch:
    """Part of the separating wall or floor, of one build-up, with what is added on the receiving side."""

    name: str
    area_m2: float
    element: Element | KnownElement
    lining: Lining | KnownLining | None = None

    def __post_init__(self) -> None:
        positive("area_m2", self.area_m2, 1e4)
        _element("element", self.element)
        _lining("lining", self.lining)


@dataclass(frozen=True, kw_only=True)
class Face:
    """A flanking element in one room."""

    element: Element | KnownElement
    area_m2: float
    lining: Lining | KnownLining | None = None

    def __post_init__(self) -> None:
        positive("area_m2", self.area_m2, 1e4)
        _element("element", self.element)
        _lining("lining", self.lining)


@dataclass(frozen=True, kw_only=True)
class FlankingPath:
    """A flanking element on both sides of the junction with the separating element: gives Ff, Df and Fd."""

    name: str
    source: Face
    receiving: Face
    junction: Junction

    def __post_init__(self) -> None:
        if self.source.lining is not None:
            raise InputError("source.lining", "only the receiving side is ours to line")


@dataclass(frozen=True, kw_only=True)
class ReceivingRoom:
    """A room, the patches it shares with the source room, and every other way in.

    `spectrum` is pink, traffic, speech, music or 21 source levels in dB; it weights the shares.
    """

    volume_m3: float
    separating: tuple[SeparatingPatch, ...]
    flanking: tuple[FlankingPath, ...] = ()
    side_paths: tuple[SidePath, ...] = ()
    reverberation_s: float = 0.5
    spectrum: str | tuple[float, ...] = "pink"

    def __post_init__(self) -> None:
        between("volume_m3", self.volume_m3, 1.0, 1e5)
        between("reverberation_s", self.reverberation_s, 0.05, 20.0)
        for name in ("separating", "flanking", "side_paths"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        if not self.separating:
            raise InputError("separating", "give at least one patch of the separating wall or floor")
        if not isinstance(self.spectrum, str):
            object.__setattr__(self, "spectrum", tuple(self.spectrum))
        a_weighted_shares(self.spectrum)

    @property
    def separating_area_m2(self) -> float:
        return sum(patch.area_m2 for patch in self.separating)


@dataclass(frozen=True)
class Path:
    """A path in computation: transmission factors (21,) referred to the separating area."""

    name: str
    group: str
    kind: str
    before: np.ndarray
    after: np.ndarray
    basis: str
    uncertainty_db: float
    uncertainty_after_db: float
    notices: tuple[Notice, ...] = ()


def _reduction_db(element: Element | KnownElement) -> np.ndarray:
    return np.array(element.reduction_db) if isinstance(element, KnownElement) else element_reduction_db(element)


def _factor(reduction_db: np.ndarray) -> np.ndarray:
    return 10.0 ** (-np.asarray(reduction_db) / 10.0)


def _spread(element: Element | KnownElement) -> tuple[float, tuple[Notice, ...]]:
    return (KNOWN_UNCERTAINTY_DB, ()) if isinstance(element, KnownElement) else element_uncertainty_db(element)


def _lined_spread(
    element: Element | KnownElement, lining: Lining | KnownLining | None
) -> tuple[float, tuple[Notice, ...]]:
    """Uncertainty with the lining: that of the whole build-up, or of base and stated improvement together."""
    if not isinstance(lining, Lining):
        own, notices = _spread(element)
        return (own, notices) if lining is None else (float(np.hypot(own, KNOWN_UNCERTAINTY_DB)), notices)
    return element_uncertainty_db(lined(stand_in(element) if isinstance(element, KnownElement) else element, lining))


def _after_db(element: Element | KnownElement, lining: Lining | KnownLining | None) -> np.ndarray:
    return _reduction_db(element) + improvement_db(element, lining)


def _direct(room: ReceivingRoom) -> list[Path]:
    total = room.separating_area_m2
    found = []
    for patch in room.separating:
        spread, notices = _spread(patch.element)
        spread_after, notices_after = _lined_spread(patch.element, patch.lining)
        before = _factor(_reduction_db(patch.element)) * patch.area_m2 / total
        after = _factor(_after_db(patch.element, patch.lining)) * patch.area_m2 / total
        basis = "known reduction" if isinstance(patch.element, KnownElement) else "finite-size plate and cavity model"
        found.append(
            Path(
                patch.name,
                patch.name,
                "direct",
                before,
                after,
                basis,
                spread,
                spread_after,
                tuple(dict.fromkeys(notices + notices_after)),
            )
        )
    return found


@lru_cache(maxsize=4096)
def absorption_length_of(element: Element | KnownElement, area_m2: float) -> np.ndarray:
    """Equivalent absorption length (21,) in m; the area over 1 m for light, double and unknown elements (ISO 12354-1, 4.2.2)."""
    if isinstance(element, KnownElement) or len(element.leaves) > 1 or not element.leaves[0].is_masonry:
        return np.full(21, area_m2)
    leaf = element.leaves[0]
    loss = mean_loss(leaf.layers, FITTED.board_loss) + masonry_edge_loss(leaf.mass_kg_m2, EXACT_HZ, FITTED)
    return absorption_length_m(area_m2, structural_reverberation_s(EXACT_HZ, loss), EXACT_HZ)


def _bare_mass(element: Element | KnownElement) -> float:
    """Surface mass in kg/m2 that meets the junction: the heaviest leaf of a double construction."""
    if isinstance(element, KnownElement):
        return element.surface_mass_kg_m2
    return max(leaf.mass_kg_m2 for leaf in element.leaves)


@dataclass(frozen=True)
class _Wall:
    """The separating element as its junctions see it: patches averaged over the area."""

    area_m2: float
    mass_kg_m2: float
    reduction_db: np.ndarray
    improvement_db: np.ndarray
    absorption_length_m: np.ndarray


def _wall(room: ReceivingRoom, direct: list[Path]) -> _Wall:
    total = room.separating_area_m2
    before = -10.0 * np.log10(sum(p.before for p in direct))
    after = -10.0 * np.log10(sum(p.after for p in direct))
    mass = sum(p.area_m2 * _bare_mass(p.element) for p in room.separating) / total
    length = sum(absorption_length_of(p.element, p.area_m2) for p in room.separating)
    return _Wall(total, mass, before, after - before, np.asarray(length))


def _vibration(junction: Junction, wall: _Wall, path: FlankingPath) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """K by band for Ff, Df, Fd, not below the least value of the geometry."""
    flank = _bare_mass(path.receiving.element)
    if junction.k_db is not None:
        straight, round_out, round_in = (np.full(21, k) for k in junction.k_db)
    else:
        straight, corner = vibration_reduction_db(junction.kind, wall.mass_kg_m2 / flank, EXACT_HZ)
        round_out = round_in = corner
    length, s_f, s_r = junction.length_m, path.source.area_m2, path.receiving.area_m2
    return (
        np.maximum(straight, least_vibration_reduction_db(length, s_f, s_r)),
        np.maximum(round_out, least_vibration_reduction_db(length, wall.area_m2, s_r)),
        np.maximum(round_in, least_vibration_reduction_db(length, s_f, wall.area_m2)),
    )


def _flanking(path: FlankingPath, wall: _Wall) -> list[Path]:
    k_ff, k_df, k_fd = _vibration(path.junction, wall, path)
    source, receiving = path.source, path.receiving
    r_source, r_receiving = _reduction_db(source.element), _reduction_db(receiving.element)
    a_source = absorption_length_of(source.element, source.area_m2)
    a_receiving = absorption_length_of(receiving.element, receiving.area_m2)
    a_wall, length = wall.absorption_length_m, path.junction.length_m
    lining = improvement_db(receiving.element, receiving.lining)
    routes = (
        ("Ff", r_source, r_receiving, k_ff, a_source, a_receiving, source.area_m2, receiving.area_m2, lining),
        ("Df", wall.reduction_db, r_receiving, k_df, a_wall, a_receiving, wall.area_m2, receiving.area_m2, lining),
        ("Fd", r_source, wall.reduction_db, k_fd, a_source, a_wall, source.area_m2, wall.area_m2, wall.improvement_db),
    )
    found = []
    for kind, r_i, r_j, k, a_i, a_j, s_i, s_j, gain in routes:
        difference = velocity_level_difference_db(k, length, a_i, a_j)
        before = flanking_reduction_db(r_i, r_j, difference, wall.area_m2, s_i, s_j)
        basis = "ISO 12354-1 by band, " + (
            "K as given" if path.junction.k_db else f"K of a {path.junction.kind.replace('_', ' ')}"
        )
        found.append(
            Path(
                f"{path.name}, {kind}",
                path.name,
                kind,
                _factor(before),
                _factor(before + gain),
                basis,
                FLANKING_UNCERTAINTY_DB,
                FLANKING_UNCERTAINTY_DB,
            )
        )
    return found


def _side(path: SidePath, separating_m2: float) -> Path:
    before = path.before.transmission_area_m2() / separating_m2
    after = before if path.after is None else path.after.transmission_area_m2() / separating_m2
    return Path(
        path.name,
        path.name,
        path.kind,
        before,
        after,
        path.before.basis,
        path.before.uncertainty_db,
        path.before.uncertainty_db,
    )


def _elements(room: ReceivingRoom) -> list[Element]:
    """Every build-up that the room's prediction needs."""
    found = [e for p in room.separating for e in elements_under(p.element, p.lining)]
    for flank in room.flanking:
        for face in (flank.source, flank.receiving):
            found += elements_under(face.element, face.lining)
    for side in room.side_paths:
        for state in (side.before, side.after):
            if isinstance(state, CavityRoute):
                found += state.elements()
    return found


def named_paths(room: ReceivingRoom) -> list[Path]:
    """All paths of a room with their transmission factors before and after treatment."""
    keep_reductions(_elements(room))
    found = []
    with inside("separating"):
        found += _direct(room)
    wall = _wall(room, found)
    for i, flank in enumerate(room.flanking):
        with inside(f"flanking[{i}]"):
            found += _flanking(flank, wall)
    for i, side in enumerate(room.side_paths):
        with inside(f"side_paths[{i}]"):
            found.append(_side(side, wall.area_m2))
    return found
