"""What a rule may ask: the facts of a patch, an opening or a side path, of its home, and of a build-up there.

A fact that nobody has found out is None, and no condition on it holds. Where a wall was not sounded, the word for its
condition stands in: plaster "under a fifth hollow" is taken as a fifth.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from contractor.catalogue.models import BuildUp, BuildUpLayer, Connection, Construction, ConstructionLayer
from contractor.customers.models import Property
from contractor.jobs.cautions import FLATS
from contractor.jobs.models import NoiseHeard
from contractor.rooms.models import Finding, Fixture, Opening, Patch, Room, SidePath, Surface
from contractor.rooms.patch_shape import patch_shape
from contractor.rooms.rules.tap import tapped

HOLLOW_BY_WORD = {
    Patch.Condition.SOUND: 0.0,
    Patch.Condition.LATH: 0.0,
    Patch.Condition.PART_HOLLOW: 20.0,
    Patch.Condition.BLOWN: 100.0,
}
COMES_OFF = {Patch.Condition.BOARD_ON_DABS, Patch.Condition.EXISTING_LINING}
BOUND_TO_BASE = {Connection.TIMBER_STUD, Connection.STEEL_STUD, Connection.JOIST, Connection.TIE}
YES, NO = "yes", "no"
YES_OR_NO = [(YES, "Yes"), (NO, "No")]
ROLE = BuildUpLayer.Role


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A number has a unit; anything else has choices. `of_build_up`: known only once something is to be built."""

    key: str
    label: str
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    of_build_up: bool = False

    @property
    def is_number(self) -> bool:
        return not self.choices


def _number(key: str, label: str, unit: str, **more) -> Fact:
    return Fact(key=key, label=label, unit=unit, **more)


def _choice(key: str, label: str, choices: Iterable = YES_OR_NO, **more) -> Fact:
    return Fact(key=key, label=label, choices=tuple((str(v), str(text)) for v, text in choices), **more)


WAY, OPENING = "way", "opening"
BUILT = {"of_build_up": True}
FACTS: dict[str, Fact] = {
    fact.key: fact
    for fact in (
        _choice("face", "It is a", Surface.Face.choices),
        _choice("base", "It is built as", [("masonry", "masonry"), ("light", "a light frame or board")]),
        _number("base_kg_m2", "Mass of its leaf on our side", "kg/m²"),
        _choice("condition", "Condition found", Patch.Condition.choices),
        _choice("plastered", "Its face is plaster"),
        _number("hollow_percent", "Hollow when knocked on", "%"),
        _number("largest_hollow_m2", "Largest hollow place", "m²"),
        _number("damp_percent", "Damp to the hand", "%"),
        _number("moisture_percent", "Highest moisture reading", "%"),
        _choice("salts", "Salts on the face"),
        _choice("crumbling", "Plaster crumbles"),
        _choice("bare", "Masonry stands bare once the old face is off"),
        _choice("light_leaf", "A light leaf with a void behind it stays"),
        _choice("disturbed", "Old fabric is broken out"),
        _number("out_of_true_mm", "Out of true under a 1.8 m level", "mm"),
        _number("stands_out_mm", "Stands out into the room by", "mm"),
        _number("depth_given_mm", "Depth the customer gives", "mm"),
        _number("boxes", "Sockets and switches on it", ""),
        _number("back_to_back", "Boxes back to back with one on the other side", ""),
        _number("downlights", "Lights let into it", ""),
        _number("fitted_units", "Fitted units that stay", ""),
        _number("air_bricks", "Air bricks and vents that open on it", ""),
        _number("frame_clear_mm", "Clear beside a window or door frame", "mm"),
        _number("beams", "Beams in the room or on the surface", ""),
        _number("flues", "Flues in the room", ""),
        _number("floor_voids", "Joined floor voids in the room", ""),
        _number("leaks", "Gaps and leaks noted in the room", ""),
        _number("fireplaces", "Fireplaces in the room", ""),
        _choice(WAY, "Way round", SidePath.Kind.choices),
        _choice(OPENING, "Opening", Opening.Kind.choices),
        _choice("noise", "Among what is heard is", NoiseHeard.Kind.choices),
        _choice("felt", "A noise is felt as vibration"),
        _choice("before_2000", "The home was built before 2000, or nobody knows when"),
        _choice("tenure", "Tenure", Property.Tenure.choices),
        _choice("listed", "Listed or in a conservation area"),
        _choice("flat", "A flat in a building with others"),
        _choice("treated", "Something is built there", **BUILT),
        _number("depth_mm", "Depth of the build-up", "mm", **BUILT),
        _number("adds_kg_m2", "Mass it adds, less the board it takes down", "kg/m²", **BUILT),
        _number("thinnest_board_mm", "Its thinnest board", "mm", **BUILT),
        _choice("new_void", "It makes a new void in front of what stands", **BUILT),
        _choice("takes_face_down", "It takes the old face down", **BUILT),
        _choice("damped", "It holds a damping layer", **BUILT),
        _choice("sheet_on_base", "It lays a heavy sheet straight on the wall", **BUILT),
        _choice("bound", "Its frame is fixed hard to what stands", **BUILT),
        _choice("line_load", "Its frame stands on the floor", **BUILT),
    )
}


OF_HOME = {"before_2000", "tenure", "listed", "flat"}


def facts_of_patch(
    patch: Patch, *, home: Property, noises: list[NoiseHeard], finding: Finding | None
) -> dict[str, object]:
    """Reads the patch's surface with patches, openings and room, and its construction with layers and materials."""
    surface = patch.surface
    there = fixtures_on(patch)
    kinds = [fixture.kind for fixture in there]
    is_placed = any(fixture.is_box for fixture in surface.fixtures.all())
    units = sum(opening.kind == Opening.Kind.UNIT for opening in surface.openings.all())
    return {
        "face": surface.face,
        "base": base_of(patch.construction),
        "base_kg_m2": mass_kg_m2(base_leaf(patch)),
        "condition": patch.condition,
        "plastered": _yes(patch.condition in HOLLOW_BY_WORD),
        "hollow_percent": HOLLOW_BY_WORD.get(patch.condition),
        "bare": _yes(patch.condition == Patch.Condition.BARE and base_of(patch.construction) == "masonry"),
        "light_leaf": _yes(has_light_leaf(patch)),
        "disturbed": NO,
        "out_of_true_mm": surface.out_of_true_mm,
        "stands_out_mm": patch.projection_mm,
        "depth_given_mm": patch.depth_limit_mm,
        "boxes": sum(fixture.is_box for fixture in there) if is_placed else surface.boxes,
        "back_to_back": sum(fixture.is_back_to_back for fixture in there),
        "downlights": kinds.count(Fixture.Kind.DOWNLIGHT),
        "fitted_units": units + kinds.count(Fixture.Kind.UNIT),
        "air_bricks": kinds.count(Fixture.Kind.AIR_BRICK),
        **_facts_around(surface.room, home, noises, beams=kinds.count(Fixture.Kind.BEAM)),
        **(_found(patch, finding) if finding else {}),
    }


def facts_of_way(path: SidePath, *, home: Property, noises: list[NoiseHeard]) -> dict[str, object]:
    """Reads the side path's room with surfaces, openings and side paths."""
    return {WAY: path.kind, **_facts_around(path.room, home, noises)}


def facts_of_opening(opening: Opening, *, home: Property, noises: list[NoiseHeard]) -> dict[str, object]:
    """Reads the opening's room with surfaces, openings and side paths."""
    return {OPENING: opening.kind, **_facts_around(opening.surface.room, home, noises)}


def _facts_around(room: Room, home: Property, noises: list[NoiseHeard], beams: int = 0) -> dict[str, object]:
    """Of the room, the noises and the home; `beams` are those on the surface itself."""
    paths = [path.kind for path in room.side_paths.all()]
    openings = [opening.kind for surface in room.surfaces.all() for opening in surface.openings.all()]
    return {
        "beams": paths.count(SidePath.Kind.BEAM) + beams,
        "flues": paths.count(SidePath.Kind.FLUE),
        "floor_voids": paths.count(SidePath.Kind.VOID),
        "leaks": paths.count(SidePath.Kind.LEAK),
        "fireplaces": openings.count(Opening.Kind.FIREPLACE),
        "noise": {noise.kind for noise in noises},
        "felt": _yes(any(noise.is_felt for noise in noises)),
        "before_2000": _yes(home.may_hold_asbestos),
        "tenure": home.tenure,
        "listed": _yes(home.is_listed),
        "flat": _yes(home.kind in FLATS),
    }


def fixtures_on(patch: Patch) -> list[Fixture]:
    """What hangs or stands on the patch, whole or in part."""
    fixtures = list(patch.surface.fixtures.all())
    if not fixtures or len(patch.surface.patches.all()) == 1:
        return fixtures
    shape = patch_shape(patch.surface, patch)
    return [fixture for fixture in fixtures if shape.intersection(fixture.outline.shape).area >= 1]


def _found(patch: Patch, finding: Finding) -> dict[str, object]:
    known = {
        "moisture_percent": None if finding.moisture_percent is None else float(finding.moisture_percent),
        "salts": _yes(finding.has_salts),
        "crumbling": _yes(finding.is_crumbling),
        "frame_clear_mm": finding.frame_clear_mm,
    }
    if finding.was_tapped:
        told = tapped(patch, finding)
        known["largest_hollow_m2"] = told.largest_hollow_mm2 / 1e6
        known["damp_percent"] = told.damp_percent
        if told.hollow_percent is not None:
            known["hollow_percent"] = told.hollow_percent
    return known


def facts_of_build_up(build_up: BuildUp, patch: Patch) -> dict[str, object]:
    """Reads the build-up's layers with materials, and the patch's construction."""
    layers = list(build_up.layers.all())
    boards = [float(layer.thickness_mm) for layer in layers if layer.role == ROLE.BOARD]
    supports = [layer for layer in layers if layer.role == ROLE.SUPPORT]
    built = [layer for layer in layers if layer.role not in (ROLE.PREPARE, ROLE.TRIM)]
    is_void = any(layer.role in (ROLE.AIR, ROLE.SUPPORT) for layer in layers)
    added = sum(_layer_kg_m2(layer) for layer in layers)
    if build_up.replaces_face:
        added -= mass_kg_m2(near_leaf(patch.construction))
    return {
        "treated": YES,
        "depth_mm": float(build_up.depth_mm),
        "adds_kg_m2": added,
        "thinnest_board_mm": min(boards, default=None),
        "new_void": _yes(is_void and bool(boards) and not build_up.replaces_face),
        "takes_face_down": _yes(build_up.replaces_face),
        "damped": _yes(any(layer.role == ROLE.DAMPING for layer in layers)),
        "sheet_on_base": _yes(bool(built) and built[0].role in (ROLE.MEMBRANE, ROLE.DAMPING)),
        "bound": _yes(not build_up.replaces_face and any(s.connection in BOUND_TO_BASE for s in supports)),
        "line_load": _yes(
            build_up.surface == BuildUp.Surface.WALL
            and any(s.connection == Connection.NONE for s in supports)
            and any(layer.role == ROLE.AIR for layer in layers)
        ),
    }


def base_of(construction: Construction) -> str:
    """Whether what carries the face is masonry; floors and roofs count as light."""
    layers = construction.layers.all()
    is_masonry = any(layer.material is not None and layer.material.is_masonry for layer in layers)
    return "masonry" if construction.kind == Construction.Kind.WALL and is_masonry else "light"


def leaves(construction: Construction) -> list[list[ConstructionLayer]]:
    """The solid layers in runs between cavities, from the far side to the room's."""
    found: list[list[ConstructionLayer]] = [[]]
    for layer in construction.layers.all():
        if layer.is_cavity:
            found.append([])
        else:
            found[-1].append(layer)
    return found


def near_leaf(construction: Construction) -> list[ConstructionLayer]:
    """The layers on the room's side of the last cavity; all of them where there is none."""
    return leaves(construction)[-1]


def base_leaf(patch: Patch) -> list[ConstructionLayer]:
    """The leaf that a lining would stand before: the one behind, where a light one in front comes off in any case."""
    found = leaves(patch.construction)
    is_light = not any(layer.material.is_masonry for layer in found[-1])
    comes_off = patch.condition in COMES_OFF and is_light and len(found) > 1
    return found[-2] if comes_off else found[-1]


def mass_kg_m2(leaf: list[ConstructionLayer]) -> float:
    """Zero where no material says how heavy it is."""
    return sum(float(layer.thickness_mm) * float(layer.material.density_kg_m3 or 0) / 1000 for layer in leaf)


def has_light_leaf(patch: Patch) -> bool:
    """Whether a thin board or lath stands before a void: a further void in front of it makes three leaves."""
    if patch.condition in COMES_OFF:
        return True
    has_cavity = any(layer.is_cavity for layer in patch.construction.layers.all())
    is_stone = any(layer.material.is_masonry for layer in near_leaf(patch.construction))
    return has_cavity and not is_stone


def _layer_kg_m2(layer: BuildUpLayer) -> float:
    """What a board, sheet or fill adds; frames and fixings are left out."""
    material = layer.material
    if material is None or layer.role in (ROLE.SUPPORT, ROLE.TRIM, ROLE.PREPARE, ROLE.AIR):
        return 0.0
    if material.mass_kg_m2:
        return float(material.mass_kg_m2)
    return float(layer.thickness_mm) * float(material.density_kg_m3 or 0) / 1000


def _yes(value: bool) -> str:
    return YES if value else NO
