"""The engine's refusal of one layer, told as a field of its form and a sentence."""

from acoustics import Gap, InputError
from contractor.catalogue.layers.bridge import LEAF_ROLES, damping, fill, solid, spring_depth_mm, stuff_of, tie
from contractor.catalogue.models import BuildUpLayer, ConstructionLayer, Material

Role = BuildUpLayer.Role
# The engine's fields that a row asks for itself; every other one is a figure of the row's material.
ROW_FIELDS = {
    "thickness_mm": "thickness_mm",
    "depth_mm": "thickness_mm",
    "fill.thickness_mm": "thickness_mm",
    "spacing_mm": "spacing_mm",
    "stud_spacing_mm": "spacing_mm",
}
FIGURES = {
    "density_kg_m3": "density",
    "surface_mass_kg_m2": "mass per area",
    "flow_resistivity_pa_s_m2": "airflow resistivity",
    "critical_frequency_hz": "critical frequency × thickness",
    "loss_factor": "loss factor",
    "shear_modulus_pa": "shear modulus",
    "dynamic_stiffness_mn_m3": "dynamic stiffness",
}


def problem_of_found(layer: ConstructionLayer) -> tuple[str, str] | None:
    """(field, sentence) where the engine refuses a layer of a construction, saved or not."""
    thickness_mm = float(layer.thickness_mm)
    try:
        if not layer.is_cavity:
            solid(layer.material, thickness_mm)
            return None
        wool = None
        if layer.material is not None:
            wool = fill(stuff_of(layer.material), float(layer.fill_thickness_mm or layer.thickness_mm), thickness_mm)
        Gap(depth_mm=thickness_mm, fill=wool, connection=tie(layer.connection, layer.spacing_mm))
    except InputError as error:
        return _told(error, layer.material)
    return None


def problem_of_built(layer: BuildUpLayer) -> tuple[str, str] | None:
    """(field, sentence) where the engine refuses a layer of a build-up, saved or not."""
    thickness_mm, material = float(layer.thickness_mm), layer.material
    try:
        tie(layer.connection, layer.spacing_mm)
        if thickness_mm <= 0:
            return None
        Gap(depth_mm=thickness_mm)
        if material is None:
            return None
        if layer.role == Role.DAMPING:
            damping(stuff_of(material), thickness_mm)
        elif layer.role in LEAF_ROLES:
            solid(material, thickness_mm)
        elif layer.role == Role.FILL:
            fill(stuff_of(material), thickness_mm, thickness_mm)
        elif layer.role == Role.RESILIENT:
            solid(material, thickness_mm)
            spring_depth_mm(stuff_of(material))
    except InputError as error:
        return _told(error, material)
    return None


def _told(error: InputError, material: Material | None) -> tuple[str, str]:
    field = ROW_FIELDS.get(error.field)
    if field is None and material is not None and error.message.startswith("must"):
        return "material", f"{material.name}: its {FIGURES.get(error.field, 'figure')} {error.message}."
    return field or "material", f"{error.message[:1].upper()}{error.message[1:]}."
