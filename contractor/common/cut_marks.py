"""Where the numbers of a sheet's cuts stand: outside the sheet at the cut's end, side by side with a leader to it, and
on the line only where a cut reaches no edge. No two numbers lie over each other as long as there is room."""

from collections.abc import Callable
from dataclasses import dataclass

from contractor.common.drawing import Line

REACH = 1.9  # heights of lettering from the sheet's edge to the middle of a number
MARGIN = 3.0  # heights of lettering that a side with numbers takes
PLAIN = 1.0  # and one without
APART = 1.05  # of the circles' diameter
ON_LINE = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)  # places tried along a cut


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A number in a circle of radius `size` about (x, y), with the leader to its cut's end where it stands apart."""

    text: str
    x: int
    y: int
    size: int
    leader: Line | None = None


@dataclass(frozen=True, kw_only=True)
class Ends:
    """Numbers of the cuts by the side of the sheet that they are told on; those that reach none lie within."""

    bottom: tuple[int, ...] = ()
    top: tuple[int, ...] = ()
    left: tuple[int, ...] = ()
    right: tuple[int, ...] = ()
    within: tuple[int, ...] = ()

    @property
    def rows(self) -> tuple[float, float, float, float]:
        """Margins left, right, top, bottom in heights of lettering."""
        return tuple(MARGIN if side else PLAIN for side in (self.left, self.right, self.top, self.bottom))


def ends_of(cuts, width_mm: int, height_mm: int) -> Ends:
    """Which side of the sheet each cut is numbered on. `cuts` have number, x1_mm, y1_mm, x2_mm, y2_mm."""
    sides: dict[str, list[int]] = {}
    for cut in cuts:
        if cut.is_upright:
            low, high, first, last, most = *sorted((cut.y1_mm, cut.y2_mm)), "bottom", "top", height_mm
        else:
            low, high, first, last, most = *sorted((cut.x1_mm, cut.x2_mm)), "left", "right", width_mm
        side = first if low == 0 else last if high == most else "within"
        sides.setdefault(side, []).append(cut.number)
    return Ends(**{side: tuple(numbers) for side, numbers in sides.items()})


def cut_marks(
    cuts,
    ends: Ends,
    at: Callable[[float, float], tuple[int, int]],
    width_mm: int,
    height_mm: int,
    lettering: int,
    taken,
) -> tuple[Mark, ...]:
    """All numbers. `at` turns the sheet's millimetres into the drawing's; `taken` are boxes (x1, y1, x2, y2) of
    lettering that numbers on a line keep off."""
    by_number = {cut.number: cut for cut in cuts}
    size, reach = round(0.85 * lettering), round(REACH * lettering)
    marks: list[Mark] = []
    for side, numbers in (("bottom", ends.bottom), ("top", ends.top), ("left", ends.left), ("right", ends.right)):
        is_level = side in ("bottom", "top")
        extent = width_mm if is_level else height_mm
        found = sorted((by_number[n] for n in numbers), key=lambda c: c.x1_mm if is_level else c.y1_mm)
        wanted = [cut.x1_mm if is_level else cut.y1_mm for cut in found]
        radius = min(size, round(extent / max(len(found), 1) / 2 / APART))
        places = spread(wanted, round(2 * radius * APART), 0, extent)
        edge_mm = 0 if side in ("bottom", "left") else height_mm if is_level else width_mm
        out = -reach if edge_mm == 0 else reach
        for cut, want, place in zip(found, wanted, places, strict=True):
            end, spot = (
                ((want, edge_mm), (place, edge_mm + out)) if is_level else ((edge_mm, want), (edge_mm + out, place))
            )
            (ex, ey), (x, y) = at(*end), at(*spot)
            marks.append(Mark(text=str(cut.number), x=x, y=y, size=radius, leader=Line(x1=ex, y1=ey, x2=x, y2=y)))
    for number in ends.within:
        marks.append(_on_line(by_number[number], at, size, marks, taken))
    return tuple(sorted(marks, key=lambda mark: int(mark.text)))


def spread(wanted: list[int], apart: int, low: int, high: int) -> list[int]:
    """Places in the same order, each as near as may be to the one wanted, no two nearer than `apart`."""
    places: list[int] = []
    for place in wanted:
        places.append(max(place, places[-1] + apart if places else low))
    for i in range(len(places) - 1, -1, -1):
        places[i] = min(places[i], places[i + 1] - apart if i + 1 < len(places) else high)
    # What was pushed up comes back halfway where there is room below.
    for i, place in enumerate(places):
        least = places[i - 1] + apart if i else low
        places[i] = max(least, min(place, (place + wanted[i]) // 2))
    return places


def _on_line(cut, at, size: int, marks: list[Mark], taken) -> Mark:
    best = None
    for share in ON_LINE:
        x, y = at(cut.x1_mm + (cut.x2_mm - cut.x1_mm) * share, cut.y1_mm + (cut.y2_mm - cut.y1_mm) * share)
        over = sum((x - m.x) ** 2 + (y - m.y) ** 2 < (size + m.size) ** 2 for m in marks)
        over += sum(x1 - size < x < x2 + size and y1 - size < y < y2 + size for x1, y1, x2, y2 in taken)
        if best is None or over < best[0]:
            best = (over, Mark(text=str(cut.number), x=x, y=y, size=size))
        if not over:
            break
    return best[1]
