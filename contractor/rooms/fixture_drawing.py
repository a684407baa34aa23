"""Fixtures on an elevation: each kind with its own sign, what becomes of it told by the line."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from contractor.common.drawing import Line, Paper
from contractor.common.templatetags.wording import mm
from contractor.rooms.models import Fixture

Kind = Fixture.Kind
SIGNS = {
    Kind.SOCKET: "s",
    Kind.SWITCH: "s",
    Kind.DATA: "s",
    Kind.LIGHT: "l",
    Kind.DOWNLIGHT: "l",
    Kind.RADIATOR: "r",
    Kind.PIPE: "p",
    Kind.NIB: "n",
    Kind.BEAM: "b",
    Kind.CORNICE: "c",
    Kind.SKIRTING: "k",
    Kind.STAIR: "t",
    Kind.UNIT: "u",
    Kind.AIR_BRICK: "a",
    Kind.OTHER: "x",
}
RIBS = {Kind.RADIATOR: 8, Kind.AIR_BRICK: 4}


@dataclass(frozen=True, kw_only=True)
class DrawnFixture:
    mark: str
    name: str
    kind: str
    fate: str
    x: int
    y: int
    width: int
    height: int
    mark_x: int
    mark_y: int
    lines: list[Line] = field(default_factory=list)
    circle: tuple[int, int, int] | None = None
    is_edited: bool = False


def fixture_marks(fixtures: Sequence[Fixture]) -> list[tuple[Fixture, str]]:
    """Each fixture with its mark as in a schedule, in small letters: s1, s2, r1 …"""
    seen: dict[str, int] = {}
    marked = []
    for fixture in fixtures:
        sign = SIGNS.get(fixture.kind, "x")
        seen[sign] = seen.get(sign, 0) + 1
        marked.append((fixture, f"{sign}{seen[sign]}"))
    return marked


def drawn_fixtures(paper: Paper, fixtures: Sequence[Fixture], edited) -> list[DrawnFixture]:
    """Those whose place is known."""
    return [
        _drawn(paper, fixture, mark, edited is fixture)
        for fixture, mark in fixture_marks(fixtures)
        if fixture.x_mm is not None and fixture.y_mm is not None and fixture.width_mm and fixture.height_mm
    ]


def fixture_text(fixture: Fixture, mark: str) -> str:
    return (
        f"{mark}: {str(fixture).lower()}, {mm(fixture.x_mm)} from the left and {mm(fixture.y_mm)} up,"
        f" {fixture.get_fate_display().lower()}."
    )


def _drawn(paper: Paper, fixture: Fixture, mark: str, is_edited: bool) -> DrawnFixture:
    x, y = paper.x(fixture.x_mm), paper.y(fixture.y_mm + fixture.height_mm)
    width, height = fixture.width_mm, fixture.height_mm
    # Its mark stands above it, or below where it reaches the top.
    above = fixture.y_mm + height + 1.2 * paper.lettering < paper.height_mm
    mark_y = y - 0.55 * paper.lettering if above else y + height + 0.75 * paper.lettering
    is_large = min(width, height) > 2.2 * paper.lettering
    return DrawnFixture(
        mark=mark,
        name=str(fixture),
        kind=fixture.kind,
        fate=fixture.fate,
        x=x,
        y=y,
        width=width,
        height=height,
        mark_x=x + width // 2,
        mark_y=y + height // 2 if is_large else round(mark_y),
        lines=_lines(fixture, x, y),
        circle=_circle(fixture, x, y),
        is_edited=is_edited,
    )


def _lines(fixture: Fixture, x: int, y: int) -> list[Line]:
    width, height = fixture.width_mm, fixture.height_mm
    if fixture.kind in RIBS:
        ribs = RIBS[fixture.kind]
        return [Line(x1=x + width * i // ribs, y1=y, x2=x + width * i // ribs, y2=y + height) for i in range(1, ribs)]
    if fixture.kind == Kind.SWITCH:
        return [Line(x1=x, y1=y + height, x2=x + width, y2=y)]
    if fixture.kind == Kind.PIPE:
        if width > height:
            return [Line(x1=x, y1=y + height // 2, x2=x + width, y2=y + height // 2)]
        return [Line(x1=x + width // 2, y1=y, x2=x + width // 2, y2=y + height)]
    if fixture.kind in (Kind.NIB, Kind.BEAM, Kind.UNIT):
        return [Line(x1=x, y1=y + height, x2=x + width, y2=y)]
    if fixture.kind in (Kind.CORNICE, Kind.SKIRTING):
        return [Line(x1=x, y1=y + height * i // 3, x2=x + width, y2=y + height * i // 3) for i in (1, 2)]
    return []


def _circle(fixture: Fixture, x: int, y: int) -> tuple[int, int, int] | None:
    if fixture.kind in (Kind.SOCKET, Kind.DATA, Kind.LIGHT, Kind.DOWNLIGHT):
        short = min(fixture.width_mm, fixture.height_mm)
        return x + fixture.width_mm // 2, y + fixture.height_mm // 2, max(1, short // (2 if not fixture.is_box else 4))
    return None
