"""Every path into a room: through the separating patches, over the junctions, and round the side."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .buildup import keep_reductions
from .errors import Notice, inside
from .flanking import ROUTES, Flank, Part, structure_of
from .inputs import Element, KnownElement, KnownLining, Lining, lined
from .linings import elements_under, improvement_db, stand_in
from .room_inputs import Face, ReceivingRoom, SeparatingPatch
from .sidepaths import CavityRoute, Route, SidePath
from .uncertainty import element_uncertainty_db

KNOWN_UNCERTAINTY_DB = 1.5
"""Standard uncertainty of a reduction or improvement taken from a measurement of a like construction, in dB: that
between laboratories (ISO 12999-1) and a little for the likeness (judgement)."""

FLANKING_UNCERTAINTY_DB = 3.0
"""Junctions alone scatter by about 4 dB at 95 % (Hopkins 2003, quoted); with the elements 3 dB (judgement)."""


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


def _factor(reduction_db: np.ndarray) -> np.ndarray:
    return 10.0 ** (-reduction_db / 10.0)


@lru_cache(maxsize=8192)
def _spread(element: Element | KnownElement, lining: Lining | KnownLining | None) -> tuple[float, tuple[Notice, ...]]:
    """Uncertainty with the lining: that of the whole build-up, or of base and stated improvement together."""
    if isinstance(lining, Lining):
        base = stand_in(element) if isinstance(element, KnownElement) else element
        return element_uncertainty_db(lined(base, lining))
    own, notices = (KNOWN_UNCERTAINTY_DB, ()) if isinstance(element, KnownElement) else element_uncertainty_db(element)
    return (own, notices) if lining is None else (float(np.hypot(own, KNOWN_UNCERTAINTY_DB)), notices)


@lru_cache(maxsize=8192)
def _gain_spread_db(element: Element | KnownElement, lining: Lining | KnownLining | None) -> float:
    """Uncertainty of the improvement alone: what the lined element has beyond the bare one."""
    if lining is None:
        return 0.0
    if isinstance(lining, KnownLining):
        return KNOWN_UNCERTAINTY_DB
    bare, whole = _spread(element, None)[0], _spread(element, lining)[0]
    return max(float(np.sqrt(max(whole**2 - bare**2, 0.0))), KNOWN_UNCERTAINTY_DB)


def _direct(room: ReceivingRoom, reductions_db: np.ndarray, gains_db: np.ndarray) -> list[Path]:
    part = np.array([[p.area_m2] for p in room.separating]) / room.separating_area_m2
    before, after = _factor(reductions_db) * part, _factor(reductions_db + gains_db) * part
    found = []
    for i, patch in enumerate(room.separating):
        (spread, notices), (spread_after, notices_after) = (
            _spread(patch.element, None),
            _spread(patch.element, patch.lining),
        )
        basis = "known reduction" if isinstance(patch.element, KnownElement) else "finite-size plate and cavity model"
        both = tuple(dict.fromkeys(notices + notices_after))
        found.append(Path(patch.name, patch.name, "direct", before[i], after[i], basis, spread, spread_after, both))
    return found


def _flanking(room: ReceivingRoom, before: np.ndarray, wall_gain_db: np.ndarray) -> list[Path]:
    if not room.flanking:
        return []
    gains = np.stack([improvement_db(x.receiving.element, x.receiving.lining) for x in room.flanking])
    after = before + np.stack([gains, gains, np.broadcast_to(wall_gain_db, gains.shape)], axis=1)
    before, after = _factor(before), _factor(after)
    wall_spread = max(_gain_spread_db(p.element, p.lining) for p in room.separating)
    found = []
    for i, flank in enumerate(room.flanking):
        junction, face = flank.junction, flank.receiving
        own = _gain_spread_db(face.element, face.lining)
        notices = _spread(face.element, face.lining)[1]
        k = "K as given" if junction.k_db else f"K of a {junction.kind.replace('_', ' ')}"
        for j, (kind, gained) in enumerate(zip(ROUTES, (own, own, wall_spread), strict=True)):
            spread = float(np.hypot(FLANKING_UNCERTAINTY_DB, gained))
            found.append(
                Path(
                    f"{flank.name}, {kind}",
                    flank.name,
                    kind,
                    before[i, j],
                    after[i, j],
                    f"ISO 12354-1 by band with losses in situ, {k}",
                    FLANKING_UNCERTAINTY_DB,
                    spread,
                    notices,
                )
            )
    return found


def _side_spread_db(route: Route) -> float:
    if isinstance(route, CavityRoute) and route.receiving_skin is not None:
        return float(np.hypot(route.uncertainty_db, _gain_spread_db(route.receiving_skin, route.receiving_lining)))
    return route.uncertainty_db


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
        _side_spread_db(path.before),
        _side_spread_db(path.after or path.before),
    )


def _elements(room: ReceivingRoom) -> list[Element]:
    """Every build-up that the room's prediction needs."""
    found: list[Element] = []
    for i, patch in enumerate(room.separating):
        with inside(f"separating[{i}]"):
            found += elements_under(patch.element, patch.lining)
    for i, flank in enumerate(room.flanking):
        with inside(f"flanking[{i}].receiving"):
            found += elements_under(flank.receiving.element, flank.receiving.lining)
        found += elements_under(flank.source.element, None)
    for i, side in enumerate(room.side_paths):
        for name, state in (("before", side.before), ("after", side.after)):
            if isinstance(state, CavityRoute):
                with inside(f"side_paths[{i}].{name}"):
                    found += state.elements()
    return found


def _part(surface: SeparatingPatch | Face) -> Part:
    return Part(surface.element, surface.area_m2)


def named_paths(room: ReceivingRoom) -> list[Path]:
    """All paths of a room with their transmission factors before and after treatment."""
    keep_reductions(_elements(room))
    structure = structure_of(
        tuple(_part(p) for p in room.separating),
        tuple(Flank(_part(x.source), _part(x.receiving), x.junction) for x in room.flanking),
    )
    gains = np.stack([improvement_db(p.element, p.lining) for p in room.separating])
    found = _direct(room, structure.direct_db, gains)
    wall_gain_db = 10.0 * np.log10(sum(p.before for p in found) / sum(p.after for p in found))
    found += _flanking(room, structure.routes_db, wall_gain_db)
    total = room.separating_area_m2
    return found + [_side(side, total) for side in room.side_paths]
