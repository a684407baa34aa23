"""The usual size and height of each kind of fixture, to begin from: common practice, and from memory for air bricks."""

from dataclasses import dataclass

from contractor.rooms.models import Fixture, Surface

Kind, Fate = Fixture.Kind, Fixture.Fate


@dataclass(frozen=True, kw_only=True)
class Usual:
    """`from_top` stands at the top edge. A size of None reaches from edge to edge."""

    width_mm: int | None
    height_mm: int | None
    y_mm: int = 0
    projection_mm: int = 0
    fate: str = Fate.MOVES
    from_top: bool = False


USUAL = {
    Kind.SOCKET: Usual(width_mm=146, height_mm=86, y_mm=450),
    Kind.SWITCH: Usual(width_mm=86, height_mm=86, y_mm=1200),
    Kind.DATA: Usual(width_mm=86, height_mm=86, y_mm=450),
    Kind.LIGHT: Usual(width_mm=250, height_mm=250, y_mm=1700),
    Kind.DOWNLIGHT: Usual(width_mm=85, height_mm=85, y_mm=600),
    Kind.RADIATOR: Usual(width_mm=1000, height_mm=600, y_mm=150, projection_mm=100),
    Kind.PIPE: Usual(width_mm=22, height_mm=None, projection_mm=40),
    Kind.NIB: Usual(width_mm=200, height_mm=None, projection_mm=150, fate=Fate.STAYS),
    Kind.BEAM: Usual(width_mm=None, height_mm=200, projection_mm=150, fate=Fate.STAYS, from_top=True),
    Kind.CORNICE: Usual(width_mm=None, height_mm=100, projection_mm=100, fate=Fate.STAYS, from_top=True),
    Kind.SKIRTING: Usual(width_mm=None, height_mm=120, projection_mm=20, fate=Fate.COMES_OFF),
    Kind.STAIR: Usual(width_mm=None, height_mm=300, projection_mm=40, fate=Fate.STAYS),
    Kind.UNIT: Usual(width_mm=600, height_mm=2000, projection_mm=600, fate=Fate.STAYS),
    Kind.AIR_BRICK: Usual(width_mm=215, height_mm=140, y_mm=150, fate=Fate.STAYS),
    Kind.OTHER: Usual(width_mm=300, height_mm=300),
}


def usual_fixture(surface: Surface, kind: str) -> dict:
    """Values to begin the form with; what spans the surface takes its size, nothing is taller than it."""
    usual = USUAL[kind]
    height_mm = min(usual.height_mm or surface.height_mm, surface.height_mm)
    values = {
        "kind": kind,
        "width_mm": usual.width_mm or surface.length_mm,
        "height_mm": height_mm,
        "y_mm": surface.height_mm - height_mm if usual.from_top else min(usual.y_mm, surface.height_mm - height_mm),
        "projection_mm": usual.projection_mm,
        "fate": usual.fate,
    }
    return values | ({"x_mm": 0} if usual.width_mm is None else {})


def kinds_for(face: str) -> list[tuple[str, str]]:
    """What a wall, a ceiling or a floor may carry, as choices."""
    kinds = {
        Surface.Face.WALL: [kind for kind in Kind if kind != Kind.DOWNLIGHT],
        Surface.Face.CEILING: [Kind.LIGHT, Kind.DOWNLIGHT, Kind.BEAM, Kind.CORNICE, Kind.PIPE, Kind.OTHER],
        Surface.Face.FLOOR: [Kind.PIPE, Kind.NIB, Kind.UNIT, Kind.RADIATOR, Kind.SOCKET, Kind.AIR_BRICK, Kind.OTHER],
    }[face]
    return [(kind.value, kind.label) for kind in kinds]
