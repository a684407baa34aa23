"""What a construction is made of: frozen, checked on creation, source side first."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

from .bands import SOUND_SPEED_M_S
from .errors import InputError, between, inside, numbers, one_of, positive
from .materials import SUBSTANCES


class Keyed:
    """Hash of the fields, worked out once: inputs are keys of many caches."""

    def __hash__(self) -> int:
        found = self.__dict__.get("_hash")
        if found is None:
            found = hash(tuple(v for k, v in self.__dict__.items() if k[0] != "_"))
            object.__setattr__(self, "_hash", found)
        return found


CONNECTIONS = (
    "none", "timber_stud", "steel_stud", "resilient_bar", "joist", "clip", "hanger", "pad", "staggered", "separate", "tie",
)  # fmt: skip
JOININGS = ("screwed", "bonded", "damped")

NEAR_COINCIDENCE = 1.0
"""Below this part of the lowest critical frequency no coincidence peak lies within reach of any angle."""
HARD_FACE_KG_M3 = 1600.0
"""Board and timber are lighter and porous; glass, metal and tile are heavier and sealed."""
OCTAVE_EDGES_HZ = tuple(1000.0 * 10.0 ** (0.3 * k - 0.15) for k in range(-4, 4))
"""Edges of the octaves 63 to 4000 Hz in Hz."""


@dataclass(frozen=True, kw_only=True)
class Hollow(Keyed):
    """Voids of a hollow block between two shells of `shell_mm`; webs take up `web_part` of its length."""

    __hash__ = Keyed.__hash__

    shell_mm: float
    web_part: float

    def __post_init__(self) -> None:
        positive("shell_mm", self.shell_mm, 1000.0)
        between("web_part", self.web_part, 0.0, 1.0)

    def parts(self, thickness_mm: float) -> tuple[float, float]:
        """Mass and bending stiffness as parts of those of the solid thickness.

        The voids are taken out of the area and of its second moment about the middle; the shells move as one plate.
        """
        void = 1.0 - 2.0 * self.shell_mm / thickness_mm
        return 1.0 - (1.0 - self.web_part) * void, 1.0 - (1.0 - self.web_part) * void**3


@dataclass(frozen=True, kw_only=True)
class Layer(Keyed):
    """One board, plate or coat. Values left out come from the named material (see SUBSTANCES).

    Mass: `surface_mass_kg_m2`, or thickness times `density_kg_m3`. Stiffness: `critical_frequency_hz`, or
    `youngs_modulus_pa` with `poisson`; a layer with neither, and no material that has one, is taken as limp.
    `stiffness_ratio` is the bending stiffness along boards or ribs over that across them; the stiffness is then the
    geometric mean of both. `hollow` takes voids out of a block whose density and stiffness are those of its solid.
    """

    __hash__ = Keyed.__hash__

    material: str | None = None
    thickness_mm: float
    density_kg_m3: float | None = None
    surface_mass_kg_m2: float | None = None
    critical_frequency_hz: float | None = None
    youngs_modulus_pa: float | None = None
    poisson: float | None = None
    loss_factor: float | None = None
    stiffness_ratio: float | None = None
    hollow: Hollow | None = None

    def __post_init__(self) -> None:
        positive("thickness_mm", self.thickness_mm, 3000.0)
        if self.hollow is not None:
            if 2.0 * self.hollow.shell_mm > self.thickness_mm:
                raise InputError("hollow.shell_mm", "two shells are thicker than the block")
            for name in ("surface_mass_kg_m2", "critical_frequency_hz"):
                if getattr(self, name) is not None:
                    raise InputError(name, "belongs to the whole block: leave out either it or the voids")
        if self.material is not None:
            one_of("material", self.material, SUBSTANCES)
        for name, low, high in (
            ("density_kg_m3", 1.0, 25000.0),
            ("surface_mass_kg_m2", 0.01, 10000.0),
            ("critical_frequency_hz", 1.0, 1e7),
            ("youngs_modulus_pa", 1e3, 1e13),
            ("poisson", 0.0, 0.5),
            ("loss_factor", 0.0, 5.0),
            ("stiffness_ratio", 1.0, 1000.0),
        ):
            if getattr(self, name) is not None:
                between(name, getattr(self, name), low, high)
        if self.material is None and self.density_kg_m3 is None and self.surface_mass_kg_m2 is None:
            raise InputError("surface_mass_kg_m2", "give a material, a density or a surface mass")
        between("surface_mass_kg_m2", self.mass_kg_m2, 0.01, 10000.0)

    @property
    def mass_kg_m2(self) -> float:
        if self.surface_mass_kg_m2 is not None:
            return float(self.surface_mass_kg_m2)
        density = (
            self.density_kg_m3 if self.density_kg_m3 is not None else SUBSTANCES[self.material or ""].density_kg_m3
        )
        solid = self.hollow.parts(self.thickness_mm)[0] if self.hollow else 1.0
        return solid * density * self.thickness_mm / 1000.0

    @property
    def rigidity_nm(self) -> float:
        """Bending stiffness per width in N m (zero for a limp layer)."""
        return self._solid_rigidity_nm * (self.hollow.parts(self.thickness_mm)[1] if self.hollow else 1.0)

    @property
    def _solid_rigidity_nm(self) -> float:
        thickness_m = self.thickness_mm / 1000.0
        if self.critical_frequency_hz is not None:
            fc = self.critical_frequency_hz
        elif self.youngs_modulus_pa is not None:
            poisson = 0.25 if self.poisson is None else self.poisson
            return self.youngs_modulus_pa * thickness_m**3 / (12.0 * (1.0 - poisson**2))
        elif self.material is not None and SUBSTANCES[self.material].h_fc is not None:
            # Stiffness belongs to the substance, so a density given beside it must not change E.
            substance = SUBSTANCES[self.material]
            natural = substance.density_kg_m3 * thickness_m
            return natural * (SOUND_SPEED_M_S**2 * thickness_m / (2.0 * math.pi * substance.h_fc)) ** 2  # type: ignore[operator]
        else:
            return 0.0
        return self.mass_kg_m2 * (SOUND_SPEED_M_S**2 / (2.0 * math.pi * fc)) ** 2

    @property
    def own_loss(self) -> float | None:
        """Internal loss factor where one is known."""
        if self.loss_factor is not None:
            return float(self.loss_factor)
        return SUBSTANCES[self.material].loss_factor if self.material is not None else None


@dataclass(frozen=True, kw_only=True)
class Damping(Keyed):
    """A viscoelastic layer between boards (constrained-layer damping)."""

    __hash__ = Keyed.__hash__

    thickness_mm: float
    shear_modulus_pa: float
    loss_factor: float

    def __post_init__(self) -> None:
        positive("thickness_mm", self.thickness_mm, 50.0)
        between("shear_modulus_pa", self.shear_modulus_pa, 1e3, 1e11)
        between("loss_factor", self.loss_factor, 0.0, 5.0)


@dataclass(frozen=True, kw_only=True)
class Leaf(Keyed):
    """Layers that move together. `joined` says how: loosely screwed, bonded flat, or damped by `damping`."""

    __hash__ = Keyed.__hash__

    layers: tuple[Layer, ...]
    joined: str = "screwed"
    damping: Damping | None = None
    masonry: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "layers", tuple(self.layers))
        if not self.layers:
            raise InputError("layers", "a leaf needs at least one layer")
        if len(self.layers) > 12:
            raise InputError("layers", "at most 12 layers in a leaf")
        one_of("joined", self.joined, JOININGS)
        if self.joined == "damped" and self.damping is None:
            raise InputError("damping", "a damped leaf needs its damping layer")
        if self.joined == "damped" and len(self.layers) < 2:
            raise InputError("layers", "a damped leaf needs two layers, one on each side of the damping")
        laid = any(x.material is not None and SUBSTANCES[x.material].masonry for x in self.layers)
        object.__setattr__(self, "_masonry", bool(self.masonry) or laid)

    @property
    def is_masonry(self) -> bool:
        """Marked as masonry, or made of a material that is laid or cast."""
        return self.__dict__["_masonry"]

    @property
    def mass_kg_m2(self) -> float:
        return sum(layer.mass_kg_m2 for layer in self.layers)

    def has_hard_face(self, index: int) -> bool:
        """Whether the face of its first or last layer is dense and sealed, like glass or steel, and absorbs nothing."""
        layer = self.layers[index]
        return not self.is_masonry and layer.mass_kg_m2 > HARD_FACE_KG_M3 * layer.thickness_mm / 1000.0

    @property
    def lowest_coincidence_hz(self) -> float:
        """A bound below the critical frequency: that of loose boards, else as if the whole thickness were of the stiffest
        layer."""
        if self.joined == "screwed" and not self.is_masonry:
            rigidity = sum(layer.rigidity_nm for layer in self.layers)
        else:
            modulus = max(12.0 * layer.rigidity_nm / (layer.thickness_mm / 1000.0) ** 3 for layer in self.layers)
            rigidity = modulus * (self.thickness_mm / 1000.0) ** 3 / 12.0
        return SOUND_SPEED_M_S**2 / (2.0 * math.pi) * math.sqrt(self.mass_kg_m2 / max(rigidity, 1e-9))

    @property
    def thickness_mm(self) -> float:
        own = sum(layer.thickness_mm for layer in self.layers)
        return own + (self.damping.thickness_mm * (len(self.layers) - 1) if self.damping else 0.0)


@dataclass(frozen=True, kw_only=True)
class Fill(Keyed):
    """Porous absorber in a cavity."""

    __hash__ = Keyed.__hash__

    thickness_mm: float
    flow_resistivity_pa_s_m2: float = 9000.0
    density_kg_m3: float = 30.0

    def __post_init__(self) -> None:
        positive("thickness_mm", self.thickness_mm, 3000.0)
        between("flow_resistivity_pa_s_m2", self.flow_resistivity_pa_s_m2, 100.0, 1e7)
        between("density_kg_m3", self.density_kg_m3, 1.0, 1000.0)


@dataclass(frozen=True, kw_only=True)
class Connection(Keyed):
    """What ties two leaves across a cavity. `stud_spacing_mm` is the spacing of the studs that carry bars."""

    __hash__ = Keyed.__hash__

    kind: str = "none"
    spacing_mm: float = 600.0
    stud_spacing_mm: float | None = None

    def __post_init__(self) -> None:
        one_of("kind", self.kind, CONNECTIONS)
        between("spacing_mm", self.spacing_mm, 50.0, 5000.0)
        if self.stud_spacing_mm is not None:
            between("stud_spacing_mm", self.stud_spacing_mm, 50.0, 5000.0)


@dataclass(frozen=True, kw_only=True)
class Gap(Keyed):
    """A cavity between two leaves; `fill` may take up part or all of its depth."""

    __hash__ = Keyed.__hash__

    depth_mm: float
    fill: Fill | None = None
    connection: Connection = field(default_factory=Connection)

    def __post_init__(self) -> None:
        positive("depth_mm", self.depth_mm, 3000.0)
        if self.fill is not None and self.fill.thickness_mm > self.depth_mm * 1.5:
            raise InputError("fill.thickness_mm", "the fill is much thicker than its cavity")
        partly = self.fill is not None and self.depth_mm - min(self.fill.thickness_mm, self.depth_mm) > 0.1
        tie = self.connection
        object.__setattr__(
            self, "_signature", (tie.kind, tie.spacing_mm, tie.stud_spacing_mm, self.fill is not None, partly)
        )

    @property
    def signature(self) -> tuple:
        """What must agree for two gaps to be worked out in one batch."""
        return self.__dict__["_signature"]


def _size(size_m: tuple[float, float]) -> tuple[float, float]:
    sides = numbers("size_m", size_m, 0.05, 100.0)
    if len(sides) != 2:
        raise InputError("size_m", "must be length and height in metres")
    return sides  # type: ignore[return-value]


@dataclass(frozen=True, kw_only=True)
class Element(Keyed):
    """A build-up from the source side to the receiving side: leaves with one gap between each two.

    `size_m` is length and height in metres. `base_weighted_db` anchors a masonry leaf to a known weighted
    reduction of that leaf alone.
    """

    __hash__ = Keyed.__hash__

    leaves: tuple[Leaf, ...]
    gaps: tuple[Gap, ...] = ()
    size_m: tuple[float, float] = (4.0, 2.75)
    base_weighted_db: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "leaves", tuple(self.leaves))
        object.__setattr__(self, "gaps", tuple(self.gaps))
        if not self.leaves:
            raise InputError("leaves", "an element needs at least one leaf")
        if len(self.leaves) > 6:
            raise InputError("leaves", "at most 6 leaves")
        if len(self.gaps) != len(self.leaves) - 1:
            raise InputError(
                "gaps", f"{len(self.leaves)} leaves need {len(self.leaves) - 1} gaps, there are {len(self.gaps)}"
            )
        object.__setattr__(self, "size_m", _size(self.size_m))
        if self.base_weighted_db is not None:
            between("base.weighted_db", self.base_weighted_db, 10.0, 80.0)
            if not any(leaf.is_masonry for leaf in self.leaves):
                raise InputError("base", "only a masonry leaf can be anchored to a known value")
        # Angles are sampled by octave according to where coincidence begins: part of what a batch must share, so that
        # an element gives the same result in any company.
        lowest = min(leaf.lowest_coincidence_hz for leaf in self.leaves[:2])
        plain = sum(lowest * NEAR_COINCIDENCE > edge for edge in OCTAVE_EDGES_HZ[1:])
        porous = tuple(
            1.0 if gap.fill else 1.0 - 0.5 * (before.has_hard_face(-1) + after.has_hard_face(0))
            for gap, before, after in zip(self.gaps, self.leaves, self.leaves[1:], strict=False)
        )
        object.__setattr__(self, "_porous", porous)
        shape = (
            [plain, *(part < 1.0 for part in porous)]
            + [leaf.is_masonry for leaf in self.leaves]
            + [gap.signature for gap in self.gaps]
        )
        object.__setattr__(self, "_topology", tuple(shape))
        directed = any(x.stiffness_ratio not in (None, 1.0) for leaf in self.leaves for x in leaf.layers)
        object.__setattr__(self, "_directed", directed)
        object.__setattr__(self, "_heavy", tuple((leaf, self.size_m) for leaf in self.leaves if leaf.is_masonry))

    @property
    def topology(self) -> tuple:
        """Elements of equal topology can be worked out in one batch."""
        return self.__dict__["_topology"]

    @property
    def plain_octaves(self) -> int:
        """How many octaves from 63 Hz up lie well below every coincidence."""
        return self.__dict__["_topology"][0]

    @property
    def is_directed(self) -> bool:
        """Whether a layer is stiffer along than across."""
        return self.__dict__["_directed"]

    @property
    def porous_parts(self) -> tuple[float, ...]:
        """Part of the faces of each gap that absorbs: 0 between panes, else a half or 1; 1 where there is fill."""
        return self.__dict__["_porous"]

    @property
    def heavy_leaves(self) -> tuple[tuple[Leaf, tuple[float, float]], ...]:
        """The masonry leaves, each with the size of the element."""
        return self.__dict__["_heavy"]

    @property
    def surface_mass_kg_m2(self) -> float:
        fills = sum(
            min(g.fill.thickness_mm, g.depth_mm) / 1000.0 * g.fill.density_kg_m3
            for g in self.gaps
            if g.fill is not None
        )
        return sum(leaf.mass_kg_m2 for leaf in self.leaves) + fills

    @property
    def depth_mm(self) -> float:
        return sum(leaf.thickness_mm for leaf in self.leaves) + sum(gap.depth_mm for gap in self.gaps)


def _by_band(name: str, values: object, low: float, high: float) -> tuple[float, ...]:
    levels = numbers(name, values, low, high)
    if len(levels) != 21:
        raise InputError(name, f"must have 21 values from 50 to 5000 Hz, has {len(levels)}")
    return levels


@dataclass(frozen=True, kw_only=True)
class KnownElement(Keyed):
    """An element whose reduction by band (21 values in dB) is known; `surface_mass_kg_m2` serves its junctions."""

    __hash__ = Keyed.__hash__

    reduction_db: tuple[float, ...]
    surface_mass_kg_m2: float = 200.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "reduction_db", _by_band("reduction_db", self.reduction_db, -20.0, 150.0))
        positive("surface_mass_kg_m2", self.surface_mass_kg_m2, 5000.0)


@dataclass(frozen=True, kw_only=True)
class Lining(Keyed):
    """What is added on the receiving side: each gap is followed by its leaf."""

    __hash__ = Keyed.__hash__

    gaps: tuple[Gap, ...]
    leaves: tuple[Leaf, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "leaves", tuple(self.leaves))
        object.__setattr__(self, "gaps", tuple(self.gaps))
        if not self.leaves:
            raise InputError("leaves", "a cavity has no leaf beyond it")
        if len(self.gaps) != len(self.leaves):
            raise InputError(
                "gaps", f"a lining of {len(self.leaves)} leaves needs as many gaps, there are {len(self.gaps)}"
            )

    @property
    def depth_mm(self) -> float:
        return sum(leaf.thickness_mm for leaf in self.leaves) + sum(gap.depth_mm for gap in self.gaps)

    @property
    def surface_mass_kg_m2(self) -> float:
        return sum(leaf.mass_kg_m2 for leaf in self.leaves)


@dataclass(frozen=True, kw_only=True)
class KnownLining(Keyed):
    """A lining whose improvement by band (21 values in dB) is known."""

    __hash__ = Keyed.__hash__

    improvement_db: tuple[float, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "improvement_db", _by_band("improvement_db", self.improvement_db, -60.0, 100.0))


@lru_cache(maxsize=8192)
def lined(element: Element, lining: Lining) -> Element:
    """The element with a lining added on its receiving side."""
    with inside("lining"):
        return Element(
            leaves=element.leaves + lining.leaves,
            gaps=element.gaps + lining.gaps,
            size_m=element.size_m,
            base_weighted_db=element.base_weighted_db,
        )
