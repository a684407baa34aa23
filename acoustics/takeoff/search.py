"""The search behind a layout: one state of plans and packed sheets, changed a little at a time.

A step either draws a new layout of one surface and repacks the sheets its pieces came from, or only
repacks a few sheets. It is kept when the sheets weigh no more: a sheet filled to the share f weighs
f (2 - f), so that gathering pieces on few sheets pays and so does needing less of them.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.fill import Bin, Item, fill, fill_work, first_bins, one_size, open_bin, pick_few, shaken
from acoustics.takeoff.layer import LayerPlan
from acoustics.takeoff.model import Board, BoardRules, StoredOffcut
from acoustics.takeoff.stack import Stack

Plans = tuple[tuple[LayerPlan, ...], ...]
WARMTH = 0.01
MOST_ROUNDS = 10_000_000
STEP_WORK = 4e-5  # seconds of a step beside its draw and its fill, measured
TROUBLE_WEIGHT = 0.003  # of narrow pieces and cuts, against a sheet, while sheets are sought
STALE_ROUNDS = 200  # per surface, without a piece saved, before polishing stops
MANY_PIECES = 80
POLISH_FROM = 0.75  # share of the time after which the number of sheets is held and pieces are saved


def _kept_bin(width: int, height: int, origin) -> Bin:
    box = open_bin(width, height)
    box.stored, box.limited, box.origin = True, True, origin
    return box


def weight(bins: Sequence[Bin]) -> float:
    total = 0.0
    for box in bins:
        if not box.stored:
            f = box.used / (box.width * box.height)
            total += f * (2.0 - f)
    return total


@dataclass
class State:
    """Chosen plans and, per board, the sheets in part use; whole boards are only counted."""

    plans: list[tuple[LayerPlan, ...]]
    bins: dict[Board, list[Bin]] = field(default_factory=dict)
    whole: dict[Board, int] = field(default_factory=dict)

    def copy(self) -> State:
        return State(list(self.plans), {b: list(each) for b, each in self.bins.items()}, dict(self.whole))

    def sheets(self) -> int:
        return sum(self.whole.values()) + sum(not box.stored for each in self.bins.values() for box in each)

    def trouble(self) -> float:
        """Slivers first, then pieces; a little less for pieces saved on the face layer."""
        return sum(plan.trouble * (1 - 0.001 * layer) for layers in self.plans for layer, plan in enumerate(layers))


class Search:
    def __init__(self, stacks: list[Stack], rules: BoardRules, offcuts: Sequence[StoredOffcut] = ()) -> None:
        self.stacks, self.rules = stacks, rules
        areas: dict[Board, float] = {}
        for stack in stacks:
            for board, place in zip(stack.boards, stack.fields, strict=True):
                areas[board] = areas.get(board, 0.0) + place.area.area
        self.boards = list(areas)
        self.offcuts = {board: [o for o in offcuts if o.board == board.name] for board in areas}
        self.bounds = {
            board: max(0, math.ceil((area - self._stored_area(board)) / (board.width_mm * board.height_mm) - 1e-6))
            for board, area in areas.items()
        }
        self.least = sum(self.bounds.values())
        self.openers = {board: one_size(board.width_mm, board.height_mm) for board in areas}

    def _stored_area(self, board: Board) -> int:
        return sum(o.width_mm * o.height_mm for o in self.offcuts[board])

    def items(self, number: int, layers: Sequence[int], plans: Sequence[LayerPlan]) -> dict[Board, list[Item]]:
        """Pieces of some layers of one stack, whole boards included.

        First-layer pieces may come from an offcut, unless they leave a cut-out themselves: two pieces
        must not each wait for the other's.
        """
        found: dict[Board, list[Item]] = {}
        stack, turn = self.stacks[number], self.rules.may_turn
        for layer in layers:
            each = found.setdefault(stack.boards[layer], [])
            for i, (w, h) in enumerate(plans[layer].rects):
                each.append(((number, layer, i), w, h, turn, self._least_offcut(number, layer, i, plans[layer])))
        return found

    def _least_offcut(self, number: int, layer: int, index: int, plan: LayerPlan) -> tuple[int, int] | None:
        if layer or index in plan.giving:
            return None
        rules = self.stacks[number].surface.rules or self.rules
        return rules.keep_short_mm, rules.keep_long_mm

    def _is_whole(self, board: Board, item: Item) -> bool:
        return item[1] == board.width_mm and item[2] == board.height_mm

    def start(self, plans: list[tuple[LayerPlan, ...]], clock: Deadline, numbers: Sequence[int] | None = None) -> State:
        """Pack the plans from nothing, stored offcuts first."""
        state = State(list(plans))
        alone = numbers is not None
        numbers = numbers if alone else range(len(plans))
        for board in self.boards:
            items, stored = [], self._offcuts(board)
            for number, layers in zip(numbers, plans, strict=True):
                items += self.items(number, range(len(layers)), layers).get(board, [])
                stored += self._cutouts(number, range(len(layers)), layers).get(board, [])
            loose = [item for item in items if not self._is_whole(board, item)]
            state.whole[board] = len(items) - len(loose)
            loose = self._into_offcuts(loose, stored)
            few = 1 if alone or len(loose) > MANY_PIECES else 5
            fresh = []
            if loose:
                fresh = first_bins(loose, self.openers[board], self.rules.kerf_mm, len, clock, few, (0, 1))
            state.bins[board] = stored + fresh
        return state

    def _offcuts(self, board: Board) -> list[Bin]:
        return [_kept_bin(o.width_mm, o.height_mm, n) for n, o in enumerate(self.offcuts[board])]

    def _cutouts(self, number: int, layers: Sequence[int], plans: Sequence[LayerPlan]) -> dict[Board, list[Bin]]:
        """Cut-outs that some layers of one stack leave, open to first-layer pieces."""
        found: dict[Board, list[Bin]] = {}
        for layer in layers:
            each = found.setdefault(self.stacks[number].boards[layer], [])
            for place, (index, short, long) in enumerate(plans[layer].cutouts):
                each.append(_kept_bin(short, long, (number, layer, index, place)))
        return found

    def _into_offcuts(self, items: list[Item], boxes: list[Bin]) -> list[Item]:
        left = []
        for item in sorted(items, key=lambda i: -i[1] * i[2]):
            if not item[4] or not fill([item], lambda *_: None, self.rules.kerf_mm, 0, boxes):
                left.append(item)
        return left

    def improve(self, state: State, rng: random.Random, clock: Deadline) -> State:
        total = clock.left()
        best, best_key = state.copy(), (state.sheets(), state.trouble())
        polishing, gained_at = False, 0
        for turn in range(MOST_ROUNDS):
            left = clock.left()
            if left <= 0 or (polishing and turn - gained_at > STALE_ROUNDS * len(self.stacks)):
                break
            if not polishing and (best_key[0] <= self.least or left < total * (1 - POLISH_FROM)):
                polishing, state, gained_at = True, best.copy(), turn
            if rng.random() < (0.8 if polishing else 0.5):
                done = self._redraw(state, rng, clock, polishing)
            else:
                done = self._repack(state, rng, clock)
            if done:
                key = (state.sheets(), state.trouble())
                if key < best_key:
                    best, best_key, gained_at = state.copy(), key, turn
        return best

    def _repack(self, state: State, rng: random.Random, clock: Deadline) -> bool:
        board = rng.choice(self.boards)
        bins = state.bins[board]
        if len(bins) < 2:
            return False
        picked = pick_few(bins, rng)
        loose = [self._item(state, placed[0]) for box in picked for placed in box.placed]
        fresh = self._emptied(picked)
        clock.spend(STEP_WORK + fill_work(len(loose), len(picked)))
        if not fill(shaken(loose, rng), self.openers[board], self.rules.kerf_mm, rng.randrange(3), fresh, len(picked)):
            return False
        if weight(fresh) - weight(picked) > -WARMTH * math.log(rng.random() + 1e-9):
            return False
        self._swap(state, board, picked, fresh)
        return True

    def _item(self, state: State, key: tuple[int, int, int]) -> Item:
        number, layer, index = key
        plan = state.plans[number][layer]
        w, h = plan.rects[index]
        return (key, w, h, self.rules.may_turn, self._least_offcut(number, layer, index, plan))

    def _emptied(self, picked: list[Bin]) -> list[Bin]:
        """Stored offcuts stay open, empty; sheets go back to the stack."""
        return [_kept_bin(box.width, box.height, box.origin) for box in picked if box.stored]

    def _swap(self, state: State, board: Board, picked: list[Bin], fresh: list[Bin]) -> None:
        gone = {id(box) for box in picked}
        state.bins[board] = [box for box in state.bins[board] if id(box) not in gone] + fresh

    def _redraw(self, state: State, rng: random.Random, clock: Deadline, polishing: bool) -> bool:
        number = rng.randrange(len(self.stacks))
        stack = self.stacks[number]
        old = state.plans[number]
        keep = rng.randrange(len(old))
        drawn = stack.draw(rng, rng.choice((0.4, 0.7, 0.95)), clock, old[:keep])
        if drawn is None or drawn == old:
            return False
        layers = range(keep, len(old))
        before, after = self.items(number, layers, old), self.items(number, layers, drawn)
        changes, gain, sheets = [], 0.0, 0
        for board in before:
            goes = {item[0] for item in before[board]}
            picked, others = [], []
            for box in state.bins[board]:
                hit = self._is_of(box, number, keep) or any(p[0][0] == number and p[0][1] >= keep for p in box.placed)
                (picked if hit else others).append(box)
            if others and rng.random() < 0.6:
                picked.append(min(others, key=lambda b: b.used) if rng.random() < 0.5 else rng.choice(others))
            loose = [self._item(state, p[0]) for box in picked for p in box.placed if p[0] not in goes]
            add = [item for item in after[board] if not self._is_whole(board, item)]
            fresh = self._emptied([box for box in picked if not self._is_of(box, number, keep)])
            fresh += self._cutouts(number, layers, drawn).get(board, [])
            clock.spend(STEP_WORK + fill_work(len(loose) + len(add), len(picked)))
            if not fill(shaken(loose + add, rng), self.openers[board], self.rules.kerf_mm, rng.randrange(3), fresh):
                return False
            whole = len(after[board]) - len(add) - sum(self._is_whole(board, i) for i in before[board])
            gain += weight(fresh) - weight(picked) + whole
            sheets += sum(not b.stored for b in fresh) - sum(not b.stored for b in picked) + whole
            changes.append((board, picked, fresh, whole))
        worse = sum(p.trouble for p in drawn) - sum(p.trouble for p in old)
        if polishing:
            if sheets > 0 or (sheets == 0 and (worse, gain) > (0.0, 0.0) and not (worse == 0 and gain < 0.02)):
                return False
        elif gain + TROUBLE_WEIGHT * worse > -WARMTH * math.log(rng.random() + 1e-9):
            return False
        state.plans[number] = drawn
        for board, picked, fresh, whole in changes:
            self._swap(state, board, picked, fresh)
            state.whole[board] += whole
        return True

    def _is_of(self, box: Bin, number: int, keep: int) -> bool:
        """Whether a bin is a cut-out of the layers being drawn anew."""
        return isinstance(box.origin, tuple) and box.origin[0] == number and box.origin[1] >= keep

    def packed(self, state: State) -> dict[Board, list[tuple]]:
        """Per board the sheets: (origin, width, height, [(piece key, x, y, w, h, turned), ...]).

        origin is None for a new sheet, the number of a stored offcut, or the cut-out of a piece.
        """
        found: dict[Board, list] = {board: [] for board in self.boards}
        for number, plans in enumerate(state.plans):
            for board, items in self.items(number, range(len(plans)), plans).items():
                for key, w, h, *_ in items:
                    if (w, h) == (board.width_mm, board.height_mm):
                        found[board].append((None, w, h, [(key, 0, 0, w, h, False)]))
        for board, bins in state.bins.items():
            found[board] += [(box.origin, box.width, box.height, box.placed) for box in bins if box.placed]
        return found
