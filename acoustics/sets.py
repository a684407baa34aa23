"""Sets of choices as columns, and which of them nothing beats."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

BLOCK = 256


@dataclass(frozen=True)
class Table:
    """Rows to choose one of: `key` (K,) is what is spent, row 0 nothing; `sums` (K, C) count towards the score,
    `uses` (K, R) against the limits."""

    key: np.ndarray
    sums: np.ndarray
    uses: np.ndarray


@dataclass(frozen=True)
class Sets:
    """Sets as columns: what they spend, their sums and uses, and the row taken of each table (N, tables)."""

    key: np.ndarray
    sums: np.ndarray
    uses: np.ndarray
    rows: np.ndarray

    def take(self, index: np.ndarray) -> Sets:
        return Sets(self.key[index], self.sums[index], self.uses[index], self.rows[index])


def undominated(key: np.ndarray, columns: np.ndarray, deadline: float = np.inf) -> tuple[np.ndarray, bool]:
    """Indices of the rows that no other beats in key and every column, least key first; and whether time sufficed."""
    order = np.lexsort((*columns.T[::-1], key))
    values = columns[order]
    if values.shape[1] == 1:
        best = np.minimum.accumulate(values[:, 0])
        keep = np.ones(len(order), bool)
        keep[1:] = values[1:, 0] < best[:-1]
        return order[keep], True
    strong = np.empty_like(values)  # the kept rows, least sum of ranks first within each block: they beat the most
    count, chosen = 0, []
    for at in range(0, len(order), BLOCK):
        block = np.arange(at, min(at + BLOCK, len(order)))
        for done in range(0, count, 4 * BLOCK):
            rivals = strong[done : min(done + 4 * BLOCK, count)]
            block = block[~_beaten(values[block], rivals)]
            if not len(block):
                break
        own = values[block]
        beats = np.all(own[:, None, :] <= own[None, :, :], axis=2)
        block = block[~np.any(np.triu(beats, 1), axis=0)]
        strong[count : count + len(block)] = values[block]
        count += len(block)
        chosen.append(block)
        if time.monotonic() > deadline:
            return order[np.concatenate(chosen)], False
    return order[np.concatenate(chosen)] if chosen else order, True


def _beaten(rows: np.ndarray, rivals: np.ndarray) -> np.ndarray:
    """Whether one of `rivals`, all of which spend no more, is as good as the row in every column."""
    is_beaten = rivals[None, :, 0] <= rows[:, None, 0]
    for column in range(1, rows.shape[1]):
        is_beaten &= rivals[None, :, column] <= rows[:, None, column]
    return np.any(is_beaten, axis=1)


def nothing_of(sets: Sets) -> Sets:
    """The same with row 0 of one more table."""
    rows = np.concatenate([sets.rows, np.zeros((len(sets.key), 1), np.int16)], axis=1)
    return Sets(sets.key, sets.sums, sets.uses, rows)


def joined(first: Sets, second: Sets) -> Sets:
    return Sets(*(np.concatenate([getattr(first, n), getattr(second, n)]) for n in ("key", "sums", "uses", "rows")))
