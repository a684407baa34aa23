"""Labels in two columns beside a drawing, each level with what it names, none on another."""

from collections.abc import Sequence
from dataclasses import dataclass

LETTER_WIDTH = 6.9  # of lettering 14 high, a generous mean
LINE, GAP = 16, 7
LETTERS = 16  # to a line


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Something to be named: where it lies on the drawing, and what is said of it."""

    x: int
    y: int
    name: str
    value: str


@dataclass(frozen=True, kw_only=True)
class Label:
    """Lines of text with their heights; a leader runs from `edge` to the thing."""

    x: int
    lines: list[tuple[int, str]]
    value: tuple[int, str]
    edge_x: int
    edge_y: int
    to_x: int
    to_y: int
    top: int
    bottom: int


def wrapped(text: str, letters: int = LETTERS) -> list[str]:
    """Lines of at most so many letters, words longer than that broken."""
    lines = [""]
    for word in text.split():
        while len(word) > letters:
            lines.append(word[: letters - 1] + "-")
            word = word[letters - 1 :]
        if lines[-1] and len(lines[-1]) + 1 + len(word) > letters:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return [line for line in lines if line]


def columns(wanted: Sequence[Wanted], *, width: int, margin: int, height: int) -> tuple[list[Label], int]:
    """Labels at the left and right edges of a drawing `width` wide, and the height that they need.

    Things go to the nearer side as long as both sides stay alike in length; leaders of one side never cross.
    """
    sides: tuple[list[Wanted], list[Wanted]] = ([], [])
    for thing in sorted(wanted, key=lambda w: w.x):
        sides[0 if thing.x <= width / 2 else 1].append(thing)
    _balance(*sides)
    needed = max(sum(_tall(thing) + GAP for thing in side) for side in sides) if wanted else 0
    height = max(height, needed + GAP)
    labels = _column(sides[0], x=2, is_left=True, height=height)
    return labels + _column(sides[1], x=width - margin + 8, is_left=False, height=height), height


def _balance(left: list[Wanted], right: list[Wanted]) -> None:
    """Move things nearest the middle over while one side is more than one label longer."""
    while len(left) > len(right) + 1:
        right.insert(0, left.pop())
    while len(right) > len(left) + 1:
        left.append(right.pop(0))


def _tall(thing: Wanted) -> int:
    return LINE * (len(wrapped(thing.name)) + 1)


def _column(things: list[Wanted], *, x: int, is_left: bool, height: int) -> list[Label]:
    """Each as near its thing's height as the others allow: pushed down where crowded, then back up from the end."""
    things = sorted(things, key=lambda w: w.y)
    tops, at = [], 0
    for thing in things:
        at = max(at, thing.y - _tall(thing) // 2)
        tops.append(at)
        at += _tall(thing) + GAP
    limit = height
    for place in range(len(things) - 1, -1, -1):
        tops[place] = min(tops[place], limit - _tall(things[place]))
        limit = tops[place] - GAP
    return [_label(thing, top, x, is_left) for thing, top in zip(things, tops, strict=True)]


def _label(thing: Wanted, top: int, x: int, is_left: bool) -> Label:
    names = wrapped(thing.name)
    lines = [(top + 12 + place * LINE, text) for place, text in enumerate(names)]
    widest = max(len(text) for text in (*names, thing.value))
    return Label(
        x=x,
        lines=lines,
        value=(top + 12 + len(names) * LINE, thing.value),
        edge_x=round(x + widest * LETTER_WIDTH + 4) if is_left else x - 4,
        edge_y=top + _tall(thing) // 2,
        to_x=thing.x,
        to_y=thing.y,
        top=top,
        bottom=top + _tall(thing),
    )
