"""Shapes whose sides are level or upright, in whole millimetres: what a board, a wall or its openings look like."""

from dataclasses import dataclass
from itertools import pairwise

Outline = list[list[int]]  # corners in order, [x right, y up]


@dataclass(frozen=True, kw_only=True)
class Box:
    x_mm: int
    y_mm: int
    width_mm: int
    height_mm: int

    @property
    def right_mm(self) -> int:
        return self.x_mm + self.width_mm

    @property
    def top_mm(self) -> int:
        return self.y_mm + self.height_mm

    @property
    def area_mm2(self) -> int:
        return self.width_mm * self.height_mm

    def holds(self, other: "Box") -> bool:
        return (
            self.x_mm <= other.x_mm
            and self.y_mm <= other.y_mm
            and other.right_mm <= self.right_mm
            and other.top_mm <= self.top_mm
        )


def box_round(outline: Outline) -> Box:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return Box(x_mm=min(xs), y_mm=min(ys), width_mm=max(xs) - min(xs), height_mm=max(ys) - min(ys))


def spans_at(outlines: list[Outline], *, x_mm: float | None = None, y_mm: float | None = None) -> list[tuple]:
    """Where the line x = x_mm (or y = y_mm) runs inside the first outline and outside the others, as (from, to).

    Even-odd rule: holes lie inside the outline and do not touch one another.
    """
    across, along, at = (0, 1, x_mm) if y_mm is None else (1, 0, y_mm)
    crossings = []
    for outline in outlines:
        for a, b in pairwise([*outline, outline[0]]):
            low, high = sorted((a[across], b[across]))
            if low <= at < high:
                share = (at - a[across]) / (b[across] - a[across])
                crossings.append(a[along] + share * (b[along] - a[along]))
    crossings.sort()
    return [(round(a), round(b)) for a, b in zip(crossings[::2], crossings[1::2], strict=False) if b > a]


def _cells(outline: Outline) -> tuple[list[int], list[int], list[list[bool]]]:
    """The grid through all corners: its lines, and for each cell whether it belongs to the shape."""
    xs, ys = sorted({x for x, _ in outline}), sorted({y for _, y in outline})
    columns = [spans_at([outline], x_mm=(a + b) / 2) for a, b in pairwise(xs)]
    inside = [[any(low <= (a + b) / 2 <= high for low, high in spans) for a, b in pairwise(ys)] for spans in columns]
    return xs, ys, inside


def largest_box(outline: Outline) -> Box:
    """The largest upright rectangle inside the shape: where its label has room."""
    xs, ys, inside = _cells(outline)
    best = None
    for i in range(len(xs) - 1):
        for k in range(len(ys) - 1):
            for j in range(i, len(xs) - 1):
                for m in range(k, len(ys) - 1):
                    if not all(inside[c][r] for c in range(i, j + 1) for r in range(k, m + 1)):
                        break
                    box = Box(x_mm=xs[i], y_mm=ys[k], width_mm=xs[j + 1] - xs[i], height_mm=ys[m + 1] - ys[k])
                    if best is None or box.area_mm2 > best.area_mm2:
                        best = box
    return best or box_round(outline)


def cut_outs(outline: Outline) -> list[Box]:
    """What must come out of the rectangle round the shape to make the shape, as boxes in its own measure
    (from its bottom left). Neighbouring cells are joined, upwards first and then sideways."""
    xs, ys, inside = _cells(outline)
    strips: list[Box] = []
    for i, column in enumerate(inside):
        k = 0
        while k < len(column):
            if column[k]:
                k += 1
                continue
            start = k
            while k < len(column) and not column[k]:
                k += 1
            box = Box(x_mm=xs[i], y_mm=ys[start], width_mm=xs[i + 1] - xs[i], height_mm=ys[k] - ys[start])
            before = next(
                (b for b in strips if b.right_mm == box.x_mm and (b.y_mm, b.height_mm) == (box.y_mm, box.height_mm)),
                None,
            )
            if before:
                strips.remove(before)
                box = Box(
                    x_mm=before.x_mm,
                    y_mm=box.y_mm,
                    width_mm=before.width_mm + box.width_mm,
                    height_mm=box.height_mm,
                )
            strips.append(box)
    left, bottom = xs[0], ys[0]
    return [Box(x_mm=b.x_mm - left, y_mm=b.y_mm - bottom, width_mm=b.width_mm, height_mm=b.height_mm) for b in strips]
