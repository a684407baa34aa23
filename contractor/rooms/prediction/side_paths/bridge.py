"""Turns a side path of the survey into the engine's coupled cavities or slits.

A survey cannot see into a void, so sizes it does not give are taken from the named constants below. They are
judgement from common practice, not measurements; the engine gives these paths a wide uncertainty for that reason.
"""

from dataclasses import replace

from acoustics import CavityRoute, Element, Layer, Leaf, Leak, SidePath
from contractor.catalogue.bridge import lining_of
from contractor.rooms.inputs import Choice
from contractor.rooms.models import Room
from contractor.rooms.models import SidePath as SidePathRow
from contractor.rooms.takeoff.faces import GIRTH_MM

Kind = SidePathRow.Kind

# Gaps round joist ends: five joists in two metres, a third of a joist's 50 x 200 mm pocket in three open.
VOID_GAP_MM2_PER_M = 4000
ROOF_GAP_MM2_PER_M = 20_000  # a party wall stopped 20 mm short of the roof covering
BEAM_HOLE_MM2, PIPE_HOLE_MM2 = 5000, 2000
LEAK_MM2 = 500
LEAST_LENGTH_MM = 1000
FLUE_FACE_M2 = 2.5  # of a chimney breast, about 1.2 m wide
FLUE_WITHE_M2 = 0.6  # of half-brick between two flues, 0.25 m wide
LEAST_GAP_LEFT = 0.05  # of the open area, after sealing by hand


def _skin(material: str, thickness_mm: float, masonry: bool = False) -> Element:
    return Element(leaves=(Leaf(layers=(Layer(material=material, thickness_mm=thickness_mm),), masonry=masonry),))


BOARDS = _skin("softwood_boards", 20)
PLASTERBOARD = _skin("gypsum_board", 12.5)
HALF_BRICK = _skin("brick_solid", 102.5, masonry=True)
CLOSING_BOARD = _skin("plywood", 18)


def side_path_of(room: Room, path: SidePathRow, choice: Choice | None) -> SidePath:
    """The path as found, and as it is once `choice` is built. Raises InputError of the engine."""
    before = _found(room, path)
    return SidePath(name=path.name, before=before, after=_treated(before, choice) if choice else None)


def _found(room: Room, path: SidePathRow) -> CavityRoute | Leak:
    length_m = max(path.length_mm or 0, LEAST_LENGTH_MM) / 1000
    if path.kind == Kind.LEAK:
        return Leak(area_mm2=path.open_area_mm2 or LEAK_MM2)
    if path.kind == Kind.FLUE:
        return _flue(path)
    if path.kind in (Kind.VOID, Kind.ROOF_VOID):
        area_m2 = room.length_mm * room.width_mm / 1e6
        per_m, skin = (VOID_GAP_MM2_PER_M, BOARDS) if path.kind == Kind.VOID else (ROOF_GAP_MM2_PER_M, PLASTERBOARD)
        gap_mm2 = path.open_area_mm2 or per_m * length_m
    else:
        area_m2 = length_m * GIRTH_MM[path.kind] / 1000
        gap_mm2 = path.open_area_mm2 or (BEAM_HOLE_MM2 if path.kind == Kind.BEAM else PIPE_HOLE_MM2)
        skin = PLASTERBOARD
    return CavityRoute(
        kind=path.kind,
        source_area_m2=area_m2,
        receiving_area_m2=area_m2,
        link_area_m2=gap_mm2 / 1e6,
        source_skin=skin,
        receiving_skin=skin,
    )


def _flue(path: SidePathRow) -> CavityRoute:
    """Two flues side by side; with an open area, ours ends in an open fireplace of that area."""
    return CavityRoute(
        kind="flue",
        source_area_m2=FLUE_FACE_M2,
        receiving_area_m2=path.open_area_mm2 / 1e6 if path.open_area_mm2 else FLUE_FACE_M2,
        link_area_m2=FLUE_WITHE_M2,
        source_skin=HALF_BRICK,
        link=HALF_BRICK,
        receiving_skin=None if path.open_area_mm2 else HALF_BRICK,
    )


def _treated(found: CavityRoute | Leak, choice: Choice) -> CavityRoute | Leak:
    """Gaps sealed but for a twentieth, an open throat closed by a board, and a casing where the build-up has one."""
    if isinstance(found, Leak):
        return replace(found, sealed=True)
    if found.link is None:
        found = replace(found, link_area_m2=found.link_area_m2 * LEAST_GAP_LEFT)
    if found.receiving_skin is None:
        return replace(found, receiving_skin=CLOSING_BOARD)
    if _has_boards(choice):
        return replace(found, receiving_lining=lining_of(choice.build_up))
    return found


def _has_boards(choice: Choice) -> bool:
    return any(layer.role == "board" for layer in choice.build_up.layers.all())
