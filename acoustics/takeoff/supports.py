"""Supports set out on a surface, round its openings, and cut to pieces."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString

from acoustics.errors import InputError
from acoustics.takeoff.geometry import check_ring
from acoustics.takeoff.lengths import LengthPiece
from acoustics.takeoff.model import Surface


@dataclass(frozen=True, kw_only=True)
class SupportRules:
    """How supports are set out, mm; common practice.

    end_clear_mm: each member stops this short of what it abuts. edges: a member along both edges that
    run with the supports. beside_openings: one along each side of an opening that runs with them.
    across_ends: tracks or plates along the other two edges and over and under openings.
    longest_mm: members longer than the stock are lapped by lap_mm; 0 means never spliced.
    """

    end_clear_mm: int = 5
    edges: bool = True
    beside_openings: bool = True
    across_ends: bool = True
    longest_mm: int = 0
    lap_mm: int = 100
    shortest_mm: int = 300


STUDS = SupportRules(end_clear_mm=8)
BARS = SupportRules(across_ends=False, beside_openings=False, longest_mm=3000)


@dataclass(frozen=True, kw_only=True)
class Member:
    """One piece of support from (x1, y1) to (x2, y2) on the surface."""

    label: str
    role: str
    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int
    length_mm: int


@dataclass(frozen=True, kw_only=True)
class SetOut:
    members: tuple[Member, ...]

    def pieces(self, role: str | None = None) -> tuple[LengthPiece, ...]:
        """The members to cut, of one role ("support" or "track") or all."""
        return tuple(LengthPiece(label=m.label, length_mm=m.length_mm) for m in self.members if role in (None, m.role))

    def length_m(self, role: str | None = None) -> float:
        return sum(m.length_mm for m in self.members if role in (None, m.role)) / 1000


def supports_across(surface: Surface, rules: SupportRules = STUDS, *, inset_mm: int = 0) -> SetOut:
    """Supports at the surface's spacing, at its edges and beside openings, cut out at openings.

    inset_mm keeps the first and last member this far inside the edges (bars near floor and ceiling).
    """
    name = f"Surface {surface.name}"
    outline = check_ring(surface.outline_mm, "outline_mm", f"{name}: the outline")
    openings = [
        check_ring(ring, f"openings_mm[{i}]", f"{name}: opening {i + 1}") for i, ring in enumerate(surface.openings_mm)
    ]
    if surface.supports.spacing_mm <= 0:
        raise InputError("supports.spacing_mm", f"{name}: support spacing must be above nought.")
    flip = surface.supports.direction == "horizontal"
    if flip:
        outline, openings = (_mirror(outline), [_mirror(o) for o in openings])
    area = outline.difference(shapely.union_all(openings)) if openings else outline
    x0, y0, x1, y1 = (round(v) for v in outline.bounds)
    places = set(range(surface.supports.first_mm, x1 + 1, surface.supports.spacing_mm))
    places = {x for x in places if x0 + inset_mm <= x <= x1 - inset_mm}
    if rules.edges:
        places |= {x0 + inset_mm, x1 - inset_mm}
    if rules.beside_openings:
        places |= {round(v) for o in openings for v in (o.bounds[0], o.bounds[2]) if x0 < v < x1}
    lines = []
    for x in sorted(places):
        for low, high in _runs(area, x, x0, x1, y0, y1):
            for a, b in _lapped(low + rules.end_clear_mm, high - rules.end_clear_mm, rules):
                lines.append(("support", x, a, x, b))
    if rules.across_ends:
        lines += _tracks(outline, openings, x0, y0, x1, y1)
    return SetOut(members=tuple(_member(n, line, flip) for n, line in enumerate(lines, start=1)))


def _mirror(geometry):
    return shapely.transform(geometry, lambda xy: xy[:, ::-1])


def _runs(area, x: int, x0: int, x1: int, y0: int, y1: int) -> list[tuple[int, int]]:
    """Stretches of the line at x that lie on the surface; at an edge, just inside it."""
    at = min(max(x, x0 + 0.5), x1 - 0.5)
    best: list[tuple[int, int]] = []
    for side in (at - 0.5, at + 0.5) if x0 < x < x1 else (at,):
        met = area.intersection(LineString([(side, y0 - 1), (side, y1 + 1)]))
        runs = [
            (round(g.bounds[1]), round(g.bounds[3]))
            for g in getattr(met, "geoms", [met])
            if g.geom_type == "LineString" and g.length > 20
        ]
        if sum(b - a for a, b in runs) > sum(b - a for a, b in best):
            best = runs
    return best


def _lapped(low: int, high: int, rules: SupportRules) -> list[tuple[int, int]]:
    run = high - low
    if run <= 0:
        return []
    if not rules.longest_mm or run <= rules.longest_mm:
        return [(low, high)]
    step = rules.longest_mm - rules.lap_mm
    count = math.ceil((run - rules.lap_mm) / step)
    starts = [low + step * n for n in range(count)]
    ends = [start + rules.longest_mm for start in starts[:-1]] + [high]
    if ends[-1] - starts[-1] < rules.shortest_mm:
        short = rules.shortest_mm - (ends[-1] - starts[-1])
        starts[-1] -= short
        ends[-2] = starts[-1] + rules.lap_mm
    return list(zip(starts, ends, strict=True))


def _tracks(outline, openings, x0, y0, x1, y1) -> list[tuple]:
    """Along the ends of the supports, broken where an opening reaches the edge; over and under openings."""
    lines = []
    corners = [(round(x), round(y)) for x, y in shapely.geometry.polygon.orient(outline).exterior.coords]
    blocked = shapely.union_all(openings).buffer(0.5) if openings else None
    for (ax, ay), (bx, by) in itertools.pairwise(corners):
        if ax == bx:
            continue
        edge = LineString([(ax, ay), (bx, by)])
        left = edge.difference(blocked) if blocked is not None else edge
        for part in getattr(left, "geoms", [left]):
            if part.length > 20:
                (px, py), (qx, qy) = part.coords[0], part.coords[-1]
                lines.append(("track", round(px), round(py), round(qx), round(qy)))
    for opening in openings:
        a, low, b, high = (round(v) for v in opening.bounds)
        for y in (low, high):
            if y0 < y < y1:
                lines.append(("track", max(a, x0), y, min(b, x1), y))
    return lines


def _member(number: int, line: tuple, flip: bool) -> Member:
    role, ax, ay, bx, by = line
    if flip:
        ax, ay, bx, by = ay, ax, by, bx
    return Member(
        label=f"{'T' if role == 'track' else 'M'}{number:02d}",
        role=role,
        x1_mm=ax,
        y1_mm=ay,
        x2_mm=bx,
        y2_mm=by,
        length_mm=round(math.hypot(bx - ax, by - ay)),
    )
