"""How a sheet is cut to give the pieces placed on it: edge to edge, the longest cut first."""

from dataclasses import dataclass

from contractor.common.geometry import Box


@dataclass(frozen=True, kw_only=True)
class Cut:
    """One straight cut right across what is left: x1, y1 to x2, y2 from the sheet's bottom left."""

    number: int
    is_upright: bool
    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int

    @property
    def length_mm(self) -> int:
        return self.x2_mm - self.x1_mm + self.y2_mm - self.y1_mm

    @property
    def text(self) -> str:
        if self.is_upright:
            return f"{self.x1_mm:,} mm from the left, {self.length_mm:,} mm long"
        return f"{self.y1_mm:,} mm up, {self.length_mm:,} mm long"


def _clear_lines(area: Box, pieces: list[Box]) -> list[tuple[int, bool, int]]:
    """Edge-to-edge cuts of `area` that run along a piece and through none: (length, is upright, where)."""
    lines = []
    for at in sorted({edge for p in pieces for edge in (p.x_mm, p.right_mm)}):
        if area.x_mm < at < area.right_mm and not any(p.x_mm < at < p.right_mm for p in pieces):
            lines.append((area.height_mm, True, at))
    for at in sorted({edge for p in pieces for edge in (p.y_mm, p.top_mm)}):
        if area.y_mm < at < area.top_mm and not any(p.y_mm < at < p.top_mm for p in pieces):
            lines.append((area.width_mm, False, at))
    return lines


def _parts(area: Box, is_upright: bool, at: int) -> tuple[Box, Box]:
    if is_upright:
        return (
            Box(x_mm=area.x_mm, y_mm=area.y_mm, width_mm=at - area.x_mm, height_mm=area.height_mm),
            Box(x_mm=at, y_mm=area.y_mm, width_mm=area.right_mm - at, height_mm=area.height_mm),
        )
    return (
        Box(x_mm=area.x_mm, y_mm=area.y_mm, width_mm=area.width_mm, height_mm=at - area.y_mm),
        Box(x_mm=area.x_mm, y_mm=at, width_mm=area.width_mm, height_mm=area.top_mm - at),
    )


def cut_order(width_mm: int, height_mm: int, placed: list[Box]) -> list[Cut] | None:
    """The cuts of a sheet in order, or None where no run of edge-to-edge cuts frees the pieces.

    The longest clear cut comes first (common practice: rip, then cross-cut). A piece lying in the cut-out of another
    needs no cut of its own here.
    """
    pieces = [p for p in placed if not any(q is not p and q.holds(p) and q != p for q in placed)]
    cuts: list[Cut] = []
    waiting = [Box(x_mm=0, y_mm=0, width_mm=width_mm, height_mm=height_mm)]
    while waiting:
        area = waiting.pop(0)
        inside = [p for p in pieces if area.holds(p)]
        if not inside or inside == [area]:
            continue
        lines = _clear_lines(area, inside)
        if not lines:
            return None
        _, is_upright, at = max(lines, key=lambda line: (line[0], line[1], -line[2]))
        ends = (at, area.y_mm, at, area.top_mm) if is_upright else (area.x_mm, at, area.right_mm, at)
        cuts.append(
            Cut(
                number=len(cuts) + 1,
                is_upright=is_upright,
                **dict(zip(("x1_mm", "y1_mm", "x2_mm", "y2_mm"), ends, strict=True)),
            )
        )
        waiting[:0] = _parts(area, is_upright, at)
    return cuts
