"""A size changed on site: what is not cut is planned again, what is cut is used where it still fits."""

from __future__ import annotations

import math
import random
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from shapely.geometry import Polygon

from acoustics.errors import InputError
from acoustics.takeoff.assemble import (
    board_piece,
    box_notices,
    fixing_order,
    joints_of,
    piece_notices,
    stagger_notices,
    support_notices,
)
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.cuts import cut_order, offcuts_of
from acoustics.takeoff.model import (
    Board,
    BoardPiece,
    BoardRules,
    CutSheet,
    LayerLayout,
    Layout,
    Notice,
    Placed,
    Surface,
)
from acoustics.takeoff.recut import Trial, Yard, try_plans
from acoustics.takeoff.reuse import plan_with_same_joints
from acoustics.takeoff.stack import Stack, first_draws, make_stack

HOUSE_RULES = BoardRules()


@dataclass(frozen=True, kw_only=True)
class Change:
    """What becomes of one piece: kind is "as_cut", "trimmed", "to_cut", "dropped" or "spare"."""

    kind: str
    label: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Replan:
    """The layout after a change; spare holds the labels of pieces cut that fit nowhere now."""

    layout: Layout
    changes: tuple[Change, ...]
    spare: tuple[str, ...]
    new_sheets: int


def replan(
    layout: Layout,
    surfaces: Sequence[Surface],
    changed: Surface,
    *,
    cut_labels: Collection[str],
    board: Board | None = None,
    rules: BoardRules = HOUSE_RULES,
    seconds: float = 5.0,
    seed: int = 0,
) -> Replan:
    """Lay `changed` anew within a laid job.

    surfaces are those of the layout, board as given to lay_job. Sheets from which nothing is cut are
    planned again; from an opened sheet, what is left of it is used first. Pieces of other surfaces keep
    their shapes and labels. A cut piece may fall short at the perimeter by what sealant still bridges
    (rules.gap_most_mm). Raises InputError for unknown labels or surfaces, or a size that cannot be laid.
    """
    known = {piece.label: piece for piece in layout.pieces()}
    unknown = sorted(set(cut_labels) - set(known))
    if unknown:
        raise InputError("cut_labels", f"The layout has no piece {', '.join(unknown)}.")
    names = [surface.name for surface in surfaces]
    if changed.name not in names:
        raise InputError("changed.name", f"The job has no surface {changed.name}.")
    clock, rng = Deadline(seconds), random.Random(seed)
    index = names.index(changed.name)
    letter = next((p.label.split("-")[1] for p in known.values() if p.surface == changed.name), changed.letter)
    stack = make_stack(replace(changed, letter=letter), index, board, rules, "changed.")
    boards = {b.name: b for s in (*surfaces, changed) for b in (s.boards or (board,))}
    yard = Yard(layout, known, set(cut_labels), changed.name, boards, rules)
    best = None
    for plans in _candidates(stack, layout, rng, clock):
        trial = try_plans(stack, plans, yard, rules, rng)
        if best is None or trial.key < best.key:
            best = trial
    return _result(stack, best, yard, layout, surfaces, rules)


def _candidates(stack: Stack, layout: Layout, rng: random.Random, clock: Deadline):
    """Layouts of the changed surface: the old joints first, then habits, then random ones."""
    drawn = first_draws(stack, rng, clock.part(0.4), 16)
    old = layout.of_surface(stack.surface.name)
    if len(old) == len(stack.boards):
        same = [plan_with_same_joints(field, layer) for field, layer in zip(stack.fields, old, strict=True)]
        if all(same):
            yield tuple(same)
    yield from drawn
    for _ in range(150):
        if clock.over():
            return
        plans = stack.draw(rng, rng.choice((0.5, 0.8, 1.0)), clock)
        if plans is not None:
            yield plans


def _result(stack: Stack, best: Trial, yard: Yard, layout: Layout, surfaces, rules: BoardRules) -> Replan:
    labels = _labels(stack, best, yard)
    sheets, spots = _sheets(best, yard, labels, stack, rules)
    changes: list[Change] = []
    layers, notices = [], []
    for each in layout.layers:
        if each.surface != stack.surface.name:
            moved = tuple(_moved(piece, spots) for piece in each.pieces)
            layers.append(replace(each, pieces=moved))
    place = next(i for i, each in enumerate(layout.layers) if each.surface == stack.surface.name)
    for layer, plan in enumerate(best.plans):
        pieces = []
        for i, shape in enumerate(plan.shapes):
            label = labels[layer, i]
            piece, change = _piece(stack, layer, shape, label, best.served.get((layer, i)), spots, rules)
            pieces.append(piece)
            changes.append(change)
        layers.insert(
            place + layer,
            LayerLayout(
                surface=stack.surface.name,
                layer=layer + 1,
                board=stack.boards[layer].name,
                orientation=plan.orientation,
                pieces=tuple(sorted(pieces, key=lambda p: p.label)),
                joints=joints_of(stack, layer, plan),
            ),
        )
        notices += piece_notices(stack, pieces, rules) + box_notices(stack, layers[place + layer], rules)
    notices += stagger_notices(stack, rules) + support_notices(stack)
    used = {piece.label for piece, _ in best.served.values()}
    spare = tuple(sorted(label for label in yard.old if label in yard.cut and label not in used))
    changes += [
        Change(kind="spare", label=s, text=f"{s} is cut and fits nowhere now; keep it as an offcut.") for s in spare
    ]
    now = set(labels.values())
    changes += [
        Change(kind="dropped", label=label, text=f"{label} is no longer needed.")
        for label in yard.old
        if label not in yard.cut and label not in now
    ]
    notices += [_gap_notice(stack, change) for change in changes if "wider gap" in change.text]
    notices += [n for n in layout.notices if n.surface != stack.surface.name]
    fresh = sum(1 for sheet in sheets if sheet.number not in {s.number for s in yard.opened})
    lowest = _least_by_area(layers, yard)
    made = Layout(
        layers=tuple(layers),
        sheets=sheets,
        count=sum(not s.from_offcut for s in sheets),
        lower_bound=sum(lowest.values()),
        counts={name: sum(s.board == name and not s.from_offcut for s in sheets) for name in layout.counts},
        lower_bounds=lowest,
        area_m2=sum(_area(p) for each in layers for p in each.pieces) / 1e6,
        gross_area_m2=sum(s.width_mm * s.height_mm for s in sheets if not s.from_offcut) / 1e6,
        mass_kg=sum(p.mass_kg for each in layers for p in each.pieces),
        notices=tuple(notices),
    )
    return Replan(layout=made, changes=tuple(changes), spare=spare, new_sheets=fresh)


def _area(piece: BoardPiece) -> float:
    return Polygon(piece.outline_mm, piece.cutouts_mm).area


def _least_by_area(layers: list[LayerLayout], yard: Yard) -> dict[str, int]:
    area = dict.fromkeys(yard.boards, 0.0)
    for each in layers:
        area[each.board] += sum(_area(piece) for piece in each.pieces)
    sizes = {name: board.width_mm * board.height_mm for name, board in yard.boards.items()}
    return {name: math.ceil(total / sizes[name] - 1e-6) for name, total in area.items()}


def _labels(stack: Stack, best: Trial, yard: Yard) -> dict[tuple[int, int], str]:
    """A piece used again keeps what is written on it; the others take the numbers that are free."""
    labels = {key: piece.label for key, (piece, _) in best.served.items()}
    taken = {label for label in yard.old if label in yard.cut}
    for layer, plan in enumerate(best.plans):
        order = sorted(range(len(plan.shapes)), key=lambda i: fixing_order(plan, plan.shapes[i]))
        number = 0
        for i in order:
            number += 1
            if (layer, i) in labels:
                continue
            while (label := f"L{layer + 1}-{stack.letter}-{number:02d}") in taken:
                number += 1
            labels[layer, i] = label
            taken.add(label)
    return labels


def _sheets(best: Trial, yard: Yard, labels: dict, stack: Stack, rules: BoardRules):
    """Opened sheets under their numbers, new ones under the numbers left; and every piece's place."""
    opened = {sheet.number: sheet for sheet in yard.opened}
    free_numbers = (n for n in range(1, 10_000) if n not in opened)
    sheets, spots = [], {}
    for name, bins in best.bins.items():
        for box in bins:
            sheet = opened.get(box.stock) if box.stored else None
            placed = list(yard.kept(sheet)) if sheet else []
            for key, x, y, w, h, _ in box.placed:
                label = key if isinstance(key, str) else labels[key]
                placed.append(_placed(label, key, (x, y, w, h), yard, best, stack))
            sheets.append(_cut_sheet(sheet.number if sheet else next(free_numbers), name, box, placed, rules))
    for sheet in sheets:
        for p in sheet.placed:
            spots[p.label] = (sheet.number, p.x_mm, p.y_mm, p.turned)
    return tuple(sorted(sheets, key=lambda s: s.number)), spots


def _placed(label: str, key, spot: tuple[int, int, int, int], yard: Yard, best: Trial, stack: Stack) -> Placed:
    x, y, w, h = spot
    if isinstance(key, str):
        hangs = (yard.known[key].width_mm, yard.known[key].height_mm)
    else:
        layer, index = key
        shape = best.plans[layer].shapes[index]
        hangs = (shape.width, shape.height)
        if stack.fields[layer].mirrored:
            hangs = hangs[::-1]
    return Placed(label=label, x_mm=x, y_mm=y, width_mm=w, height_mm=h, turned=(w, h) != hangs)


def _cut_sheet(number: int, board: str, box, placed: list[Placed], rules: BoardRules) -> CutSheet:
    placed = tuple(sorted(placed, key=lambda p: (p.x_mm, p.y_mm)))
    cuts, parts = cut_order(box.width, box.height, placed, rules.kerf_mm)
    return CutSheet(
        number=number,
        board=board,
        width_mm=box.width,
        height_mm=box.height,
        placed=placed,
        cuts=cuts,
        offcuts=offcuts_of(number, parts, rules.keep_short_mm, rules.keep_long_mm),
    )


def _moved(piece: BoardPiece, spots: dict) -> BoardPiece:
    sheet, x, y, turned = spots[piece.label]
    return replace(piece, sheet=sheet, x_in_sheet_mm=x, y_in_sheet_mm=y, turned=turned)


def _piece(
    stack: Stack, layer: int, shape, label: str, served, spots: dict, rules: BoardRules
) -> tuple[BoardPiece, Change]:
    field = stack.fields[layer]
    ring, holes = field.outward(shape.ring), tuple(field.outward(hole) for hole in shape.holes)
    if served is None:
        piece = board_piece(stack, layer, ring, holes, label, spots[label], rules)
        return piece, Change(kind="to_cut", label=label, text=f"Cut {label}, {piece.width_mm} x {piece.height_mm} mm.")
    cut, filled = served
    piece = board_piece(stack, layer, filled, holes, label, spots[label], rules)
    was = (cut.width_mm, cut.height_mm)
    wide = f"; a wider gap of {max(shape_size(shape, field)[i] - (piece.width_mm, piece.height_mm)[i] for i in (0, 1))} mm more at the edge"
    short = (piece.width_mm, piece.height_mm) != shape_size(shape, field)
    if was == (piece.width_mm, piece.height_mm):
        return piece, Change(kind="as_cut", label=label, text=f"{label} fits as it is cut{wide if short else ''}.")
    text = f"Trim {label} from {was[0]} x {was[1]} to {piece.width_mm} x {piece.height_mm} mm{wide if short else ''}."
    return replace(piece, trimmed_from_mm=was), Change(kind="trimmed", label=label, text=text)


def shape_size(shape, field) -> tuple[int, int]:
    return (shape.height, shape.width) if field.mirrored else (shape.width, shape.height)


def _gap_notice(stack: Stack, change: Change) -> Notice:
    name = stack.surface.name
    return Notice(code="wider_gap", surface=name, text=f"{name}: {change.text}")
