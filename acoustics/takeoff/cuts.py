"""From rectangles placed on a sheet to the cuts that free them, in an order a hand can follow.

Every cut runs from edge to edge of the part in hand. Any cut that crosses no piece is safe: it never
makes a later cut impossible, so a greedy choice suffices. Among the safe cuts the one that leaves the
largest whole offcut goes first, then the longest.
"""

from __future__ import annotations

from dataclasses import dataclass

from acoustics.takeoff.model import Cut, Offcut, Placed


@dataclass(frozen=True)
class Part:
    x: int
    y: int
    width: int
    height: int


def cut_order(
    width_mm: int, height_mm: int, placed: tuple[Placed, ...], kerf_mm: int
) -> tuple[tuple[Cut, ...], tuple[Part, ...]]:
    """Cuts in order and the parts left over; ValueError where no edge-to-edge cuts free the pieces."""
    cuts: list[Cut] = []
    left: list[Part] = []
    waiting = [(Part(0, 0, width_mm, height_mm), list(placed))]
    while waiting:
        part, inside = waiting.pop()
        if not inside:
            left.append(part)
            continue
        if len(inside) == 1 and _fills(inside[0], part):
            continue
        found = _best_cut(part, inside, kerf_mm)
        if found is None:
            raise ValueError(f"no edge-to-edge cut frees {', '.join(p.label for p in inside)}")
        along_y, at = found
        first, second, line = _split(part, along_y, at, kerf_mm)
        cuts.append(Cut(order=len(cuts) + 1, x1_mm=line[0], y1_mm=line[1], x2_mm=line[2], y2_mm=line[3]))
        low = [p for p in inside if _end(p, along_y) <= at]
        high = [p for p in inside if _end(p, along_y) > at]
        for piece_part, pieces in ((second, high), (first, low)):
            if piece_part.width > 0 and piece_part.height > 0:
                waiting.append((piece_part, pieces))
    return tuple(cuts), tuple(left)


def _fills(piece: Placed, part: Part) -> bool:
    return (piece.x_mm, piece.y_mm, piece.width_mm, piece.height_mm) == (
        part.x,
        part.y,
        part.width,
        part.height,
    )


def _start(piece: Placed, along_y: bool) -> int:
    return piece.x_mm if along_y else piece.y_mm


def _end(piece: Placed, along_y: bool) -> int:
    return piece.x_mm + piece.width_mm if along_y else piece.y_mm + piece.height_mm


def _best_cut(part: Part, inside: list[Placed], kerf: int) -> tuple[bool, int] | None:
    best = None
    for along_y in (True, False):
        low, size = (part.x, part.width) if along_y else (part.y, part.height)
        length = part.height if along_y else part.width
        spans = sorted((_start(p, along_y), _end(p, along_y)) for p in inside)
        places = []
        if spans[0][0] > low:
            places.append((max(low, spans[0][0] - kerf), True))
        reach = spans[0][1]
        for index, (_, end) in enumerate(spans):
            reach = max(reach, end)
            after = spans[index + 1][0] if index + 1 < len(spans) else None
            if after is None:
                if reach < low + size:
                    places.append((reach, True))
            elif after >= reach + kerf and after > reach - 1:
                places.append((reach, False))
        for at, frees in places:
            spare = (at - low if at <= spans[0][0] else low + size - at - kerf) * length if frees else -1
            key = (max(spare, -1), length)
            if best is None or key > best[0]:
                best = (key, along_y, at)
    return (best[1], best[2]) if best else None


def _split(part: Part, along_y: bool, at: int, kerf: int) -> tuple[Part, Part, tuple[int, int, int, int]]:
    if along_y:
        first = Part(part.x, part.y, at - part.x, part.height)
        second = Part(at + kerf, part.y, part.x + part.width - at - kerf, part.height)
        return first, second, (at, part.y, at, part.y + part.height)
    first = Part(part.x, part.y, part.width, at - part.y)
    second = Part(part.x, at + kerf, part.width, part.y + part.height - at - kerf)
    return first, second, (part.x, at, part.x + part.width, at)


def offcuts_of(number: int, parts: tuple[Part, ...], keep_short_mm: int, keep_long_mm: int) -> tuple[Offcut, ...]:
    """Name what is left of sheet `number`, largest first ("S4-O1")."""
    ordered = sorted(parts, key=lambda p: (-p.width * p.height, p.x, p.y))
    return tuple(
        Offcut(
            label=f"S{number}-O{index}",
            x_mm=part.x,
            y_mm=part.y,
            width_mm=part.width,
            height_mm=part.height,
            keep=min(part.width, part.height) >= keep_short_mm and max(part.width, part.height) >= keep_long_mm,
        )
        for index, part in enumerate(ordered, start=1)
    )
