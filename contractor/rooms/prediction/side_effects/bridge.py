"""Weight, warmth and damp of what is built. Indicative, and always with the caution to have it checked.

Warmth is worked out for what faces outdoors or a cold void; damp through the year, in the firm's climate, for outside
walls, whose far side is known.
"""

from dataclasses import replace

from acoustics import Element, Layer
from acoustics.condensation import Climate, Damp
from acoustics.sideeffects import side_effects
from contractor.catalogue.bridge import as_built, treated_element
from contractor.catalogue.layers.bridge import LEAF_ROLES, solid
from contractor.catalogue.models import BuildUp, BuildUpLayer, Construction, Material
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Patch, Room, SidePath, Surface
from contractor.rooms.prediction.patches import LEAST_AREA_MM2, patch_name
from contractor.rooms.preparation import face_comes_off
from contractor.rooms.takeoff.faces import net_area_mm2

Role, Kind = BuildUpLayer.Role, Material.Kind
SOLID_ROLES = LEAF_ROLES - {Role.DAMPING} | {Role.RESILIENT}
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
    Kind.RESILIENT: "rubber_mat",
}
FOR_COMPETENT = "have it checked by someone competent in damp"
DAMP_TEXTS = {
    "none": f"No condensation behind the lining in any month. Driving rain, leaks and cold corners are not in it: {FOR_COMPETENT}.",
    "dries": "Vapour condenses behind the lining, up to {grams} g/m² ({months}), and dries again in the summer: "
    f"consider a vapour control layer and {FOR_COMPETENT}.",
    "stays": "Vapour condenses behind the lining, up to {grams} g/m² within a year, and does not dry out: plan a vapour "
    f"control layer and {FOR_COMPETENT}.",
    "unknown": f"The damp risk cannot be worked out, since figures of a material are not known: {FOR_COMPETENT}.",
    "no_climate": f"The damp risk is not worked out, since no climate is chosen in the catalogue: {FOR_COMPETENT}.",
}
BEYOND = {Surface.Face.WALL: "outside", Surface.Face.FLOOR: "void_below", Surface.Face.CEILING: "void_above"}
COLD_FLOOR = f"Wool leaves the timber over it or under it colder: keep the void ventilated and {FOR_COMPETENT}."
VOID = (
    "Keep air bricks and the ventilation of floor timbers open, and keep wool off cables: covered, they run hotter. "
    "Have both checked by someone competent."
)


def side_effects_of(inputs: Inputs, room: Room) -> list[dict]:
    """One entry for each treated place that has any. Raises InputError."""
    climate = _climate(inputs)
    found = []
    for surface in room.surfaces.all():
        for patch in surface.patches.all():
            choice = inputs.on_patch.get(patch.pk)
            if choice is not None and net_area_mm2(surface, patch) >= LEAST_AREA_MM2:
                found.append(_of_patch(inputs, surface, patch, choice.build_up, climate))
    for path in room.side_paths.all():
        choice = inputs.on_side_path.get(path.pk)
        if choice is not None and path.kind == SidePath.Kind.VOID and _has_wool(choice.build_up):
            found.append(_entry(path.name, cautions=[VOID]))
    return [entry for entry in found if entry is not None]


def _climate(inputs: Inputs) -> tuple[Climate, str] | None:
    """The firm's climate, and how moist the household is reckoned."""
    row = inputs.climate
    if row is None:
        return None
    temperature_c, humidity = tuple(row.temperature_c), tuple(row.humidity_percent)
    return Climate(
        name=row.name, temperature_c=temperature_c, humidity_percent=humidity, origin=row.origin
    ), row.indoors


def _of_patch(
    inputs: Inputs, surface: Surface, patch: Patch, build_up: BuildUp, climate: tuple[Climate, str] | None
) -> dict | None:
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
    if surface.is_outside:
        warmth, text = _warmth(surface, before, after, _substances(patch.construction, build_up), climate)
        if surface.face == Surface.Face.WALL:
            cautions.append(text)
        elif _has_wool(build_up):
            cautions.append(COLD_FLOOR)
    return _entry(patch_name(surface, patch), build_up=build_up.name, cautions=cautions, **weight, **warmth)


def _entry(place: str, **told) -> dict:
    nothing = {
        "build_up": "", "added_kg_m2": None, "added_kg": None, "u_before": None, "u_after": None, "damp": "", "climate": "",
    }  # fmt: skip
    return {"place": place, **nothing, **told}


def _warmth(
    surface: Surface,
    before: Element,
    after: Element,
    substances: dict[Layer, str | None],
    climate: tuple[Climate, str] | None,
) -> tuple[dict, str]:
    """U-values in W/(m² K) and the damp of a wall's year, and what to say of it."""
    bare, full = (_of_substances(element, substances) for element in (before, after))
    if bare is None or full is None:
        return {"damp": "unknown"}, DAMP_TEXTS["unknown"]
    year, indoors = climate if climate and surface.face == Surface.Face.WALL else (None, "normal")
    found = side_effects(bare, full, beyond=BEYOND[surface.face], climate=year, indoors=indoors)
    if found.u_before_w_m2k is None or found.u_after_w_m2k is None:
        return {"damp": "unknown"}, DAMP_TEXTS["unknown"]
    told = {"u_before": round(found.u_before_w_m2k, 2), "u_after": round(found.u_after_w_m2k, 2)}
    if found.damp is None or year is None:
        return told, DAMP_TEXTS["no_climate"]
    return told | {"damp": found.damp.verdict, "climate": year.name}, _damp_text(found.damp)


def _damp_text(damp: Damp) -> str:
    months = f"{damp.wet_months[0]} to {damp.wet_months[-1]}" if damp.wet_months else ""
    return DAMP_TEXTS[damp.verdict].format(grams=f"{damp.most_g_m2:.0f}", months=months)


def _of_substances(element: Element, substances: dict[Layer, str | None]) -> Element | None:
    """The element with a substance that has thermal data for each layer; None where one has none."""
    layers = [layer for leaf in element.leaves for layer in leaf.layers]
    if any(substances.get(layer) is None for layer in layers):
        return None
    leaves = [
        replace(leaf, layers=tuple(Layer(material=substances[x], thickness_mm=x.thickness_mm) for x in leaf.layers))
        for leaf in element.leaves
    ]
    return replace(element, leaves=tuple(leaves), base_weighted_db=None)


def _substances(construction: Construction, build_up: BuildUp) -> dict[Layer, str | None]:
    """The substance of each layer that the engine was given."""
    rows = [layer for layer in construction.layers.all() if not layer.is_cavity]
    rows += [layer for layer in build_up.layers.all() if layer.role in SOLID_ROLES]
    solids = [(row.material, float(row.thickness_mm)) for row in rows if row.material and row.thickness_mm > 0]
    return {solid(material, thickness_mm): _substance(material) for material, thickness_mm in solids}


def _substance(material: Material) -> str | None:
    is_netting = material.kind == Kind.MEMBRANE and (material.mass_kg_m2 or 0) < LEAST_MEMBRANE_KG_M2
    return None if is_netting else SUBSTANCES.get(material.key) or SUBSTANCES_BY_KIND.get(material.kind)


def _has_wool(build_up: BuildUp) -> bool:
    return any(layer.role == Role.FILL and layer.thickness_mm > 0 for layer in build_up.layers.all())
