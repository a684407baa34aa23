"""Weight, warmth and damp of what is built. Indicative, and always with the caution to have it checked.

Warmth and damp are worked out for outside walls only, by the engine's steady winter check.
"""

from acoustics import Element, Layer, Leaf
from acoustics.sideeffects import condenses, slabs_of, u_value_w_m2k
from contractor.catalogue.bridge import as_built, treated_element
from contractor.catalogue.layers.bridge import LEAF_ROLES, solid
from contractor.catalogue.models import BuildUp, BuildUpLayer, Construction, Material
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Patch, Room, SidePath, Surface
from contractor.rooms.prediction.patches import LEAST_AREA_MM2, patch_name
from contractor.rooms.preparation import face_comes_off
from contractor.rooms.takeoff.faces import net_area_mm2

Role, Kind = BuildUpLayer.Role, Material.Kind
HEAVY_KG_M2 = 30  # from here a wall is looked at too: about two dense boards and their frame (common practice)
LEAST_MEMBRANE_KG_M2 = 0.1  # lighter ones are netting, which stops no vapour
CARRIED_BY = {
    Surface.Face.WALL: "the wall, and the floor under it,",
    Surface.Face.CEILING: "the joists or walls that carry it",
    Surface.Face.FLOOR: "the joists or slab that carry it",
}
# The engine's substances that stand for materials when warmth and vapour pass through them.
SUBSTANCES = {
    "aircrete-block": "aircrete_block",
    "brick": "brick_solid",
    "calcium-silicate-brick": "brick_calcium_silicate",
    "clinker-block": "clinker_block",
    "concrete": "concrete",
    "dense-block": "dense_block",
    "floorboards": "softwood_boards",
    "found-chipboard": "chipboard",
    "found-plasterboard": "gypsum_board",
    "glass": "glass",
    "gypsum-plaster": "plaster_gypsum",
    "hardboard": "hardboard",
    "lath-and-plaster": "lath_and_plaster",
    "light-aggregate-block": "lightweight_block",
    "lime-plaster": "plaster_lime",
    "render": "mortar",
    "screed": "screed",
    "softwood": "softwood",
    "stone": "stone",
}
SUBSTANCES_BY_KIND = {
    Kind.BOARD: "gypsum_board_dense",
    Kind.TIMBER_SHEET: "chipboard",
    Kind.MEMBRANE: "membrane_heavy",
    Kind.PLASTER: "plaster_gypsum",
}
FOR_COMPETENT = "have it checked by someone competent in damp"
DAMP_TEXTS = {
    "risk": f"In a cold month vapour may condense behind the lining: plan a vapour control layer and {FOR_COMPETENT}.",
    "none": f"No condensation in a simple winter check. Driving rain, leaks and cold corners are not in it: {FOR_COMPETENT}.",
    "unknown": f"The damp risk cannot be worked out, since figures of a material are not known: {FOR_COMPETENT}.",
}
COLD_FLOOR = f"Wool leaves the timber over it or under it colder: keep the void ventilated and {FOR_COMPETENT}."
VOID = (
    "Keep air bricks and the ventilation of floor timbers open, and keep wool off cables: covered, they run hotter. "
    "Have both checked by someone competent."
)


def side_effects_of(inputs: Inputs, room: Room) -> list[dict]:
    """One entry for each treated place that has any. Raises InputError."""
    found = []
    for surface in room.surfaces.all():
        for patch in surface.patches.all():
            choice = inputs.on_patch.get(patch.pk)
            if choice is not None and net_area_mm2(surface, patch) >= LEAST_AREA_MM2:
                found.append(_of_patch(inputs, surface, patch, choice.build_up))
    for path in room.side_paths.all():
        choice = inputs.on_side_path.get(path.pk)
        if choice is not None and path.kind == SidePath.Kind.VOID and _has_wool(choice.build_up):
            found.append(_entry(path.name, cautions=[VOID]))
    return [entry for entry in found if entry is not None]


def _of_patch(inputs: Inputs, surface: Surface, patch: Patch, build_up: BuildUp) -> dict | None:
    from_above = surface.face == Surface.Face.FLOOR
    before = as_built(patch.construction, seen_from_above=from_above)
    strips = face_comes_off(patch, inputs.rules)
    after = treated_element(build_up, patch.construction, seen_from_above=from_above, face_comes_off=strips)
    if after is None:
        return None
    added_kg_m2 = after.surface_mass_kg_m2 - before.surface_mass_kg_m2
    weight = {
        "added_kg_m2": round(added_kg_m2, 1),
        "added_kg": round(added_kg_m2 * net_area_mm2(surface, patch) / 1e6),
    }
    cautions = []
    if added_kg_m2 > HEAVY_KG_M2 or (added_kg_m2 > 0 and surface.face != Surface.Face.WALL):
        cautions.append(f"Have {CARRIED_BY[surface.face]} checked by a structural engineer before work begins.")
    warmth = {}
    if surface.is_outside and surface.face == Surface.Face.WALL:
        warmth = _warmth(before, after, _substances(patch.construction, build_up))
        cautions.append(DAMP_TEXTS[warmth["damp"]])
    elif surface.is_outside and _has_wool(build_up):
        cautions.append(COLD_FLOOR)
    return _entry(patch_name(surface, patch), build_up=build_up.name, cautions=cautions, **weight, **warmth)


def _entry(place: str, **told) -> dict:
    nothing = {"build_up": "", "added_kg_m2": None, "added_kg": None, "u_before": None, "u_after": None, "damp": ""}
    return {"place": place, **nothing, **told}


def _warmth(before: Element, after: Element, substances: dict[Layer, str | None]) -> dict:
    """U-values in W/(m² K) and whether vapour condenses: risk, none or unknown."""
    bare, full = (_slabs(element, substances) for element in (before, after))
    if bare is None or full is None:
        return {"damp": "unknown"}
    return {
        "u_before": round(u_value_w_m2k(bare), 2),
        "u_after": round(u_value_w_m2k(full), 2),
        "damp": "risk" if condenses(full) else "none",
    }


def _slabs(element: Element, substances: dict[Layer, str | None]) -> list[tuple[float, float]] | None:
    layers = [layer for leaf in element.leaves for layer in leaf.layers]
    if any(substances.get(layer) is None for layer in layers):
        return None
    leaves = [
        Leaf(layers=tuple(Layer(material=substances[layer], thickness_mm=layer.thickness_mm) for layer in leaf.layers))
        for leaf in element.leaves
    ]
    return slabs_of(Element(leaves=tuple(leaves), gaps=element.gaps))


def _substances(construction: Construction, build_up: BuildUp) -> dict[Layer, str | None]:
    """The substance of each layer that the engine was given."""
    rows = [layer for layer in construction.layers.all() if not layer.is_cavity]
    rows += [layer for layer in build_up.layers.all() if layer.role in LEAF_ROLES - {Role.DAMPING}]
    solids = [(row.material, float(row.thickness_mm)) for row in rows if row.material and row.thickness_mm > 0]
    return {solid(material, thickness_mm): _substance(material) for material, thickness_mm in solids}


def _substance(material: Material) -> str | None:
    is_netting = material.kind == Kind.MEMBRANE and (material.mass_kg_m2 or 0) < LEAST_MEMBRANE_KG_M2
    return None if is_netting else SUBSTANCES.get(material.key) or SUBSTANCES_BY_KIND.get(material.kind)


def _has_wool(build_up: BuildUp) -> bool:
    return any(layer.role == Role.FILL and layer.thickness_mm > 0 for layer in build_up.layers.all())
