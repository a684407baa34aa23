"""What reaches a room before and after treatment, and what limits it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .bands import a_weighted_shares
from .errors import Notice
from .paths import Path, ReceivingRoom, named_paths
from .ratings import rate_airborne
from .uncertainty import MEASUREMENT_IN_SITU_DB

FLOOR_DB = 120.0
"""Reductions are reported up to this value; an absent path has it."""


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
    paths = named_paths(room)
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


def limit_sentence(paths: list[Path], room: ReceivingRoom, before: RoomResult, after: RoomResult) -> str:
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
