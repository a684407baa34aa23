"""From a material with a thickness to the engine's layer, and from a build-up's layers to bays of gap and leaf."""

from dataclasses import dataclass, field
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from acoustics import Connection, Damping, Fill, Gap, InputError, Layer, Leaf, Lining
from acoustics.bands import AIR_DENSITY_KG_M3, SOUND_SPEED_M_S
from contractor.catalogue.models import BuildUp, BuildUpLayer, Material

Role = BuildUpLayer.Role
LEAF_ROLES = {Role.MEMBRANE, Role.BOARD, Role.DAMPING}
LIMP_KINDS = {Material.Kind.MEMBRANE, Material.Kind.DAMPING, Material.Kind.RESILIENT}
LIMP_SUBSTANCE = "membrane_heavy"  # tells the engine that the missing stiffness is meant


class Stuff(NamedTuple):
    """What the engine needs to know of a material; two rows that agree in it are one and the same to the prediction."""

    name: str
    kind: str
    thickness_mm: float | None
    mass_kg_m2: float | None
    density_kg_m3: float | None
    coincidence_m_hz: float | None
    loss_factor: float | None
    shear_modulus_pa: float | None
    flow_resistivity_pa_s_m2: float | None
    dynamic_stiffness_mn_m3: float | None
    is_masonry: bool


_figures_of = attrgetter(*Stuff._fields)


def stuff_of(material: Material) -> Stuff:
    return Stuff._make(_figures_of(material))


def solid(material: Material, thickness_mm: float) -> Layer:
    """Bought sheets weigh what the supplier says; anything else weighs by its density. Raises InputError."""
    return solid_of(stuff_of(material), thickness_mm)


@lru_cache(maxsize=4096)
def solid_of(stuff: Stuff, thickness_mm: float) -> Layer:
    as_sold = stuff.mass_kg_m2 and stuff.thickness_mm and abs(float(stuff.thickness_mm) - thickness_mm) < 0.05
    if as_sold and stuff.mass_kg_m2:
        mass_kg_m2 = float(stuff.mass_kg_m2)
    else:
        mass_kg_m2 = _needed(stuff, "density_kg_m3", "density") * thickness_mm / 1000
    stiffness = stuff.coincidence_m_hz
    return Layer(
        material=LIMP_SUBSTANCE if not stiffness and stuff.kind in LIMP_KINDS else None,
        thickness_mm=thickness_mm,
        surface_mass_kg_m2=mass_kg_m2,
        critical_frequency_hz=float(stiffness) / (thickness_mm / 1000) if stiffness else None,
        loss_factor=float(stuff.loss_factor) if stuff.loss_factor is not None else None,
    )


def damping(stuff: Stuff, thickness_mm: float) -> Damping:
    """A viscoelastic layer between two boards. Raises InputError."""
    return Damping(
        thickness_mm=thickness_mm,
        shear_modulus_pa=_needed(stuff, "shear_modulus_pa", "shear modulus"),
        loss_factor=_needed(stuff, "loss_factor", "loss factor"),
    )


def fill(stuff: Stuff, thickness_mm: float, depth_mm: float) -> Fill:
    """Wool is pressed in or slumps: it never takes up more than the cavity. Raises InputError."""
    return Fill(
        thickness_mm=min(thickness_mm, depth_mm),
        flow_resistivity_pa_s_m2=_needed(stuff, "flow_resistivity_pa_s_m2", "airflow resistivity"),
        density_kg_m3=_needed(stuff, "density_kg_m3", "density"),
    )


def spring_depth_mm(stuff: Stuff) -> float:
    """Depth of air that is as stiff as the mat: rho c^2 / s'. The mat's own losses are left out. Raises InputError."""
    stiffness_n_m3 = _needed(stuff, "dynamic_stiffness_mn_m3", "dynamic stiffness") * 1e6
    return AIR_DENSITY_KG_M3 * SOUND_SPEED_M_S**2 / stiffness_n_m3 * 1000


def tie(kind: str, spacing_mm: int | None) -> Connection:
    return Connection(kind=kind, spacing_mm=float(spacing_mm)) if spacing_mm else Connection(kind=kind)


def _needed(stuff: Stuff, name: str, what: str) -> float:
    value = getattr(stuff, name)
    if value is None or value <= 0:
        raise InputError(name, f"{stuff.name} has no {what}: give it in the catalogue to predict with it")
    return float(value)


# A build-up, read layer by layer


class Row(NamedTuple):
    """A layer of a build-up, as far as the prediction reads it."""

    role: str
    stuff: Stuff | None
    thickness_mm: float
    counts_in_depth: bool
    in_existing_cavity: bool
    connection: str
    spacing_mm: int | None


def rows_of(build_up: BuildUp) -> tuple[Row, ...]:
    return tuple(
        Row(
            layer.role,
            stuff_of(layer.material) if layer.material else None,
            float(layer.thickness_mm),
            layer.counts_in_depth,
            layer.in_existing_cavity,
            layer.connection,
            layer.spacing_mm,
        )
        for layer in build_up.layers.all()
    )


@dataclass
class Bay:
    """A gap and the leaf before the room, as the layers are read one by one."""

    depth_mm: float = 0.0
    fill: tuple[Stuff, float] | None = None
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
    old_cavity_fill: tuple[Stuff, float] | None

    def lining(self) -> Lining | None:
        """The bays as a lining; None without a gap: what is stuck straight to the old face is not counted as a lining."""
        if not self.bays or any(bay.depth_mm <= 0 for bay in self.bays):
            return None
        return Lining(gaps=tuple(bay.gap() for bay in self.bays), leaves=tuple(bay.leaf() for bay in self.bays))


@lru_cache(maxsize=1024)
def plan_of(rows: tuple[Row, ...]) -> Plan:
    """Read a build-up into bays. Raises InputError where a material lacks what the prediction needs."""
    bays = [Bay()]
    old_cavity_fill = None
    for row in rows:
        if row.in_existing_cavity:
            if row.role == Role.FILL and row.stuff:
                old_cavity_fill = (row.stuff, row.thickness_mm)
            continue
        if row.role in LEAF_ROLES:
            _add_to_leaf(bays[-1], row)
            continue
        opens_a_gap = row.counts_in_depth and row.thickness_mm and row.role not in (Role.FINISH, Role.TRIM)
        if bays[-1].layers and opens_a_gap:
            bays.append(Bay())
        if not bays[-1].layers:
            _add_to_gap(bays[-1], row)
    if not bays[-1].layers and bays[-1].mat:
        bays[-1].layers.append(bays[-1].mat)  # a heavy mat with nothing rigid over it is the mass on its own backing
    return Plan([bay for bay in bays if bay.layers], old_cavity_fill)


def _add_to_leaf(bay: Bay, row: Row) -> None:
    if row.stuff is None or row.thickness_mm <= 0:
        return
    if row.role != Role.DAMPING:
        bay.layers.append(solid_of(row.stuff, row.thickness_mm))
    elif bay.layers:  # damping works between two boards; on an old face its effect is not counted
        bay.damping = damping(row.stuff, row.thickness_mm)


def _add_to_gap(bay: Bay, row: Row) -> None:
    if row.role == Role.RESILIENT and row.stuff:
        bay.mat = solid_of(row.stuff, row.thickness_mm)
        bay.depth_mm += spring_depth_mm(row.stuff)
    elif row.counts_in_depth:
        bay.depth_mm += row.thickness_mm
    if row.role == Role.FILL and row.stuff and row.thickness_mm > 0:
        bay.fill = (row.stuff, row.thickness_mm)
    if row.connection != Connection().kind:
        bay.connection = tie(row.connection, row.spacing_mm)
