"""What is cut, what is open and what is still to cut: the parts a replan is put together from."""

from __future__ import annotations

import random
from dataclasses import dataclass

from acoustics.takeoff.fill import Bin, fill, gathered, one_size, shaken
from acoustics.takeoff.model import Board, BoardPiece, BoardRules, CutSheet, Placed
from acoustics.takeoff.reuse import fitted, slack_of
from acoustics.takeoff.stack import Stack

PACK_TRIES = 12


@dataclass
class Trial:
    """One way to board the changed surface: per layer the plan, and which cut piece serves which shape."""

    plans: tuple
    served: dict[tuple[int, int], tuple[BoardPiece, tuple]]
    bins: dict[str, list[Bin]]
    key: tuple


class Yard:
    """What is there to cut from: opened sheets with their free parts, and what other surfaces still need."""

    def __init__(self, layout, known, cut, name, boards, rules) -> None:
        self.known, self.cut, self.boards, self.rules = known, cut, boards, rules
        self.old = {label: piece for label, piece in known.items() if piece.surface == name}
        self.opened = [s for s in layout.sheets if any(p.label in cut for p in s.placed)]
        self.waiting: dict[str, list] = {board: [] for board in boards}
        for sheet in layout.sheets:
            if sheet in self.opened:
                continue
            for p in sheet.placed:
                if p.label not in self.old:
                    size = (p.width_mm, p.height_mm)
                    w, h = size if sheet.width_mm <= sheet.height_mm else size[::-1]
                    self.waiting[sheet.board].append((p.label, w, h, int(rules.may_turn), None))

    def kept(self, sheet: CutSheet) -> list[Placed]:
        return [p for p in sheet.placed if p.label in self.cut or p.label not in self.old]

    def open_bins(self, board: str) -> list[Bin]:
        """Opened sheets of a board: stock is the sheet's number, free its parts, all still to be cut."""
        found = []
        for sheet in self.opened:
            if sheet.board != board:
                continue
            kept = {p.label for p in self.kept(sheet)}
            free = [(o.x_mm, o.y_mm, o.width_mm, o.height_mm) for o in sheet.offcuts]
            free += [(p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in sheet.placed if p.label not in kept]
            box = Bin(sheet.width_mm, sheet.height_mm, sheet.number, free, stored=True)
            found.append(box)
        return found


def try_plans(stack: Stack, plans, yard: Yard, rules: BoardRules, rng: random.Random) -> Trial:
    served = _serve(stack, plans, yard, rules)
    bins: dict[str, list[Bin]] = {}
    sheets = 0
    for name, board in yard.boards.items():
        items = list(yard.waiting[name])
        for layer, plan in enumerate(plans):
            if stack.boards[layer].name == name:
                items += [
                    ((layer, i), w, h, int(rules.may_turn), None)
                    for i, (w, h) in enumerate(plan.rects)
                    if (layer, i) not in served
                ]
        bins[name] = _pack(yard, name, board, items, rng)
        sheets += sum(not box.stored for box in bins[name])
    to_cut = sum(len(plan.shapes) for plan in plans) - len(served)
    trimmed = sum(piece.width_mm * piece.height_mm for piece, _ in served.values())
    slivers = sum(plan.slivers for plan in plans)
    return Trial(plans, served, bins, (sheets, slivers, to_cut, -trimmed))


def _serve(stack: Stack, plans, yard: Yard, rules: BoardRules) -> dict:
    """For each shape the cut piece that fills it with least waste, same layer first, largest shape first."""
    slack = slack_of(stack.surface.gaps_mm, rules)
    have = [piece for label, piece in yard.old.items() if label in yard.cut]
    served = {}
    wanted = [(layer, i, shape) for layer, plan in enumerate(plans) for i, shape in enumerate(plan.shapes)]
    for layer, i, shape in sorted(wanted, key=lambda each: -each[2].area):
        field = stack.fields[layer]
        ring, holes = field.outward(shape.ring), tuple(field.outward(hole) for hole in shape.holes)
        bounds = (
            (field.y0, field.x0, field.y1, field.x1) if field.mirrored else (field.x0, field.y0, field.x1, field.y1)
        )
        best = None
        for piece in have:
            if _board_of(yard, piece) != stack.boards[layer].name:
                continue
            filled = fitted(piece, ring, holes, bounds, slack)
            if filled is not None:
                key = (piece.layer != layer + 1, piece.width_mm * piece.height_mm, piece.label)
                if best is None or key < best[0]:
                    best = (key, piece, filled)
        if best:
            served[layer, i] = best[1:]
            have.remove(best[1])
    return served


def _board_of(yard: Yard, piece: BoardPiece) -> str:
    return next(sheet.board for sheet in yard.opened if sheet.number == piece.sheet)


def _pack(yard: Yard, name: str, board: Board, items: list, rng: random.Random) -> list[Bin]:
    """Opened sheets first, then as few new ones as a few tries find; either may lie the other way."""
    best, best_key = None, None
    for turn in range(PACK_TRIES):
        bins = yard.open_bins(name)
        order = sorted(items, key=lambda i: -i[1] * i[2]) if turn == 0 else shaken(items, rng)
        left = []
        for item in order:
            if not _into_opened(item, bins, yard.rules.kerf_mm):
                left.append(item)
        fresh: list[Bin] = []
        if not fill(left, one_size(board.width_mm, board.height_mm), yard.rules.kerf_mm, turn % 3, fresh):
            continue
        key = (len(fresh), -gathered(fresh))
        if best is None or key < best_key:
            best, best_key = bins + fresh, key
        if not items:
            break
    return best


def _into_opened(item, bins: list[Bin], kerf: int) -> bool:
    for box in bins:
        lying = box.width > box.height
        _, w, h, turn = item[:4]
        facing = (item[0], h, w, turn, None) if lying else item
        if fill([facing], lambda *_: None, kerf, 0, [box]):
            return True
    return False
