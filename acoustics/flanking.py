"""Sound over the junctions of a room: K of each, losses as built in, and the three routes past all flanks at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from .bands import EXACT_HZ
from .inputs import Element, KnownElement
from .insitu import MOST_TAKEN_UP, MUCH_LIGHTER, BuiltIn, Plate, border_absorption, built_in, mass_of, plate_of
from .junctions import (
    Junction,
    flanking_reduction_db,
    least_vibration_reduction_db,
    velocity_level_difference_db,
    vibration_reduction_db,
)
from .linings import reduction_of_db

ROUTES = ("Ff", "Df", "Fd")
LOOSE = ("flexible_t",)
"""Junctions that do not hold the flank firmly."""
NOTHING_DB = 200.0
"""K towards a neighbour that is not there."""


@lru_cache(maxsize=8192)
def _k_db(kind: str, mass_ratio: float) -> tuple[np.ndarray, np.ndarray]:
    return vibration_reduction_db(kind, mass_ratio, EXACT_HZ)


def meeting_db(junction: Junction, wall_kg_m2: float, source_kg_m2: float, receiving_kg_m2: float) -> np.ndarray:
    """K (4, 21) in dB after annex E, or as given: straight past the wall; between wall and receiving face; between
    source face and wall; across into the wall beyond, where two cross.

    Straight on, a flank that changes counts by the geometric mean of its masses, so that both directions agree.
    """
    mean = float(np.sqrt(source_kg_m2 * receiving_kg_m2))
    across = np.full(21, NOTHING_DB)
    if junction.kind == "rigid_cross":
        across = _k_db(junction.kind, mean / wall_kg_m2)[0]
    if junction.k_db is not None:
        return np.stack([*(np.full(21, k) for k in junction.k_db), across])
    straight = _k_db(junction.kind, wall_kg_m2 / mean)[0]
    round_out = _k_db(junction.kind, wall_kg_m2 / receiving_kg_m2)[1]
    round_in = _k_db(junction.kind, wall_kg_m2 / source_kg_m2)[1]
    return np.stack([straight, round_out, round_in, across])


@dataclass(frozen=True)
class Part:
    """An element and its area, whatever is built on it."""

    element: Element | KnownElement
    area_m2: float


@dataclass(frozen=True)
class Flank:
    """A flanking element in both rooms and the junction between, whatever is built on it."""

    source: Part
    receiving: Part
    junction: Junction


@dataclass(frozen=True)
class Structure:
    """A building before any treatment: R (P, 21) of the separating patches with their losses in situ, and R_ij
    (N, 3, 21) of the routes Ff, Df and Fd past each flank, referred to the separating area; in dB."""

    direct_db: np.ndarray
    routes_db: np.ndarray


@lru_cache(maxsize=1024)
def structure_of(patches: tuple[Part, ...], flanks: tuple[Flank, ...]) -> Structure:
    """Direct and flanking transmission without linings (ISO 12354-1, detailed model by band). Kept: treatments change
    nothing in it."""
    parts = [*patches, *(x.source for x in flanks), *(x.receiving for x in flanks)]
    plates = [plate_of(x.element) for x in parts]
    reductions_db = np.stack([reduction_of_db(x.element) for x in parts])
    areas, masses = np.array([x.area_m2 for x in parts]), np.array([mass_of(x.element) for x in parts])
    count, n = len(patches), len(flanks)
    wall_m2 = areas[:count].sum()
    wall_kg_m2 = float(areas[:count] @ masses[:count] / wall_m2)
    k_db = np.array(
        [
            meeting_db(x.junction, wall_kg_m2, source, receiver)
            for x, source, receiver in zip(flanks, masses[count : count + n], masses[count + n :], strict=True)
        ]
    ).reshape(n, 4, 21)
    known, taken = _borders(patches, flanks, plates, k_db)
    loose = np.array([x.junction.kind in LOOSE for x in flanks], bool)
    beside = np.concatenate([np.full(count, masses[count:].mean() if n else 0.0), np.full(2 * n, wall_kg_m2)])
    held = (beside < MUCH_LIGHTER * masses) & ~np.concatenate([np.full(count, loose.all()), loose, loose])
    around_m2 = np.concatenate([np.full(count, wall_m2), areas[count:]])
    whole = built_in(plates, areas, reductions_db, held, around_m2, known, taken)
    found = Structure(whole.direct_db[:count], _routes_db(patches, flanks, whole, k_db))
    for values in vars(found).values():
        values.setflags(write=False)
    return found


def _borders(
    patches: Sequence[Part],
    flanks: Sequence[Flank],
    plates: Sequence[Plate | None],
    k_db: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Length in m (E,) of the borders whose neighbours are known, and length times absorption (E, 21) over them.

    Of a flank only the edge along the separating element is surveyed. Where a light element meets a heavy one nothing is
    known of what the heavy one runs on to, so that border takes up what is usual.
    """
    count, n = len(patches), len(flanks)
    known, taken = np.zeros(count + 2 * n), np.zeros((count + 2 * n, 21))
    critical = np.array([p.critical_hz if p is not None and p.heavy else np.nan for p in plates])
    wall = [(x.area_m2, p.critical_hz) for x, p in zip(patches, plates, strict=False) if p is not None and p.heavy]
    if not n or not wall:
        return known, taken
    wall_hz = sum(s * hz for s, hz in wall) / sum(s for s, _ in wall)
    length = np.array([[x.junction.length_m] for x in flanks])
    walls = np.array([[x.junction.kind == "rigid_cross"] for x in flanks])
    source_hz, receiving_hz = critical[count : count + n, None], critical[count + n :, None]
    there = ~np.isnan(source_hz + receiving_hz)
    length = np.where(there, length, 0.0)
    source_hz, receiving_hz = np.where(there, source_hz, 1.0), np.where(there, receiving_hz, 1.0)
    straight, out, into, across = (k_db[:, i] for i in range(4))
    known[:count] = length.sum()
    known[count:] = np.tile(length[:, 0], 2)

    def into_neighbours(*ways: tuple[np.ndarray, np.ndarray | float]) -> np.ndarray:
        return length * np.minimum(sum(border_absorption(k, hz) for k, hz in ways), MOST_TAKEN_UP)

    taken[:count] = into_neighbours((into, source_hz), (out, receiving_hz), (across, wall_hz)).sum(axis=0)
    beyond = np.where(walls, into, NOTHING_DB), np.where(walls, out, NOTHING_DB)
    taken[count : count + n] = into_neighbours((into, wall_hz), (beyond[0], wall_hz), (straight, receiving_hz))
    taken[count + n :] = into_neighbours((out, wall_hz), (beyond[1], wall_hz), (straight, source_hz))
    return known, taken


def _routes_db(patches: Sequence[Part], flanks: Sequence[Flank], whole: BuiltIn, k_db: np.ndarray) -> np.ndarray:
    """R_ij (N, 3, 21), K (N, 4, 21) not below the least value of the geometry."""
    count, n = len(patches), len(flanks)
    part_m2 = np.array([p.area_m2 for p in patches])
    wall_m2 = float(part_m2.sum())
    wall_db = -10.0 * np.log10(part_m2 @ 10.0 ** (-whole.structural_db[:count] / 10.0) / wall_m2)
    wall_m = whole.absorption_length_m[:count].sum(axis=0)
    length = np.array([x.junction.length_m for x in flanks])[:, None]
    source_m2 = np.array([x.source.area_m2 for x in flanks])[:, None]
    receiving_m2 = np.array([x.receiving.area_m2 for x in flanks])[:, None]
    r_wall, a_wall = np.broadcast_to(wall_db, (n, 21)), np.broadcast_to(wall_m, (n, 21))
    r_source, r_receiving = whole.structural_db[count : count + n], whole.structural_db[count + n :]
    a_source, a_receiving = whole.absorption_length_m[count : count + n], whole.absorption_length_m[count + n :]
    r_i, r_j = np.stack([r_source, r_wall, r_source]), np.stack([r_receiving, r_receiving, r_wall])
    a_i, a_j = np.stack([a_source, a_wall, a_source]), np.stack([a_receiving, a_receiving, a_wall])
    area_i = np.stack([source_m2, np.full_like(source_m2, wall_m2), source_m2])
    area_j = np.stack([receiving_m2, receiving_m2, np.full_like(source_m2, wall_m2)])
    at_least = np.maximum(k_db[:, :3].transpose(1, 0, 2), least_vibration_reduction_db(length, area_i, area_j))
    difference = velocity_level_difference_db(at_least, length, a_i, a_j)
    found = flanking_reduction_db(r_i, r_j, difference, wall_m2, area_i, area_j)
    return found.transpose(1, 0, 2)
