"""From a material with a thickness to the engine's layer, and from a build-up's layers to bays of gap and leaf."""

from dataclasses import dataclass, field

from acoustics import Connection, Damping, Fill, Gap, InputError, Layer, Leaf, Lining
from acoustics.bands import AIR_DENSITY_KG_M3, SOUND_SPEED_M_S
from contractor.catalogue.models import BuildUp, BuildUpLayer, Material

Role = BuildUpLayer.Role
LEAF_ROLES = {Role.MEMBRANE, Role.BOARD, Role.DAMPING}
LIMP_KINDS = {Material.Kind.MEMBRANE, Material.Kind.DAMPING, Material.Kind.RESILIENT}
LIMP_SUBSTANCE = "membrane_heavy"  # tells the engine that the missing stiffness is meant


def solid(material: Material, thickness_mm: float) -> Layer:
    """Bought sheets weigh what the supplier says; anything else weighs by its density. Raises InputError."""
    as_sold = material.mass_kg_m2 and material.thickness_mm and abs(float(material.thickness_mm) - thickness_mm) < 0.05
    if as_sold:
        mass_kg_m2 = float(material.mass_kg_m2)
    else:
        mass_kg_m2 = _needed(material, "density_kg_m3", "density") * thickness_mm / 1000
    stiffness = material.coincidence_m_hz
    return Layer(
        material=LIMP_SUBSTANCE if not stiffness and material.kind in LIMP_KINDS else None,
        thickness_mm=thickness_mm,
        surface_mass_kg_m2=mass_kg_m2,
        critical_frequency_hz=float(stiffness) / (thickness_mm / 1000) if stiffness else None,
        loss_factor=float(material.loss_factor) if material.loss_factor is not None else None,
    )


def damping(material: Material, thickness_mm: float) -> Damping:
    """A viscoelastic layer between two boards. Raises InputError."""
    return Damping(
        thickness_mm=thickness_mm,
        shear_modulus_pa=_needed(material, "shear_modulus_pa", "shear modulus"),
        loss_factor=_needed(material, "loss_factor", "loss factor"),
    )


def fill(material: Material, thickness_mm: float, depth_mm: float) -> Fill:
    """Wool is pressed in or slumps: it never takes up more than the cavity. Raises InputError."""
    return Fill(
        thickness_mm=min(thickness_mm, depth_mm),
        flow_resistivity_pa_s_m2=_needed(material, "flow_resistivity_pa_s_m2", "airflow resistivity"),
        density_kg_m3=_needed(material, "density_kg_m3", "density"),
    )


def spring_depth_mm(material: Material) -> float:
    """Depth of air that is as stiff as the mat: rho c^2 / s'. The mat's own losses are left out. Raises InputError."""
    stiffness_n_m3 = _needed(material, "dynamic_stiffness_mn_m3", "dynamic stiffness") * 1e6
    return AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2 / stiffness_n_m3 * 1000


def tie(kind: str, spacing_mm: int | None) -> Connection:
    return Connection(kind=kind, spacing_mm=float(spacing_mm)) if spacing_mm else Connection(kind=kind)


def _needed(material: Material, name: str, what: str) -> float:
    value = getattr(material, name)
    if value is None or value <= 0:
        raise InputError(name, f"{material.name} has no {what}: give it in the catalogue to predict with it")
    return float(value)


# A build-up, read layer by layer


@dataclass
class Bay:
    """A gap and the leaf before the room, as the layers are read one by one."""

    depth_mm: float = 0.0
    fill: tuple[Material, float] | None = None
    connection: Connection = field(default_factory=Connection)
    layers: list[Layer] = field(default_factory=list)
    damping: Damping | None = None
    mat: Layer | None = None

    def gap(self) -> Gap:
        wool = fill(*self.fill, self.depth_mm) if self.fill else None
        return Gap(depth_mm=self.depth_mm, fill=wool, connection=self.connection)

    def leaf(self) -> Leaf:
        if self.damping and len(self.layers) > 1:
            return Leaf(layers=tuple(self.layers), joined="damped", damping=self.damping)
        return Leaf(layers=tuple(self.layers))


@dataclass
class Plan:
    """The bays from the old face to the room, and what is put into the old cavity behind that face."""

    bays: list[Bay]
    old_cavity_fill: tuple[Material, float] | None

    def lining(self) -> Lining | None:
        """The bays as a lining; None without a gap: what is stuck straight to the old face is not counted as a lining."""
        if not self.bays or any(bay.depth_mm <= 0 for bay in self.bays):
            return None
        return Lining(gaps=tuple(bay.gap() for bay in self.bays), leaves=tuple(bay.leaf() for bay in self.bays))


def plan_of(build_up: BuildUp) -> Plan:
    """Read a build-up into bays. Raises InputError where a material lacks what the prediction needs."""
    bays = [Bay()]
    old_cavity_fill = None
    for layer in build_up.layers.all():
        if layer.in_existing_cavity:
            if layer.role == Role.FILL and layer.material:
                old_cavity_fill = (layer.material, float(layer.thickness_mm))
            continue
        if layer.role in LEAF_ROLES:
            _add_to_leaf(bays[-1], layer)
            continue
        opens_a_gap = layer.counts_in_depth and layer.thickness_mm and layer.role not in (Role.FINISH, Role.TRIM)
        if bays[-1].layers and opens_a_gap:
            bays.append(Bay())
        if not bays[-1].layers:
            _add_to_gap(bays[-1], layer)
    if not bays[-1].layers and bays[-1].mat:
        bays[-1].layers.append(bays[-1].mat)  # a heavy mat with nothing rigid over it is the mass on its own backing
    return Plan([bay for bay in bays if bay.layers], old_cavity_fill)


def _add_to_leaf(bay: Bay, layer: BuildUpLayer) -> None:
    thickness_mm = float(layer.thickness_mm)
    if layer.material is None or thickness_mm <= 0:
        return
    if layer.role != Role.DAMPING:
        bay.layers.append(solid(layer.material, thickness_mm))
    elif bay.layers:  # damping works between two boards; on an old face its effect is not counted
        bay.damping = damping(layer.material, thickness_mm)


def _add_to_gap(bay: Bay, layer: BuildUpLayer) -> None:
    thickness_mm = float(layer.thickness_mm)
    if layer.role == Role.RESILIENT and layer.material:
        bay.mat = solid(layer.material, thickness_mm)
        bay.depth_mm += spring_depth_mm(layer.material)
    elif layer.counts_in_depth:
        bay.depth_mm += thickness_mm
    if layer.role == Role.FILL and layer.material and thickness_mm > 0:
        bay.fill = (layer.material, thickness_mm)
    if layer.connection != Connection().kind:
        bay.connection = tie(layer.connection, layer.spacing_mm)
