"""Guillotine packing of rectangles: one greedy pass, and the search that empties sheets by repacking few.

Each free rectangle of an open sheet takes the piece that leaves the shortest strip beside it; what is
left is split by one straight cut:

    +-------------+          +--------+----+
    |    rest     |          | rest   |    |
    +--------+----+    or    +--------+rest|
    | piece  |rest|          | piece  |    |
    +--------+----+          +--------+----+
"""

from __future__ import annotations

import random
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field

from acoustics.takeoff.clock import Deadline

Rect = tuple[int, int]
# key, width, height, turn (0 never, 1 either way, 2 always); a fifth: the least (short, long) sides of an
# offcut it may come from, None where it may come from none
Item = tuple[Hashable, int, int, int]


@dataclass(eq=False)
class Bin:
    """One open sheet: free rectangles (x, y, w, h) and pieces (key, x, y, w, h, turned).

    `stored` is a kept offcut or an opened sheet: it costs nothing. `limited`: it takes only pieces that
    may come from an offcut. `origin` says which offcut, or which piece's cut-out, it is.
    """

    width: int
    height: int
    stock: int = 0
    free: list[tuple[int, int, int, int]] = field(default_factory=list)
    placed: list[tuple[Hashable, int, int, int, int, bool]] = field(default_factory=list)
    used: int = 0
    stored: bool = False
    limited: bool = False
    origin: Hashable = None


HELD = 0.15
FILL_ITEM, FILL_BIN = 3e-6, 4.5e-7
Opener = Callable[[Item, list[Bin]], Bin | None]


def open_bin(width: int, height: int, stock: int = 0) -> Bin:
    return Bin(width, height, stock, [(0, 0, width, height)])


def fill(items: Sequence[Item], opener: Opener, kerf: int, mode: int, bins: list[Bin], most: int = 1 << 30) -> bool:
    """Place the items in the order given into `bins`, opening up to `most`; False where one has no place.

    mode picks the split: 0 keeps the larger rest whole, 1 cuts along the longer rest, 2 the shorter.
    """
    # on fresh sheets a rest too small for every item is forgotten, and so is a sheet without rests
    least = min((min(item[1], item[2]) for item in items), default=1) if not bins else 1
    alive = [box for box in bins if box.free]
    for item in items:
        key, w, h, turn = item[:4]
        best, where = 1 << 60, None
        for box in alive:
            if best == 0:
                break
            if box.limited and not _takes(box, item[4]):
                continue
            for slot, (_, _, fw, fh) in enumerate(box.free):
                if turn != 2:
                    dw, dh = fw - w, fh - h
                    if dw >= 0 and dh >= 0:
                        score = dw if dw < dh else dh
                        if score < best:
                            best, where = score, (box, slot, False)
                if turn:
                    dw, dh = fw - h, fh - w
                    if dw >= 0 and dh >= 0:
                        score = dw if dw < dh else dh
                        if score < best:
                            best, where = score, (box, slot, True)
        if where is None:
            box = opener(item, bins) if len(bins) < most else None
            if box is None:
                return False
            bins.append(box)
            alive.append(box)
            where = (box, 0, turn == 2 or not (w <= box.width and h <= box.height))
        box, slot, turned = where
        if turned:
            w, h = h, w
        x, y, fw, fh = box.free.pop(slot)
        box.placed.append((key, x, y, w, h, turned))
        box.used += w * h
        right, above = fw - w - kerf, fh - h - kerf
        if mode == 0:
            tall = (fw - w) * fh >= (fh - h) * fw
        elif mode == 1:
            tall = fw - w >= fh - h
        else:
            tall = fw - w < fh - h
        if right >= least:
            box.free.append((x + w + kerf, y, right, fh if tall else h))
        if above >= least:
            box.free.append((x, y + h + kerf, w if tall else fw, above))
        if not box.free:
            alive.remove(box)
    return True


def _takes(box: Bin, least: Rect | None) -> bool:
    short, long = (box.width, box.height) if box.width < box.height else (box.height, box.width)
    return least is not None and short >= least[0] and long >= least[1]


def fill_work(items: int, bins: int) -> float:
    """What a fill of so many items into so many sheets takes, seconds, measured."""
    return items * (FILL_ITEM + FILL_BIN * bins)


def fits(item: Item, width: int, height: int) -> bool:
    _, w, h, turn = item[:4]
    return (turn != 2 and w <= width and h <= height) or (turn > 0 and h <= width and w <= height)


def one_size(width: int, height: int) -> Opener:
    return lambda item, bins: open_bin(width, height) if fits(item, width, height) else None


ORDERS = (
    lambda item: item[1] * item[2],
    lambda item: max(item[1], item[2]) * 10_000 + min(item[1], item[2]),
    lambda item: item[2] * 10_000 + item[1],
    lambda item: item[1] * 10_000 + item[2],
    lambda item: item[1] + item[2],
)


def gathered(bins: Sequence[Bin]) -> float:
    """Sum of squared fullness: grows as pieces gather on few sheets."""
    return sum((box.used / (box.width * box.height)) ** 2 for box in bins)


def first_bins(
    items: Sequence[Item],
    opener: Opener,
    kerf: int,
    cost: Callable[[list[Bin]], float],
    clock: Deadline,
    orders: int = len(ORDERS),
    modes: Sequence[int] = (0, 1, 2),
) -> list[Bin] | None:
    """Best of the first `orders` standard orders and splits, as many as the clock allows but one at least.

    None where the stock ran out each time.
    """
    best, best_key = None, None
    for order in ORDERS[:orders]:
        ranked = sorted(items, key=order, reverse=True)
        for mode in modes:
            if best is not None and clock.over():
                return best
            bins: list[Bin] = []
            done = fill(ranked, opener, kerf, mode, bins)
            clock.spend(fill_work(len(items), len(bins)))
            if done:
                key = (cost(bins), -gathered(bins))
                if best is None or key < best_key:
                    best, best_key = bins, key
    return best


def shaken(items: Sequence[Item], rng: random.Random) -> list[Item]:
    """The items by one of the standard orders, each value shaken by up to a twentieth, fifth or half.

    Of pieces that may turn some are held one way, as the tightest place is not always the best.
    """
    order, shake = rng.choice(ORDERS), rng.choice((0.05, 0.2, 0.5))
    ranked = sorted(items, key=lambda item: order(item) * (1 - shake * rng.random()), reverse=True)
    return [(*item[:3], rng.choice((0, 2)), *item[4:]) if item[3] and rng.random() < HELD else item for item in ranked]


def pick_few(bins: Sequence[Bin], rng: random.Random) -> list[Bin]:
    """Two to four sheets, the emptiest among them half the time."""
    few = min(rng.choice((2, 2, 3, 3, 4)), len(bins))
    picked = rng.sample(bins, few)
    if rng.random() < 0.5:
        emptiest = min(bins, key=lambda box: box.used / (box.width * box.height))
        if not any(box is emptiest for box in picked):
            picked[0] = emptiest
    return picked
