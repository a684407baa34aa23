"""From elements and junctions to what is heard: every path before and after, and what limits the result."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import EXACT_HZ, a_weighted_shares
from .buildup import element_reduction_db, keep_reductions
from .constants import FITTED
from .errors import InputError, Notice, between, inside, positive
from .inputs import Element, KnownElement, KnownLining, Lining
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
from .linings import elements_under, improvement_db
from .ratings import rate_airborne
from .sidepaths import CavityRoute, SidePath
from .uncertainty import MEASUREMENT_IN_SITU_DB, element_uncertainty_db

FLANKING_UNCERTAINTY_DB = 3.0
"""Junctions alone scatter by about 4 dB at 95 % (Hopkins 2003, quoted); with the elements 3 dB (judgement)."""
FLOOR_DB = 120.0
"""Reductions are reported up to this value; an absent path has it."""


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


@dataclass(frozen=True, kw_only=True)
class PathResult:
    """One path: its share of the A-weighted energy heard, and its reduction (21,) referred to the separating area.

    `kind` is direct, Ff, Df, Fd or the kind of side path; `group` is the name of the object the path belongs to.
    """

    name: str
    group: str
    kind: str
    share_before: float
    share_after: float
    reduction_before_db: tuple[float, ...]
    reduction_after_db: tuple[float, ...]
    band_share_before: tuple[float, ...]
    band_share_after: tuple[float, ...]
    basis: str
    uncertainty_db: float
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, kw_only=True)
class RoomResult:
    """Standardised level difference D_nT (21,) and its rating; `uncertainty_db` is a standard uncertainty."""

    standardized_db: tuple[float, ...]
    weighted_db: int
    c_db: int
    ctr_db: int
    uncertainty_db: float


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """A room before and after treatment, the paths, and one sentence on what limits the result."""

    before: RoomResult
    after: RoomResult
    paths: tuple[PathResult, ...]
    notices: tuple[Notice, ...]
    limit_text: str


@dataclass(frozen=True)
class _Path:
    """A path in computation: transmission factors (21,) referred to the separating area."""

    name: str
    group: str
    kind: str
    before: np.ndarray
    after: np.ndarray
    basis: str
    uncertainty_db: float
    notices: tuple[Notice, ...] = ()


def _reduction_db(element: Element | KnownElement) -> np.ndarray:
    return np.array(element.reduction_db) if isinstance(element, KnownElement) else element_reduction_db(element)


def _factor(reduction_db: np.ndarray) -> np.ndarray:
    return 10.0 ** (-np.asarray(reduction_db) / 10.0)


def _spread(element: Element | KnownElement) -> tuple[float, tuple[Notice, ...]]:
    return (1.5, ()) if isinstance(element, KnownElement) else element_uncertainty_db(element)


def _after_db(element: Element | KnownElement, lining: Lining | KnownLining | None) -> np.ndarray:
    return _reduction_db(element) + improvement_db(element, lining)


def _direct(room: ReceivingRoom) -> list[_Path]:
    total = room.separating_area_m2
    found = []
    for patch in room.separating:
        spread, notices = _spread(patch.element)
        before = _factor(_reduction_db(patch.element)) * patch.area_m2 / total
        after = _factor(_after_db(patch.element, patch.lining)) * patch.area_m2 / total
        basis = "known reduction" if isinstance(patch.element, KnownElement) else "finite-size plate and cavity model"
        found.append(_Path(patch.name, patch.name, "direct", before, after, basis, spread, notices))
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


def _wall(room: ReceivingRoom, direct: list[_Path]) -> _Wall:
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
        if junction.kind == "light_to_heavy" and flank > wall.mass_kg_m2:
            straight, _ = vibration_reduction_db(junction.kind, max(wall.mass_kg_m2 / flank, 1.0), EXACT_HZ)
    length, s_f, s_r = junction.length_m, path.source.area_m2, path.receiving.area_m2
    return (
        np.maximum(straight, least_vibration_reduction_db(length, s_f, s_r)),
        np.maximum(round_out, least_vibration_reduction_db(length, wall.area_m2, s_r)),
        np.maximum(round_in, least_vibration_reduction_db(length, s_f, wall.area_m2)),
    )


def _flanking(path: FlankingPath, wall: _Wall) -> list[_Path]:
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
            _Path(
                f"{path.name}, {kind}",
                path.name,
                kind,
                _factor(before),
                _factor(before + gain),
                basis,
                FLANKING_UNCERTAINTY_DB,
            )
        )
    return found


def _side(path: SidePath, separating_m2: float) -> _Path:
    before = path.before.transmission_area_m2() / separating_m2
    after = before if path.after is None else path.after.transmission_area_m2() / separating_m2
    return _Path(path.name, path.name, path.kind, before, after, path.before.basis, path.before.uncertainty_db)


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


def _named_paths(room: ReceivingRoom) -> list[_Path]:
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


def _room_result(factor: np.ndarray, volume_m3: float, area_m2: float, spread_db: float) -> RoomResult:
    standardized = -10.0 * np.log10(factor) + 10.0 * np.log10(0.32 * volume_m3 / area_m2)
    rating = rate_airborne(tuple(standardized.tolist()))
    return RoomResult(
        standardized_db=tuple(standardized.tolist()),
        weighted_db=rating.weighted_db,
        c_db=rating.c_db,
        ctr_db=rating.ctr_db,
        uncertainty_db=spread_db,
    )


def _combined_spread_db(shares: np.ndarray, spreads: np.ndarray) -> float:
    """Paths err independently: their share of the energy is the sensitivity of the level to each."""
    return float(np.sqrt(np.sum((shares * spreads) ** 2) + MEASUREMENT_IN_SITU_DB**2))


def _reported(factor: np.ndarray) -> tuple[float, ...]:
    return tuple((-10.0 * np.log10(np.maximum(factor, 10.0 ** (-FLOOR_DB / 10.0)))).tolist())


def predict_room(room: ReceivingRoom) -> Prediction:
    """Predict the standardised level difference before and after treatment, with the share of every path.

    Direct and flanking transmission after ISO 12354-1:2017, detailed model; side paths by the models of
    sidepaths.py. Shares are of the A-weighted energy of the room's spectrum and sum to one.
    """
    paths = _named_paths(room)
    weights = a_weighted_shares(room.spectrum)
    before, after = np.stack([p.before for p in paths]), np.stack([p.after for p in paths])
    energy_before, energy_after = before @ weights, after @ weights
    share_before, share_after = energy_before / energy_before.sum(), energy_after / energy_after.sum()
    band_before, band_after = before / before.sum(axis=0), after / after.sum(axis=0)
    spreads = np.array([p.uncertainty_db for p in paths])
    area = room.separating_area_m2
    results = tuple(
        _room_result(total.sum(axis=0), room.volume_m3, area, _combined_spread_db(shares, spreads))
        for total, shares in ((before, share_before), (after, share_after))
    )
    reported = tuple(
        PathResult(
            name=p.name,
            group=p.group,
            kind=p.kind,
            share_before=float(share_before[i]),
            share_after=float(share_after[i]),
            reduction_before_db=_reported(p.before),
            reduction_after_db=_reported(p.after),
            band_share_before=tuple(band_before[i].tolist()),
            band_share_after=tuple(band_after[i].tolist()),
            basis=p.basis,
            uncertainty_db=p.uncertainty_db,
            notices=p.notices,
        )
        for i, p in enumerate(paths)
    )
    notices = _room_notices(results)
    text = limit_sentence(paths, room, results[0], results[1])
    return Prediction(before=results[0], after=results[1], paths=reported, notices=notices, limit_text=text)


def _room_notices(results: tuple[RoomResult, RoomResult]) -> tuple[Notice, ...]:
    before, after = results
    if after.weighted_db < before.weighted_db:
        return (
            Notice(
                code="worse",
                text="The treatment as described makes the room worse: look at the resonance of the linings.",
            ),
        )
    low_before, low_after = np.array(before.standardized_db[:6]), np.array(after.standardized_db[:6])
    if np.any(low_after < low_before - 1.0):
        return (
            Notice(code="worse_low", text="Below 200 Hz the treatment makes some bands worse: bass may be heard more."),
        )
    return ()


def limit_sentence(paths: list[_Path], room: ReceivingRoom, before: RoomResult, after: RoomResult) -> str:
    """What limits the result now, in one sentence."""
    weights = a_weighted_shares(room.spectrum)
    groups: dict[str, float] = {}
    for path in paths:
        groups[path.group] = groups.get(path.group, 0.0) + float(path.after @ weights)
    whole = sum(groups.values())
    name = max(groups, key=lambda g: groups[g])
    share = 100.0 * groups[name] / whole
    gain = after.weighted_db - before.weighted_db
    rest = sum((p.before for p in paths if p.kind not in ("direct", "Fd")), np.zeros(21))
    treated = any(not np.array_equal(p.before, p.after) for p in paths)
    if not np.any(rest):
        bound = "no other path is described, so nothing but the wall limits it"
    else:
        ceiling = _room_result(rest, room.volume_m3, room.separating_area_m2, 0.0).weighted_db
        bound = f"lining the separating wall alone could gain at most {max(ceiling - before.weighted_db, 0)} dB"
    state = f"The treatment gains {gain} dB; after it" if treated else "As it is,"
    return f"{state} {name} carries most of what is heard ({share:.0f} %); {bound}."
