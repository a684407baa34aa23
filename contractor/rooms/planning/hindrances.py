"""What stands in the way of a goal that is out of reach: each limit lifted on its own, all together, and each way in
closed altogether, tried by planning anew."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from contractor.rooms.planning.candidates import Limit

SET_LIMITS = {"cost": "the budget", "area_lost_m2": "the floor area that may be lost", "hours": "the days allowed"}
EVERY_DEPTH = "every limit on depth"
LEAST_DB = 0.05
MOST_SHOWN = 3


@dataclass(frozen=True, kw_only=True)
class Hindrance:
    """Something that stands in the way: what the best set would score without it, and by how much that is better."""

    what: str
    score: float
    gain: float
    would_reach: bool


def hindrances(work, best, priced: Sequence, barred: Sequence[tuple[frozenset[Limit], object]], seconds: float):
    """Best first. `work` plans the room, `best` is its best set; `barred` are candidates with the limits that alone
    keep them from their places."""
    tried = [*_limits_lifted(work, priced, barred, seconds), *_ways_closed(work, best)]
    told = [
        Hindrance(what=what, score=score, gain=score - best.score, would_reach=score >= work.goal.target)
        for what, score in tried
        if score > best.score + LEAST_DB
    ]
    return sorted(told, key=lambda row: -row.score)


def _limits_lifted(work, priced, barred, seconds: float) -> list[tuple[str, float]]:
    """Each limit on the whole set and on a place by what it is called, then all of them where that does more."""
    limits = {name: limit for name, limit in work.asked.limits.items() if limit is not None}

    def best_without(lifted: set[Limit], kept: Mapping[str, object]) -> float:
        freed = [candidate for bars, candidate in barred if bars <= lifted]
        return work.plan([*priced, *freed], kept, seconds).front[-1].score

    tried = [
        (said, best_without(set(), {other: limit for other, limit in limits.items() if other != name}))
        for name, said in SET_LIMITS.items()
        if name in limits
    ]
    on_places = set().union(*(bars for bars, _ in barred))
    depths = {limit for limit in on_places if limit.is_depth}
    at_places = sorted(
        ((limit.what, best_without({limit}, limits)) for limit in depths), key=lambda row: (-row[1], row[0])
    )
    tried += at_places[:MOST_SHOWN]
    names = [what for what in SET_LIMITS.values() if what in dict(tried)]
    if len(depths) > 1:
        every = best_without(depths, limits)
        tried += [(EVERY_DEPTH, every)] if every > at_places[0][1] + LEAST_DB else []
    if depths:
        names.append(EVERY_DEPTH if len(depths) > 1 else at_places[0][0])
    for limit in on_places - depths:
        tried.append((limit.what, best_without({limit}, limits)))
        names.append(limit.what)
    if len(names) > 1:
        freed = best_without(on_places, {})
        if freed > max(score for _, score in tried) + LEAST_DB:
            tried.append((f"{' and '.join(names)}, together", freed))
    return tried


def _ways_closed(work, best) -> Iterator[tuple[str, float]]:
    """The ways that carry most of what is still heard, each closed altogether."""
    for row in work.left_by(best.factors)[:MOST_SHOWN]:
        others = np.array([path.group != row["name"] for path in work.base])
        gained = work.score_of(best.factors[others].sum(axis=0)) - best.expected
        yield f"what comes by way of {row['name']}", best.score + gained
