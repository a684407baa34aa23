"""Turns a face into the engine's surface: its outline, gaps, openings and what its boards are fixed to."""

from acoustics.errors import InputError
from acoustics.takeoff import Board, Gaps, SocketBox, Supports
from acoustics.takeoff import Surface as BoardedSurface
from contractor.catalogue.models import BuildUpLayer, Material
from contractor.rooms.models import Surface
from contractor.rooms.takeoff.faces import Face

Role = BuildUpLayer.Role
# Common practice: 5 mm of sealant at sides, head and openings, 10 at a floor; decks keep their edge strip's 8.
WALL_GAP_MM, FLOOR_GAP_MM, DECK_GAP_MM = 5, 10, 8
FREE_JOINT_MM = 300  # a floating deck has no supports; its joints may fall anywhere, kept to a handy grid
BAR_INSET_MM = 50  # first and last bar from floor and ceiling, common practice 50 to 75
SPANNING_DEPTH_MM = 48  # the least stud; anything as deep carries from end to end by itself


class CannotTakeOff(ValueError):
    """A face that cannot be set out, laid or cut; the message names the surface and what to change."""


def board_layers(face: Face) -> list[BuildUpLayer]:
    """The layers of the face's build-up that are laid out as sheets, in order."""
    return [
        layer
        for layer in face.choice.build_up.layers.all()
        if layer.role == Role.BOARD and layer.material and layer.material.form == Material.Form.SHEET
    ]


def support_layer(face: Face) -> BuildUpLayer | None:
    """What the boards are fixed to: the last support of the build-up that has a spacing."""
    found = [x for x in face.choice.build_up.layers.all() if x.role == Role.SUPPORT and x.spacing_mm]
    lengths = [x for x in found if x.material and x.material.form == Material.Form.LENGTH]
    return (lengths or found or [None])[-1]


def supports_of(face: Face) -> dict | None:
    """Spacing, first support and direction, as the drawings and the layout use them."""
    layer = support_layer(face)
    return spacing_of(face, layer) if layer is not None else None


def spacing_of(face: Face, layer: BuildUpLayer) -> dict:
    """Studs stand from the left edge; bars start a hand's breadth off; joists span the short way."""
    direction = layer.direction or "vertical"
    if spans(layer) and face.surface is not None and not is_wall(face):
        direction = "vertical" if face.height_mm < face.width_mm else "horizontal"
    is_bar = direction == "horizontal" and not spans(layer)
    return {"spacing_mm": layer.spacing_mm, "first_mm": BAR_INSET_MM if is_bar else 0, "direction": direction}


def spans(layer: BuildUpLayer) -> bool:
    """A stud or joist deep enough to carry by itself is never lapped; bars and channels are."""
    return layer.thickness_mm >= SPANNING_DEPTH_MM


def boarded(face: Face, boards: tuple[Board, ...] = (), support: BuildUpLayer | None = None) -> BoardedSurface:
    """The engine's surface for a face, on its boards' supports or on `support`. Its name is the face's label."""
    kind = face.surface.face if face.surface else Surface.Face.WALL
    set_out = spacing_of(face, support) if support is not None else supports_of(face)
    supports = Supports(**set_out) if set_out else Supports(spacing_mm=FREE_JOINT_MM)
    side = DECK_GAP_MM if kind == Surface.Face.FLOOR else WALL_GAP_MM
    at_floor = kind == Surface.Face.WALL and face.at_y_mm == 0
    return BoardedSurface(
        name=face.label,
        outline_mm=face.outline_mm,
        openings_mm=face.openings_mm,
        supports=supports,
        layers=max(len(boards), 1),
        gaps_mm=Gaps(sides_mm=side, top_mm=side, bottom_mm=FLOOR_GAP_MM if at_floor else side, openings_mm=WALL_GAP_MM),
        boards=boards,
        boxes=tuple(SocketBox(x_mm=x, y_mm=y, width_mm=w, height_mm=h) for x, y, w, h in face.sockets_mm),
        letter=face.letter,
    )


def is_wall(face: Face) -> bool:
    """False for ceilings, floors and side paths."""
    return face.surface is not None and face.surface.face == Surface.Face.WALL


def plain(error: InputError, face: Face) -> str:
    """The engine's message, naming the face."""
    return error.message if face.label in error.message else f"{face.label}: {error.message}"
