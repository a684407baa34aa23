"""Building materials: density, critical frequency times thickness, loss factor, and where each comes from."""

from __future__ import annotations

from dataclasses import dataclass

from .bands import SOUND_SPEED_M_S

_HOPKINS = "Hopkins, Sound Insulation (2007), table A2"
_MEMORY = "from memory (common practice)"


@dataclass(frozen=True, kw_only=True)
class Substance:
    """A material. `h_fc` is critical frequency x thickness in m Hz; None for a limp layer.

    `loss_factor` is the internal loss factor; `masonry` marks what is laid or cast as a wall or slab.
    """

    key: str
    label: str
    density_kg_m3: float
    h_fc: float | None
    loss_factor: float
    origin: str
    masonry: bool = False


def _s(
    key: str, label: str, density: float, h_fc: float | None, loss: float, origin: str, masonry: bool = False
) -> Substance:
    return Substance(
        key=key, label=label, density_kg_m3=density, h_fc=h_fc, loss_factor=loss, origin=origin, masonry=masonry
    )


_ALL = (
    _s("gypsum_board", "Gypsum plasterboard", 680, 35.8, 0.0125, _HOPKINS),
    _s("gypsum_board_natural", "Gypsum plasterboard, natural gypsum", 860, 43.5, 0.0141, _HOPKINS),
    _s("gypsum_board_dense", "Dense gypsum plasterboard", 860, 33.0, 0.0130, "h_fc and density range from memory, near the glass-fibre board of " + _HOPKINS),
    _s("gypsum_fibre_board", "Gypsum fibre board", 1150, 27.0, 0.0130, _MEMORY),
    _s("cement_board", "Cement particle board", 1250, 30.0, 0.0100, _MEMORY),
    _s("brick_solid", "Solid clay brick in mortar", 1750, 24.0, 0.0100, _HOPKINS, True),
    _s("brick_calcium_silicate", "Calcium silicate brick or block", 1800, 25.9, 0.0100, _HOPKINS, True),
    _s("concrete", "Concrete, cast in place", 2200, 17.1, 0.0050, _HOPKINS, True),
    _s("aircrete_block", "Aircrete block", 600, 34.1, 0.0125, _HOPKINS, True),
    _s("dense_block", "Dense aggregate block", 2000, 20.3, 0.0100, _HOPKINS, True),
    _s("lightweight_block", "Lightweight aggregate block", 1400, 29.5, 0.0100, _HOPKINS, True),
    _s("clinker_block", "Clinker concrete block", 1030, 35.1, 0.0100, _HOPKINS, True),
    _s("stone", "Stone laid in mortar", 2100, 22.0, 0.0150, _MEMORY, True),
    _s("screed", "Sand and cement screed", 2000, 20.0, 0.0100, _HOPKINS),
    _s("mortar", "Mortar or cement render", 1600, 26.5, 0.0130, _HOPKINS),
    _s("plaster_gypsum", "Gypsum plaster", 650, 40.3, 0.0120, _HOPKINS),
    _s("plaster_dense", "Dense plaster or sand and cement render", 1400, 30.0, 0.0120, _MEMORY),
    _s("plaster_lime", "Lime plaster", 1400, 38.0, 0.0200, _MEMORY),
    _s("lath_and_plaster", "Lath and plaster", 1450, 40.0, 0.0300, "from memory: 26 to 40 kg/m2 at 20 to 25 mm"),
    _s("chipboard", "Chipboard", 760, 29.5, 0.0100, _HOPKINS),
    _s("plywood", "Plywood", 710, 16.8, 0.0160, _HOPKINS + ", birch"),
    _s("osb", "Oriented strand board", 590, 25.2, 0.0100, _HOPKINS),
    _s("mdf", "Medium density fibreboard", 760, 25.3, 0.0100, _HOPKINS),
    _s("hardboard", "Hardboard", 950, 22.0, 0.0200, _MEMORY),
    _s("softboard", "Softwood fibreboard", 260, 70.0, 0.0300, _MEMORY),
    _s("softwood_boards", "Softwood floorboards", 520, 20.0, 0.0500, "from memory: 9 to 13 kg/m2 at 20 to 22 mm, h_fc 15 to 25, mean of along and across the grain"),
    _s("softwood", "Softwood joist, stud or batten", 440, 13.0, 0.0100, _HOPKINS),
    _s("hardwood_boards", "Hardwood boards", 700, 18.0, 0.0300, _MEMORY),
    _s("glass", "Glass", 2500, 12.5, 0.0200, _HOPKINS + "; loss 0.003 to 0.006 bare, 0.02 as glazed (common practice)"),
    _s("steel_sheet", "Steel sheet", 7800, 12.3, 0.0100, _HOPKINS + "; loss factor of a fixed sheet from memory"),
    _s("ceramic_tile", "Ceramic tile", 2100, 14.0, 0.0100, _MEMORY),
    _s("membrane_heavy", "Heavy flexible membrane", 2000, None, 0.2000, "from memory: 4.9 to 10 kg/m2 at 2 to 5 mm, limp"),
    _s("rubber_mat", "Recycled rubber mat", 850, None, 0.2000, "from memory: 700 to 950 kg/m3, limp"),
    _s("sand_pugging", "Sand or ash pugging", 1400, None, 0.1000, "from memory, loose fill taken as limp mass"),
)  # fmt: skip

SUBSTANCES: dict[str, Substance] = {s.key: s for s in _ALL}
"""Named materials by key."""


def plate_speed_m_s(h_fc: float) -> float:
    """Quasi-longitudinal wave speed of a plate from critical frequency times thickness (Hopkins, eq. 2.201)."""
    return SOUND_SPEED_M_S**2 * 12.0**0.5 / (2.0 * 3.141592653589793 * h_fc)


def rock_wool_resistivity_pa_s_m2(density_kg_m3: float, *, in_plane: bool = False) -> float:
    """Airflow resistivity of rock wool with fibres of 4.75 um in Pa s/m2 (Hopkins 2007, eq. 1.165)."""
    k1, k2 = (353.0, 0.63) if in_plane else (780.0, 0.59)
    return k1 * density_kg_m3 ** (1.0 + k2) / 4.75**2
