"""Boards laid on the surfaces of a job: least sheets, then fewest slivers, then fewest pieces.

Method: layouts that keep the rules are drawn at random for one surface at a time and kept when the
whole job, its pieces packed on common sheets, gets no worse. The bound is by area, so it holds
whatever the rules.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from acoustics.errors import InputError
from acoustics.takeoff.assemble import assemble
from acoustics.takeoff.fill import fill, orders, quick_fill, score
from acoustics.takeoff.lp import Deadline
from acoustics.takeoff.model import Board, BoardRules, Layout, Surface
from acoustics.takeoff.plans import LayerPlan
from acoustics.takeoff.stack import Stack, first_draws, make_stack

Plans = list[tuple[LayerPlan, ...]]
HOUSE_RULES = BoardRules()
ROUNDS_PER_SECOND = 250  # work limit, so that the same seed gives the same answer on any machine in time


def lay_boards(
    surface: Surface,
    board: Board | None = None,
    rules: BoardRules = HOUSE_RULES,
    *,
    seconds: float = 5.0,
    seed: int = 0,
) -> Layout:
    """Lay boards on one surface. See lay_job."""
    return _lay((surface,), board, rules, seconds, seed, ("",))


def lay_job(
    surfaces: Sequence[Surface],
    board: Board | None = None,
    rules: BoardRules = HOUSE_RULES,
    *,
    seconds: float = 5.0,
    seed: int = 0,
) -> Layout:
    """Lay boards on several surfaces, cutting all of them from common sheets of each kind of board.

    board is used on surfaces that name none. Returns the best layout found in `seconds` with its
    lower bound. Raises InputError naming the surface and the field at fault.
    """
    names = [surface.name for surface in surfaces]
    for index, name in enumerate(names):
        if name in names[:index]:
            raise InputError(f"surfaces[{index}].name", f"Two surfaces are called {name}; give each its own name.")
    wheres = tuple(f"surfaces[{index}]." for index in range(len(surfaces)))
    return _lay(tuple(surfaces), board, rules, seconds, seed, wheres)


def _lay(
    surfaces: tuple[Surface, ...],
    board: Board | None,
    rules: BoardRules,
    seconds: float,
    seed: int,
    wheres: tuple[str, ...],
) -> Layout:
    clock = Deadline(seconds)
    rng = random.Random(seed)
    stacks = [make_stack(s, i, board, rules, where) for i, (s, where) in enumerate(zip(surfaces, wheres, strict=True))]
    pool = Pool(stacks, rules)
    plans: Plans = []
    for stack in stacks:
        share = Deadline(max(clock.left(), 0.0) * 0.4 / max(1, len(stacks)))
        drawn = first_draws(stack, rng, share, 16)
        plans.append(min(drawn, key=lambda p: pool.key([p], [stack])))
    best = improve(pool, plans, rng, clock, int(seconds * ROUNDS_PER_SECOND))
    return assemble(stacks, best, pool.pack(best, thorough=not clock.over()), pool.bounds, rules)


class Pool:
    """Packs the pieces of a set of plans, board by board, and scores the result."""

    def __init__(self, stacks: list[Stack], rules: BoardRules) -> None:
        self.stacks, self.rules = stacks, rules
        areas: dict[Board, float] = {}
        for stack in stacks:
            for board, field in zip(stack.boards, stack.fields, strict=True):
                areas[board] = areas.get(board, 0.0) + field.area.area
        self.bounds = {
            board: math.ceil(area / (board.width_mm * board.height_mm) - 1e-6) for board, area in areas.items()
        }

    def rects(self, plans: Plans, stacks: list[Stack] | None = None) -> dict[Board, list]:
        """Per board: (width, height, (stack, layer, piece))."""
        found: dict[Board, list] = {}
        for number, (stack, layers) in enumerate(zip(stacks or self.stacks, plans, strict=True)):
            for layer, (board, plan) in enumerate(zip(stack.boards, layers, strict=True)):
                items = found.setdefault(board, [])
                items += [(w, h, (number, layer, i)) for i, (w, h) in enumerate(plan.rects())]
        return found

    def key(self, plans: Plans, stacks: list[Stack] | None = None) -> tuple[int, float]:
        """Lower is better: whole sheets, then how near to saving one, slivers and pieces."""
        sheets, near = 0, 0.0
        for board, items in self.rects(plans, stacks).items():
            whole, rest = _whole_first(board, items)
            value = 0.0
            if rest:
                sizes = [item[:2] for item in rest]
                turns = [self.rules.may_turn] * len(rest)
                bins = None
                for order, mode in zip(orders(sizes)[:3], (0, 0, 1), strict=True):
                    tried = fill(sizes, turns, order, board.width_mm, board.height_mm, self.rules.kerf_mm, mode)
                    if bins is None or score(tried) < value:
                        bins, value = tried, score(tried)
                whole += len(bins)
                value -= len(bins) - 1
            sheets += whole
            if whole > self.bounds[board]:
                near += value
        slivers = sum(plan.slivers for layers in plans for plan in layers)
        pieces = sum(
            len(plan.shapes) * (1 + 0.01 / (layer + 1)) for layers in plans for layer, plan in enumerate(layers)
        )
        return sheets, near + 0.05 * slivers + 0.01 * pieces

    def pack(self, plans: Plans, thorough: bool) -> dict[Board, list]:
        """Per board the sheets: each a list of (piece key, x, y, w, h, turned)."""
        packed = {}
        for board, items in self.rects(plans).items():
            whole = [item for item in items if item[:2] == (board.width_mm, board.height_mm)]
            rest = [item for item in items if item[:2] != (board.width_mm, board.height_mm)]
            sheets = [[(item[2], 0, 0, item[0], item[1], False)] for item in whole]
            bins = quick_fill(
                [item[:2] for item in rest],
                [self.rules.may_turn] * len(rest),
                board.width_mm,
                board.height_mm,
                self.rules.kerf_mm,
                40 if thorough else 0,
                random.Random(0),
            )
            sheets += [[(rest[p[0]][2], *p[1:]) for p in box.placed] for box in bins]
            packed[board] = sheets
        return packed


def _whole_first(board: Board, items: list) -> tuple[int, list]:
    rest = [item for item in items if item[0] < board.width_mm or item[1] < board.height_mm]
    return len(items) - len(rest), rest


def improve(pool: Pool, plans: Plans, rng: random.Random, clock: Deadline, rounds: int) -> Plans:
    """Redraw one surface, or its upper layers, at a time; keep what is not worse."""
    best = list(plans)
    best_key = pool.key(best)
    for _ in range(rounds):
        if clock.left() < 0.02:
            break
        number = rng.randrange(len(best))
        stack = pool.stacks[number]
        keep = best[number][: rng.randrange(len(stack.boards))]
        drawn = stack.draw(rng, rng.choice((0.3, 0.6, 0.9)), keep)
        if drawn is None or drawn == best[number]:
            continue
        trial = list(best)
        trial[number] = drawn
        key = pool.key(trial)
        if key <= best_key:
            best, best_key = trial, key
    return best
