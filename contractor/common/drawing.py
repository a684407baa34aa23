"""From millimetres to the numbers of a drawing: paper, lettering, line weights and dimension lines.

The templates in templates/drawings/ place what is worked out here. A drawing's unit is the millimetre, whole, with y
running down as SVG has it; lettering and line weights follow the size of the paper, so one drawing serves every screen
and print.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

LETTER_WIDTH = 0.56  # of the height of the lettering, a generous mean for digits and capitals


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A sheet with an object of width_mm x height_mm on it, its bottom left at `x(0), y(0)`."""

    width_mm: int
    height_mm: int
    lettering: int
    left: int
    right: int
    top: int
    bottom: int

    @property
    def width(self) -> int:
        return self.left + self.width_mm + self.right

    @property
    def height(self) -> int:
        return self.top + self.height_mm + self.bottom

    @property
    def thin(self) -> int:
        return max(1, self.lettering // 16)

    @property
    def outline(self) -> int:
        return max(2, self.lettering // 8)

    @property
    def cut(self) -> int:
        return max(3, self.lettering // 5)

    def x(self, x_mm: int) -> int:
        return self.left + x_mm

    def y(self, y_mm: int) -> int:
        return self.top + self.height_mm - y_mm


@dataclass(frozen=True, kw_only=True)
class Line:
    x1: int
    y1: int
    x2: int
    y2: int


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A dimension line with oblique ticks, its lettering, and the thin lines that lead to what it measures."""

    line: Line
    ticks: tuple[Line, ...]
    leads: tuple[Line, ...]
    label: str
    label_x: int
    label_y: int
    is_upright: bool
    is_marked: bool = False
    turn: int = 0  # degrees, of lettering along a line that is neither level nor upright


def lettering_width(text: str, height: int) -> int:
    return round(len(text) * height * LETTER_WIDTH)


def paper_for(*, width_mm: int, height_mm: int, letters_across: int, rows: tuple[float, float, float, float]) -> Paper:
    """Paper round an object. `letters_across`: how many heights of lettering make its larger side; `rows`: margins
    left, right, top, bottom in heights of lettering. A tall object gets wider margins, so that it never fills a page.
    """
    lettering = max(10, round(max(width_mm, height_mm) / letters_across))
    left, right, top, bottom = (round(row * lettering) for row in rows)
    spare = max(0, round(height_mm * 0.9) - width_mm) // 2
    return Paper(
        width_mm=width_mm,
        height_mm=height_mm,
        lettering=lettering,
        left=left + spare,
        right=right + spare,
        top=top,
        bottom=bottom,
    )


def across(paper: Paper, from_mm: int, to_mm: int, *, row: float, marked: bool = False, text_row: int = 0) -> Dimension:
    """A dimension below the object, `row` heights of lettering under it. `text_row` lowers lettering that has no room."""
    y = paper.y(0) + round(row * paper.lettering)
    x1, x2 = paper.x(from_mm), paper.x(to_mm)
    gap = round(0.3 * paper.lettering)
    label_y = y - gap if text_row == 0 else y + round((text_row * 1.05 - 0.05) * paper.lettering)
    return Dimension(
        line=Line(x1=x1, y1=y, x2=x2, y2=y),
        ticks=tuple(_tick(paper, x, y) for x in (x1, x2)),
        leads=tuple(Line(x1=x, y1=paper.y(0) + gap, x2=x, y2=y + gap) for x in (x1, x2)),
        label=f"{to_mm - from_mm:,}",
        label_x=(x1 + x2) // 2,
        label_y=label_y,
        is_upright=False,
        is_marked=marked,
    )


def upward(paper: Paper, from_mm: int, to_mm: int, *, row: float, marked: bool = False, text_row: int = 0) -> Dimension:
    """A dimension beside the object, on the right at `row` > 0, on the left at `row` < 0; read from the right."""
    edge, side = (paper.x(paper.width_mm), 1) if row > 0 else (paper.x(0), -1)
    x = edge + round(row * paper.lettering)
    y1, y2 = paper.y(from_mm), paper.y(to_mm)
    gap = round(0.3 * paper.lettering)
    label_x = x - gap if text_row == 0 else x + round((text_row * 1.05 - 0.05) * paper.lettering)
    return Dimension(
        line=Line(x1=x, y1=y1, x2=x, y2=y2),
        ticks=tuple(_tick(paper, x, y) for y in (y1, y2)),
        leads=tuple(Line(x1=edge + side * gap, y1=y, x2=x + side * gap, y2=y) for y in (y1, y2)),
        label=f"{to_mm - from_mm:,}",
        label_x=label_x,
        label_y=(y1 + y2) // 2,
        is_upright=True,
        is_marked=marked,
    )


def chain(
    paper: Paper, edges_mm: Iterable[int], *, row: float, is_upright: bool, marked: tuple[int, int] | None = None
) -> tuple[list[Dimension], int]:
    """Dimensions from edge to edge in one line, and how many rows of lettering stand behind it.

    Lettering too wide for its place moves to the first row behind the line where it meets no other.
    """
    draw = upward if is_upright else across
    taken: dict[int, int] = {}
    dimensions = []
    for from_mm, to_mm in pairwise(sorted(set(edges_mm))):
        half = lettering_width(f"{to_mm - from_mm:,}", paper.lettering) // 2
        middle = (from_mm + to_mm) // 2
        text_row = 0 if 2 * half < to_mm - from_mm else 1
        while text_row and taken.get(text_row, middle - half) > middle - half:
            text_row += 1
        taken[text_row] = middle + half + paper.lettering // 3
        dimensions.append(draw(paper, from_mm, to_mm, row=row, marked=(from_mm, to_mm) == marked, text_row=text_row))
    return dimensions, max(taken, default=0)


def _tick(paper: Paper, x: int, y: int) -> Line:
    reach = round(0.28 * paper.lettering)
    return Line(x1=x - reach, y1=y + reach, x2=x + reach, y2=y - reach)
