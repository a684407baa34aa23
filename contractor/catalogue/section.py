"""The layered section of a construction or a build-up, in numbers: templates/drawings/section.svg only places them.

A section is cut across the layers, far side on the left, room on the right, to scale.
"""

from copy import copy
from dataclasses import replace

from contractor.catalogue.models import BuildUp, BuildUpLayer, Connection, Construction, ConstructionLayer, Material
from contractor.catalogue.section_drawing import Piece, Section, drawn

OLD_WALL_MM = 24  # what is shown of the surface that a build-up stands on
SQUEEZED_MM = 5  # fill that stands out by less is pressed in
HATCH_BY_KIND = {
    Material.Kind.BOARD: "board",
    Material.Kind.PLASTER: "board",
    Material.Kind.TIMBER_SHEET: "timber",
    Material.Kind.JOINERY: "timber",
    Material.Kind.GLAZING: "glass",
    Material.Kind.MEMBRANE: "solid",
    Material.Kind.DAMPING: "solid",
    Material.Kind.RESILIENT: "solid",
    Material.Kind.ISOLATION: "solid",
}
HATCH_BY_FABRIC = {
    "floorboards": "timber",
    "found-chipboard": "timber",
    "softwood": "timber",
    "door-core": "timber",
    "hardboard": "timber",
    "glass": "glass",
}
TIMBER_CONNECTIONS = {Connection.TIMBER_STUD, Connection.JOIST, Connection.STAGGERED, Connection.SEPARATE}
TIMBER_BELOW_KG_M3 = 1000
OLD_FACE_HATCH = {BuildUp.Surface.CEILING: "timber", BuildUp.Surface.FLOOR: "timber"}


def section_of_construction(construction: Construction) -> Section | None:
    """Needs `layers__material` loaded."""
    return section_of_found(construction.name, list(construction.layers.all()))


def section_of_found(name: str, layers: list[ConstructionLayer]) -> Section | None:
    """The layers of a construction, saved or not. None where there are none."""
    if not layers:
        return None
    pieces = [_found_piece(number, layer) for number, layer in enumerate(layers, start=1)]
    words = [_lowered(construction_layer_words(layer)) for layer in layers]
    return drawn(
        Section(
            title=f"Section through {_lowered(name)}",
            text=f"From the far side to the room: {'; '.join(words)}.",
            depth_mm=sum(piece.thickness_mm for piece in pieces),
        ),
        pieces,
    )


def section_of_build_up(build_up: BuildUp, *, counted: bool = False) -> Section | None:
    """Needs `layers__material` loaded. `counted` numbers what is shown 1, 2, 3, for people who never see the rest."""
    layers = list(build_up.layers.all())
    if counted:
        layers = [copy(layer) for layer in layers]
        for number, layer in enumerate(filter(_takes_place, layers), start=1):
            layer.order = number
    return section_of_built(build_up.name, build_up.surface, layers)


def section_of_built(name: str, surface: str, layers: list[BuildUpLayer]) -> Section | None:
    """The layers that take up depth, saved or not, on what stands already. None where none does."""
    pieces = _built_pieces(layers)
    if not pieces:
        return None
    shown = [layer for layer in layers if _takes_place(layer)]
    old = Piece(number=None, thickness_mm=OLD_WALL_MM, hatch=OLD_FACE_HATCH.get(surface, "masonry"))
    words = [f"{layer.order} {_lowered(layer.description)}, {_mm(layer.thickness_mm)}" for layer in shown]
    section = Section(
        title=f"Section through {_lowered(name)}",
        text=f"From what stands already to the room: {'; '.join(words)}.",
        depth_mm=sum(piece.thickness_mm for piece in pieces),
        left_label="As found",
    )
    return drawn(section, [old, *pieces], leaves_out_first=True)


def construction_layer_words(layer) -> str:
    """One layer of a construction in a few words."""
    if not layer.is_cavity:
        return f"{layer.material.name}, {_mm(layer.thickness_mm)}"
    words = f"Cavity, {_mm(layer.thickness_mm)}"
    if layer.material:
        words += f", {_mm(layer.fill_thickness_mm or layer.thickness_mm)} of {_lowered(layer.material.name)}"
    if layer.connection != Connection.NONE:
        words += f", {_lowered(layer.get_connection_display())}"
        if layer.spacing_mm:
            words += f" at {_mm(layer.spacing_mm)}"
    return words


def hatch_of(material: Material) -> str:
    """The usual drawing convention for a material: masonry, board, timber, insulation, glass, solid or steel."""
    if material.is_masonry:
        return "masonry"
    if material.flow_resistivity_pa_s_m2:
        return "insulation"
    return HATCH_BY_FABRIC.get(material.key) or HATCH_BY_KIND.get(material.kind, "board")


def _found_piece(number: int, layer) -> Piece:
    thickness_mm = float(layer.thickness_mm)
    if not layer.is_cavity:
        return Piece(number=number, thickness_mm=thickness_mm, hatch=hatch_of(layer.material))
    member = ""
    if layer.connection == Connection.TIE:
        member = "tie"
    elif layer.connection != Connection.NONE:
        member = "timber" if layer.connection in TIMBER_CONNECTIONS else _light_steel(layer.connection)
    fill_mm = float(layer.fill_thickness_mm or layer.thickness_mm) if layer.material else 0
    return Piece(
        number=number,
        thickness_mm=thickness_mm,
        hatch="",
        fill_mm=min(fill_mm, thickness_mm),
        member=member,
        member_depth_mm=thickness_mm,
    )


def _light_steel(connection: str) -> str:
    profiles = {Connection.RESILIENT_BAR: "bar", Connection.CLIP: "clip", Connection.HANGER: "clip"}
    return profiles.get(connection, "stud")


def _takes_place(layer: BuildUpLayer) -> bool:
    is_loose_fill = layer.role == BuildUpLayer.Role.FILL and layer.thickness_mm > 0 and not layer.in_existing_cavity
    return (layer.counts_in_depth and layer.thickness_mm > 0) or is_loose_fill


def _built_pieces(layers: list[BuildUpLayer]) -> list[Piece]:
    """Layers with depth; fill that takes up none of its own lies in the gap before the first board."""
    pieces = [_built_piece(layer) for layer in layers if layer.counts_in_depth and layer.thickness_mm > 0]
    loose = [x for x in layers if _takes_place(x) and not x.counts_in_depth]
    gaps = [place for place, piece in enumerate(pieces) if not piece.hatch]
    if loose and gaps:
        spare_mm = float(loose[0].thickness_mm)
        for place in reversed(gaps):
            taken_mm = min(spare_mm, pieces[place].thickness_mm)
            spare_mm -= taken_mm
            if taken_mm > SQUEEZED_MM:
                number = loose[0].order if place == gaps[-1] else None
                pieces[place] = _with_fill(pieces[place], taken_mm, number)
    return pieces


def _with_fill(piece: Piece, fill_mm: float, number: int | None) -> Piece:
    return replace(piece, fill_mm=fill_mm, fill_number=number)


def _built_piece(layer: BuildUpLayer) -> Piece:
    role, thickness_mm = layer.role, float(layer.thickness_mm)
    Role = BuildUpLayer.Role
    if role == Role.SUPPORT:
        density = layer.material.density_kg_m3 if layer.material else None
        member = "timber" if density and density < TIMBER_BELOW_KG_M3 else _light_steel(layer.connection)
        if layer.connection == Connection.PAD:
            member = "pad"
        return Piece(
            number=layer.order, thickness_mm=thickness_mm, hatch="", member=member, member_depth_mm=thickness_mm
        )
    if role == Role.TRIM:
        return Piece(
            number=layer.order, thickness_mm=thickness_mm, hatch="", member="pad", member_depth_mm=thickness_mm
        )
    if role == Role.AIR or layer.material is None:
        return Piece(number=layer.order, thickness_mm=thickness_mm, hatch="")
    return Piece(number=layer.order, thickness_mm=thickness_mm, hatch=hatch_of(layer.material))


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]


def _mm(value) -> str:
    return f"{float(value):g} mm"
