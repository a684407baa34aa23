"""All layers of one surface: fields per board, and draws that keep the rules between layers."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from shapely.geometry import Polygon, box

from acoustics.errors import InputError
from acoustics.takeoff.clock import Deadline
from acoustics.takeoff.geometry import Field, cut_out
from acoustics.takeoff.layer import LayerPlan, Stagger
from acoustics.takeoff.model import Board, BoardRules, Surface
from acoustics.takeoff.plans import draw

LEAST_STAGGER_MM = 200  # common practice: the hard minimum between layers
ATTEMPTS, HURRIED_ATTEMPTS = 24, 4


@dataclass
class Stack:
    """One surface with the board of each layer, and the distances that can be kept on it."""

    surface: Surface
    index: int
    letter: str
    boards: tuple[Board, ...]
    fields: tuple[Field, ...]
    orientations: tuple[str, ...]
    stagger: Stagger
    where: str

    def draw(
        self,
        rng: random.Random,
        greed: float,
        clock: Deadline,
        below: tuple[LayerPlan, ...] = (),
        habit: int | None = None,
    ) -> tuple[LayerPlan, ...] | None:
        """Plans for every layer, keeping `below` as the first ones; None where the draw failed."""
        plans = list(below)
        for layer in range(len(plans), len(self.boards)):
            under = plans[-1] if plans else None
            for attempt in range(3):
                way = self.orientations[
                    (habit + attempt) % len(self.orientations)
                    if habit is not None
                    else rng.randrange(len(self.orientations))
                ]
                plan = draw(
                    self.fields[layer],
                    way,
                    self.stagger,
                    under,
                    rng,
                    greed,
                    None if habit is None else (habit // len(self.orientations) + attempt),
                )
                clock.spend(self.fields[layer].draw_work())
                if plan is not None:
                    break
            else:
                return None
            plans.append(plan)
        return tuple(plans)


def letter_of(index: int) -> str:
    return chr(65 + index) if index < 26 else letter_of(index // 26 - 1) + chr(65 + index % 26)


def make_stack(surface: Surface, index: int, board: Board | None, rules: BoardRules, where: str) -> Stack:
    """Check one surface and its boards; InputError names the field and what to change."""
    rules = surface.rules or rules
    name = f"Surface {surface.name}"
    if surface.layers < 1:
        raise InputError(f"{where}layers", f"{name}: at least one layer is needed.")
    if surface.boards and len(surface.boards) != surface.layers:
        raise InputError(f"{where}boards", f"{name}: give one board for each of its {surface.layers} layers.")
    if not surface.boards and board is None:
        raise InputError(f"{where}boards", f"{name}: no board is chosen.")
    boards = surface.boards or (board,) * surface.layers
    for each in boards:
        _check_board(each, surface, rules, where)
    if surface.layer_runs_mm and len(surface.layer_runs_mm) != surface.layers:
        raise InputError(f"{where}layer_runs_mm", f"{name}: give the runs of each of its {surface.layers} layers.")
    runs = surface.layer_runs_mm or ((0, 0),) * surface.layers
    _check_boxes(surface, where)
    boxes = [tuple(b for b in surface.boxes if b.goes_through(layer + 1)) for layer in range(surface.layers)]
    kinds = list(zip(boards, runs, boxes, strict=True))
    made = {kind: Field(surface, kind[0], rules, where, *kind[1:]) for kind in dict.fromkeys(kinds)}
    stagger = Stagger(
        rules.stagger_mm,
        rules.course_stagger_mm,
        rules.seam_stagger_mm,
        rules.corner_clear_mm > 0,
        rules.min_width_mm,
    )
    ways = ("upright", "across") if rules.orientation == "auto" else (rules.orientation,)
    return Stack(
        surface,
        index,
        surface.letter or letter_of(index),
        boards,
        tuple(made[kind] for kind in kinds),
        ways,
        stagger,
        where,
    )


def _check_board(board: Board, surface: Surface, rules: BoardRules, where: str) -> None:
    name = f"Surface {surface.name}"
    if board.width_mm <= 0 or board.height_mm <= 0:
        raise InputError("board.width_mm", f"{name}: board {board.name} must have a width and a height above zero.")
    if board.width_mm > board.height_mm:
        raise InputError(
            "board.width_mm", f"{name}: the width of board {board.name} is its short side; swap width and height."
        )
    if surface.supports.spacing_mm > board.height_mm or (
        rules.orientation == "upright" and surface.supports.spacing_mm > board.width_mm
    ):
        raise InputError(
            f"{where}supports.spacing_mm",
            f"{name}: supports at {surface.supports.spacing_mm} mm are too wide apart for a board of "
            f"{board.width_mm} x {board.height_mm} mm; set them closer.",
        )


def _check_boxes(surface: Surface, where: str) -> None:
    if not surface.boxes:
        return
    outline, name = Polygon(surface.outline_mm), f"Surface {surface.name}"
    openings = [Polygon(ring) for ring in surface.openings_mm]
    for index, each in enumerate(surface.boxes):
        field, what = f"{where}boxes[{index}]", f"{name}: box {index + 1}"
        if each.width_mm <= 0 or each.height_mm <= 0:
            raise InputError(f"{field}.width_mm", f"{what}: width and height must be above zero.")
        if any(not 1 <= layer <= surface.layers for layer in each.layers):
            raise InputError(f"{field}.layers", f"{what}: the surface has layers 1 to {surface.layers}.")
        hole = box(*cut_out(each, 0))
        if not outline.is_valid or any(not opening.is_valid for opening in openings):
            return  # told of the outline itself
        if not outline.covers(hole) or any(opening.intersection(hole).area > 0 for opening in openings):
            raise InputError(
                f"{field}.x_mm", f"{what} does not lie on the boards; move it, or take it off the surface."
            )


def eased(stagger: Stagger, spacing: int) -> list[Stagger]:
    """The distances asked for, then ever easier ones."""
    steps = [stagger]
    for limit in (min(spacing, 400), 300, LEAST_STAGGER_MM):
        step = replace(
            stagger,
            layers=min(stagger.layers, limit),
            courses=min(stagger.courses, limit),
            seams=min(stagger.seams, limit),
            eased=True,
        )
        if step != replace(steps[-1], eased=True):
            steps.append(step)
    last = steps[-1]
    steps.append(replace(last, corner=False, eased=True))
    steps.append(replace(last, corner=False, min_width=min(last.min_width, 50), eased=True))
    steps.append(replace(last, layers=0, seams=0, corner=False, min_width=1, eased=True))
    return steps


def first_draws(stack: Stack, rng: random.Random, clock: Deadline, wanted: int) -> list[tuple[LayerPlan, ...]]:
    """Layouts by habit, then random ones, at the strictest distances the surface can keep."""
    steps = eased(stack.stagger, stack.surface.supports.spacing_mm)
    for number, step in enumerate(steps):
        stack.stagger = step
        found = []
        # without time the first distances that a few draws can keep must do; the last are tried in earnest
        hurried = clock.over() and number < len(steps) - 2
        tries = HURRIED_ATTEMPTS if hurried else ATTEMPTS + wanted if number == 0 else ATTEMPTS
        for attempt in range(tries):
            habit = attempt if attempt < ATTEMPTS // 2 else None
            plans = stack.draw(rng, 1.0 if habit is not None else 0.6, clock, habit=habit)
            if plans is not None:
                found.append(plans)
                if len(found) >= wanted or clock.over():
                    break
            if not found and attempt >= HURRIED_ATTEMPTS and number < len(steps) - 2 and clock.over():
                break
        if found:
            return found
    board = stack.boards[0]
    raise InputError(
        f"{stack.where}outline_mm",
        f"Surface {stack.surface.name}: no layout of {board.width_mm} x {board.height_mm} mm boards keeps joints "
        f"on supports at {stack.surface.supports.spacing_mm} mm; choose a larger board or closer supports.",
    )
