"""At a fixed set of stock lengths, move pieces so that what is left gathers in long tails."""

from __future__ import annotations

Bar = tuple[int, list[int]]


def gather_tails(bars: list[Bar], usable_mm: list[int], kerf_mm: int, keep_mm: int) -> list[Bar]:
    """Same lengths, same pieces, other places: the worth of tails of keep_mm and more grows.

    usable_mm[s] is stock s less its trim. Moves and swaps between two lengths, taken while they gain.
    """
    bars = [(s, list(pieces)) for s, pieces in bars]
    left = [usable_mm[s] - sum(p) - kerf_mm * len(p) for s, p in bars]

    def worth(tail: int) -> int:
        return tail * tail if tail >= keep_mm else 0

    improved, rounds = True, 0
    while improved and rounds < 20 and len(bars) <= 400:
        improved, rounds = False, rounds + 1
        for a in sorted(range(len(bars)), key=lambda i: -left[i]):
            for b in sorted(range(len(bars)), key=lambda i: left[i]):
                if a != b and _best_move(bars, left, a, b, kerf_mm, worth):
                    improved = True
    return bars


def _best_move(bars, left, a, b, kerf, worth) -> bool:
    """Move a piece from a into b, or swap a longer piece of a with a shorter one of b."""
    before = worth(left[a]) + worth(left[b])
    best = None
    for give in set(bars[a][1]):
        for take in {0, *bars[b][1]}:
            shift = give + kerf - (take + kerf if take else 0)
            if shift <= 0 or left[b] - shift < -kerf or (left[b] - shift < 0 and kerf == 0):
                continue
            gain = worth(left[a] + shift) + worth(left[b] - shift) - before
            if gain > 0 and (best is None or gain > best[0]):
                best = (gain, give, take, shift)
    if best is None or (len(bars[a][1]) == 1 and not best[2]):
        return False
    _, give, take, shift = best
    bars[a][1].remove(give)
    bars[b][1].append(give)
    if take:
        bars[b][1].remove(take)
        bars[a][1].append(take)
    left[a] += shift
    left[b] -= shift
    return True
