"""Choose one row of each table: every set that no other beats in key and score, exactly.

A multiple-choice knapsack whose score is any function of sums that never rises with one of them: the level in a room,
the worst band against the threshold of hearing, a rating by a reference curve. It is solved layer by layer over
partial sums (Nemhauser and Ullmann 1969; Kellerer, Pferschy and Pisinger, Knapsack Problems, 2004, ch. 11). A partial
sum is dropped only when another is at least as good in every column, or when even the best of all that could follow
is beaten by a set already known; both leave the answer exact.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from .sets import Sets, Table, joined, nothing_of, undominated

Score = Callable[[np.ndarray], np.ndarray]
MOST_STATES = 200_000
MOST_NUMBERS = 4_000_000  # worked on at once
FIELDS = ("key", "sums", "uses", "rows")
BUDGETS = 24  # steps of further cost at which what may follow is bounded
DEGREES = (0.01, 0.03, 0.1, 0.3, 1.0)


@dataclass(frozen=True)
class Found:
    """The undominated sets, cheapest first, with their scores. When `exact` is False the time ran out: `open_key` and
    `open_score` then say of what was left unsearched the least it may spend and the most it may score."""

    sets: Sets
    score: np.ndarray
    exact: bool
    open_key: np.ndarray
    open_score: np.ndarray


def search(
    tables: Sequence[Table],
    start: np.ndarray,
    limits: np.ndarray,
    most_key: int,
    score: Score,
    seconds: float,
    hope: Score | None = None,
) -> Found:
    """All undominated sets that keep within `limits` (R,) and spend at most `most_key`.

    A score that may rise with a column needs a `hope`: never below it, and never rising. Partial sums are then dropped
    by hope alone, none for being beaten by another.
    """
    deadline = time.monotonic() + seconds
    tables, limits = _without_slack(tables, limits)
    order = sorted(range(len(tables)), key=lambda i: -_weight(tables[i], start))
    ordered = [tables[i] for i in order]
    states, open_sets = _first(start, limits), (np.zeros(0, np.int64), np.zeros(0))
    # One column alone is swept so fast that bounds would only cost time.
    is_plain = len(start) + len(limits) == 1 and hope is None
    hoped = hope or score
    prices = _prices(ordered, start, limits)
    known = _known(ordered, start, limits, most_key, score, prices[:1] if is_plain else prices)
    ahead = _ahead(ordered, limits, prices, len(start))
    exact = True
    for place, table in enumerate(ordered):
        rest = ahead[place + 1]

        def worth_while(found: Sets, rest: _Ahead = rest) -> Sets:
            return found if is_plain else found.take(rest.hopeful(found, known, limits, hoped))

        grown = _grown(states, table, limits, most_key, worth_while, deadline)
        keep, complete = np.zeros(0, int), grown is not None
        if grown is not None and hope is None:
            keep, complete = undominated(grown.key, _columns(grown, rest, limits), deadline)
        elif grown is not None:
            keep = np.arange(len(grown.key))
        if grown is None or not complete or len(keep) > MOST_STATES:
            exact, open_sets = False, ahead[place].hopes(states, limits, hoped)
            states = known.sets.take(np.zeros(0, int))
            break
        states = grown.take(keep)
    front, values = _front(joined(known.sets, states), score)
    front = Sets(front.key, front.sums, front.uses, front.rows[:, np.argsort(order)])
    return Found(front, values, exact, *open_sets)


def _weight(table: Table, start: np.ndarray) -> float:
    """Where most is decided comes first: the bounds on what follows are then closest."""
    return float(np.max(np.ptp(table.sums, axis=0) / np.maximum(np.abs(start), 1e-300)))


def _without_slack(tables: Sequence[Table], limits: np.ndarray) -> tuple[list[Table], np.ndarray]:
    """Limits that no set can pass are left out."""
    most = sum((t.uses.max(axis=0) for t in tables), np.zeros(len(limits)))
    binding = most > limits
    return [Table(t.key, t.sums, t.uses[:, binding]) for t in tables], limits[binding]


def _first(start: np.ndarray, limits: np.ndarray) -> Sets:
    rows = np.zeros((1, 0), np.int16)
    return Sets(np.zeros(1, np.int64), start[None, :].astype(float), np.zeros((1, len(limits))), rows)


def _grown(
    states: Sets,
    table: Table,
    limits: np.ndarray,
    most_key: int,
    worth_while: Callable[[Sets], Sets],
    deadline: float,
) -> Sets | None:
    """Every state with every row that is worth while, a part at a time so that memory stays small; None where time or
    room ran out."""
    width = states.sums.shape[1] + states.uses.shape[1] + states.rows.shape[1] + 2
    size, count = max(1, MOST_NUMBERS // (len(table.key) * width)), 0
    parts: list[Sets] = []
    for at in range(0, len(states.key), size):
        some = states.take(np.arange(at, min(at + size, len(states.key))))
        parts.append(worth_while(_advance(some, table, limits, most_key)))
        count += len(parts[-1].key)
        if count > 4 * MOST_STATES or time.monotonic() > deadline:
            return None
    found = parts[0]
    return Sets(*(np.concatenate([getattr(part, name) for part in parts]) for name in FIELDS)) if parts[1:] else found


def _advance(states: Sets, table: Table, limits: np.ndarray, most_key: int) -> Sets:
    """Every state with every row, without those beyond the limits."""
    n, k = len(states.key), len(table.key)
    key = (states.key[:, None] + table.key[None, :]).ravel()
    uses = (states.uses[:, None, :] + table.uses[None, :, :]).reshape(n * k, -1)
    index = np.flatnonzero(np.all(uses <= limits + 1e-9, axis=1) & (key <= most_key))
    old, new = index // k, index % k
    rows = np.concatenate([states.rows[old], new[:, None].astype(np.int16)], axis=1)
    return Sets(key[index], states.sums[old] + table.sums[new], uses[index], rows)


def _columns(states: Sets, rest: _Ahead, limits: np.ndarray) -> np.ndarray:
    """What decides between states: their sums, and their uses as far as what follows can still reach the limit."""
    return np.concatenate([states.sums, np.maximum(states.uses, limits - rest.most_uses)], axis=1)


@dataclass(frozen=True)
class _Known:
    """Whole sets found by the way: scores that must be passed at what they spend."""

    sets: Sets
    key: np.ndarray
    best: np.ndarray

    def at(self, key: np.ndarray) -> np.ndarray:
        """The best score known of sets that spend no more than `key`."""
        place = np.searchsorted(self.key, key, side="right") - 1
        return np.where(place >= 0, self.best[np.maximum(place, 0)], -np.inf)


@dataclass(frozen=True)
class _Ahead:
    """Bounds on what the remaining tables can add: `sums` (V, B, C) the least of each column for a further spending of
    at most `budget` (B,), with the uses priced in by `price` (V, R, C) against their limits."""

    budget: np.ndarray
    sums: np.ndarray
    price: np.ndarray
    most_uses: np.ndarray

    def hopeful(self, states: Sets, known: _Known, limits: np.ndarray, score: Score) -> np.ndarray:
        """Indices of the states from which a set may follow that no known one beats."""
        alive = np.zeros(len(states.key), bool)
        for step in range(len(self.budget)):
            left = np.flatnonzero(~alive)
            if not len(left):
                break
            spent = states.key[left] + (self.budget[step - 1] if step else 0)
            hope = score(self._best(states.take(left), step, limits))
            alive[left] = hope > known.at(spent)
        return np.flatnonzero(alive)

    def hopes(self, states: Sets, limits: np.ndarray, score: Score) -> tuple[np.ndarray, np.ndarray]:
        """For every state and budget: the least that is spent, and the most that may be scored for it."""
        pairs = []
        for step in range(len(self.budget)):
            spent = states.key + (self.budget[step - 1] + 1 if step else 0)
            pairs.append((spent, score(self._best(states, step, limits))))
        return np.concatenate([k for k, _ in pairs]), np.concatenate([s for _, s in pairs])

    def _best(self, states: Sets, step: int, limits: np.ndarray) -> np.ndarray:
        best = None
        for sums, price in zip(self.sums, self.price, strict=True):
            # A set that keeps a limit has used at most what is left of it: that much of the price is given back.
            bound = states.sums + sums[step] - (limits - states.uses) @ price
            best = bound if best is None else np.maximum(best, bound)
        return best * (1.0 - 1e-12)  # never above the truth by rounding


def _prices(tables: Sequence[Table], start: np.ndarray, limits: np.ndarray) -> np.ndarray:
    """Prices (V, R, C) of the uses in each column: none, and each limit alone dear by a few degrees."""
    spans = sum((np.ptp(t.sums, axis=0) for t in tables), np.zeros(len(start)))
    found = [np.zeros((len(limits), len(start)))]
    for row, limit in enumerate(limits):
        for degree in DEGREES:
            price = np.zeros((len(limits), len(start)))
            price[row] = degree * spans / max(limit, 1e-9)
            found.append(price)
    return np.stack(found)


def _ahead(tables: Sequence[Table], limits: np.ndarray, prices: np.ndarray, width: int) -> list[_Ahead]:
    """Bounds on what follows each place, the last of which is nothing."""
    fronts = [[(np.zeros(1, np.int64), np.zeros(1)) for _ in range(width)] for _ in prices]
    most_uses, top = np.zeros(len(limits)), 0
    found = [_Ahead(np.zeros(1, np.int64), np.zeros((len(prices), 1, width)), prices, most_uses)]
    for table in reversed(tables):
        top += int(table.key.max())
        most_uses = most_uses + table.uses.max(axis=0, initial=0.0)
        budget = np.unique((top * np.linspace(0.0, 1.0, BUDGETS) ** 1.5).astype(np.int64))
        least = np.empty((len(prices), len(budget), width))
        for v, price in enumerate(prices):
            for c in range(width):
                own = table.sums[:, c] + table.uses @ price[:, c]
                key, value = fronts[v][c]
                key, value = (key[:, None] + table.key).ravel(), (value[:, None] + own).ravel()
                keep, _ = undominated(key, value[:, None])
                key, value = fronts[v][c] = _coarse(key[keep], value[keep])
                least[v, :, c] = value[np.searchsorted(key, budget, side="right") - 1]
        found.append(_Ahead(budget, least, prices, most_uses))
    return found[::-1]


def _coarse(key: np.ndarray, value: np.ndarray, most: int = 400) -> tuple[np.ndarray, np.ndarray]:
    """A lower bound of a front with fewer steps: each block spends its least and is as good as its best."""
    if len(key) <= most:
        return key, value
    edges = np.linspace(0, len(key), most + 1).astype(int)
    return key[edges[:-1]], value[edges[1:] - 1]


def _known(tables, start: np.ndarray, limits: np.ndarray, most_key: int, score: Score, prices: np.ndarray) -> _Known:
    """Sets along single weighted sums of the columns, with the uses at various prices; only those within the limits."""
    found = _first(start, limits)
    for _ in tables:
        found = nothing_of(found)
    weights = _weights(tables, start)
    for price in prices:
        for weight in weights:
            found = joined(found, _along(tables, start, limits, most_key, weight, price @ weight))
    front, values = _front(found, score)
    return _Known(front, front.key, values)


def _weights(tables: Sequence[Table], start: np.ndarray) -> np.ndarray:
    """All columns alike, and each of a few alone, in units of where they start."""
    size = np.maximum(np.abs(start), 1e-300)
    width = len(start)
    if width == 1:
        return 1.0 / size[None, :]
    picks = np.unique(np.linspace(0, width - 1, min(width, 6)).astype(int))
    return np.concatenate([np.ones((1, width)), np.eye(width)[picks] + 0.02]) / size


def _along(tables, start, limits, most_key, weight: np.ndarray, price: np.ndarray) -> Sets:
    """The front of spending against one weighted sum, thinned where it is long."""
    states = _first(start, limits)
    cost = np.zeros(1)
    for table in tables:
        own = table.sums @ weight + table.uses @ price
        k = len(table.key)
        keep, _ = undominated((states.key[:, None] + table.key).ravel(), (cost[:, None] + own).reshape(-1, 1))
        if len(keep) > 600:
            keep = keep[np.unique(np.linspace(0, len(keep) - 1, 600).astype(int))]
        old, new = keep // k, keep % k
        rows = np.concatenate([states.rows[old], new[:, None].astype(np.int16)], axis=1)
        sums, uses = states.sums[old] + table.sums[new], states.uses[old] + table.uses[new]
        states, cost = Sets(states.key[old] + table.key[new], sums, uses, rows), cost[old] + own[new]
    fits = np.all(states.uses <= limits + 1e-9, axis=1) & (states.key <= most_key)
    return states.take(np.flatnonzero(fits))


def _front(sets: Sets, score: Score) -> tuple[Sets, np.ndarray]:
    values = score(sets.sums)
    keep, _ = undominated(sets.key, -values[:, None])
    return sets.take(keep), values[keep]
