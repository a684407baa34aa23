"""What reaches a room before and after treatment, and what limits it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .bands import a_weighted_shares
from .errors import Notice
from .limits import limit_sentence, standardized_db
from .paths import Path, named_paths
from .ratings import weighted_c_ctr_db
from .room_inputs import ReceivingRoom
from .uncertainty import (
    BAND_UNCERTAINTY_DB,
    MEASUREMENT_IN_SITU_DB,
    METHOD_IN_BUILDINGS_DB,
    OTHER_PATHS_BAND_FACTOR,
    TYPICAL_DB,
)

FLOOR_DB = 120.0
"""Reductions are reported up to this value; an absent path has it."""


@dataclass(frozen=True, kw_only=True)
class PathResult:
    """One path: its share of the A-weighted energy heard, and its reduction (21,) referred to the separating area.

    `kind` is direct, Ff, Df, Fd or the kind of side path; `group` is the name of the object the path belongs to.
    Uncertainties are standard uncertainties in dB, as the path is and as treated.
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
    uncertainty_after_db: float
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, kw_only=True)
class RoomResult:
    """Standardised level difference D_nT (21,) and its rating, with standard uncertainties of both."""

    standardized_db: tuple[float, ...]
    weighted_db: int
    c_db: int
    ctr_db: int
    uncertainty_db: float
    band_uncertainty_db: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """A room before and after treatment, the paths, and one sentence on what limits the result."""

    before: RoomResult
    after: RoomResult
    paths: tuple[PathResult, ...]
    notices: tuple[Notice, ...]
    limit_text: str


def _band_spreads_db(paths: list[Path], spreads_db: np.ndarray) -> np.ndarray:
    """Standard uncertainty (P, 21) of each path by band: that of elements for direct paths, wider for the rest."""
    direct = np.array([[p.kind == "direct"] for p in paths])
    spreads = spreads_db[:, None]
    own = np.array(BAND_UNCERTAINTY_DB) * np.maximum(spreads, 0.5) / TYPICAL_DB
    return np.where(direct, own, spreads * OTHER_PATHS_BAND_FACTOR)


@dataclass(frozen=True)
class _Side:
    """A room before or after treatment: factors (P, 21), shares (P,) of all that is heard and (P, 21) by band."""

    factors: np.ndarray
    shares: np.ndarray
    band_shares: np.ndarray
    result: RoomResult


def _side(room: ReceivingRoom, paths: list[Path], factors: np.ndarray, spreads_db: np.ndarray) -> _Side:
    """Sum the paths. Their own errors are independent, so the share of each is the sensitivity of the level to it;
    what the method and the measurement leave is common to all."""
    energy, whole = factors @ a_weighted_shares(room.spectrum), factors.sum(axis=0)
    shares, band_shares = energy / energy.sum(), factors / whole
    standardized = standardized_db(whole, room)
    weighted, c, ctr = weighted_c_ctr_db(standardized)
    common = METHOD_IN_BUILDINGS_DB**2 + MEASUREMENT_IN_SITU_DB**2
    band_spread = np.sqrt(np.sum((band_shares * _band_spreads_db(paths, spreads_db)) ** 2, axis=0) + common)
    result = RoomResult(
        standardized_db=tuple(standardized.tolist()),
        weighted_db=weighted,
        c_db=c,
        ctr_db=ctr,
        uncertainty_db=float(np.sqrt(np.sum((shares * spreads_db) ** 2) + common)),
        band_uncertainty_db=tuple(band_spread.tolist()),
    )
    return _Side(factors, shares, band_shares, result)


def _reported(factors: np.ndarray) -> list[list[float]]:
    return (-10.0 * np.log10(np.maximum(factors, 10.0 ** (-FLOOR_DB / 10.0)))).tolist()


def predict_room(room: ReceivingRoom) -> Prediction:
    """Predict the standardised level difference before and after treatment, with the share of every path.

    Direct and flanking transmission after ISO 12354-1:2017, detailed model; side paths by the models of
    sidepaths.py. Shares are of the A-weighted energy of the room's spectrum and sum to one.
    """
    paths = named_paths(room)
    before = _side(room, paths, np.stack([p.before for p in paths]), np.array([p.uncertainty_db for p in paths]))
    after = _side(room, paths, np.stack([p.after for p in paths]), np.array([p.uncertainty_after_db for p in paths]))
    rows = zip(
        paths,
        before.shares.tolist(),
        after.shares.tolist(),
        _reported(before.factors),
        _reported(after.factors),
        before.band_shares.tolist(),
        after.band_shares.tolist(),
        strict=True,
    )
    reported = tuple(
        PathResult(
            name=path.name,
            group=path.group,
            kind=path.kind,
            share_before=share_before,
            share_after=share_after,
            reduction_before_db=tuple(db_before),
            reduction_after_db=tuple(db_after),
            band_share_before=tuple(bands_before),
            band_share_after=tuple(bands_after),
            basis=path.basis,
            uncertainty_db=path.uncertainty_db,
            uncertainty_after_db=path.uncertainty_after_db,
            notices=path.notices,
        )
        for path, share_before, share_after, db_before, db_after, bands_before, bands_after in rows
    )
    results = before.result, after.result
    notices = _room_notices(results)
    text = limit_sentence(paths, room, results[0].weighted_db, results[1].weighted_db)
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
