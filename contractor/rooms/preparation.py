"""What must be done to a patch before anything is built on it, by rule from the condition found, with reasons.

The rules are common practice in the trade; quantities of waste are from memory. Hours come from the catalogue's labour
allowances, which the office edits.
"""

from dataclasses import dataclass
from decimal import Decimal

from contractor.catalogue.models import Construction
from contractor.rooms.models import Patch, Surface

WHOLE = Decimal(1)
A_FIFTH = Decimal("0.2")  # the most that plaster may be hollow before all of it comes off
# Tonnes from a square metre: plaster 20 mm thick, board with its dabs, board with a light frame, plaster with laths.
PLASTER_T, DABBED_T, LINING_T, LATH_T = Decimal("0.0275"), Decimal("0.0105"), Decimal("0.0120"), Decimal("0.0320")


@dataclass(frozen=True, kw_only=True)
class Preparation:
    """Work on a patch: a labour allowance of the catalogue by its key, how much of it for each m², and why."""

    allowance_key: str
    quantity_per_m2: Decimal
    reason: str


def _strip(allowance_key: str, waste_t: Decimal, reason: str) -> tuple[Preparation, ...]:
    return (
        Preparation(allowance_key=allowance_key, quantity_per_m2=WHOLE, reason=reason),
        Preparation(
            allowance_key="bag-and-carry",
            quantity_per_m2=waste_t,
            reason="What comes off is bagged and carried out, gypsum apart from other waste.",
        ),
    )


_BLOWN = "Blown, damp or crumbling plaster carries nothing and hides gaps: it all comes off. Find the damp's cause."
_PARGE = Preparation(
    allowance_key="parge-masonry",
    quantity_per_m2=WHOLE,
    reason="Bare masonry leaks sound through its joints: rake, fill and parge 3 to 8 mm. A day to cure at 3 to 4 mm,"
    " up to a week at 8 mm.",
)

BLOWN_ON = {
    "masonry": _strip("strip-plaster", PLASTER_T, _BLOWN),
    "light_wall": _strip("strip-lath-wall", LATH_T, _BLOWN),
    "ceiling": _strip("strip-lath-ceiling", LATH_T, _BLOWN),
}
BY_CONDITION: dict[str, tuple[Preparation, ...]] = {
    Patch.Condition.PART_HOLLOW: (
        Preparation(
            allowance_key="patch-hollow-plaster",
            quantity_per_m2=A_FIFTH,
            reason="Under a fifth is hollow: the plaster stays, hollow patches are cut out and filled flush.",
        ),
    ),
    Patch.Condition.BOARD_ON_DABS: _strip(
        "strip-board-on-dabs", DABBED_T, "Board on adhesive dabs resonates on its thin void: strip to the masonry."
    ),
    Patch.Condition.EXISTING_LINING: _strip(
        "strip-existing-lining",
        LINING_T,
        "An old lining left behind a new one makes a triple leaf, worse in the bass: strip it first.",
    ),
}
LEAVES_MASONRY_BARE = {
    Patch.Condition.BLOWN,
    Patch.Condition.BARE,
    Patch.Condition.BOARD_ON_DABS,
    Patch.Condition.EXISTING_LINING,
}
KEPT = {
    Patch.Condition.SOUND: "Sound, well-bonded plaster stays: it is mass, and it seals.",
    Patch.Condition.BOARD: "Board on its frame or joists stays, unless the build-up says otherwise.",
    Patch.Condition.LATH: "Lath and plaster that holds stays: it is mass. Handle it gently.",
    Patch.Condition.BOARDS: "Boards stay, unless the build-up says otherwise. Screw down what is loose, fill the gaps.",
}


def preparation_for(patch: Patch) -> list[Preparation]:
    """The work that the condition of `patch` asks for, in order; empty where what stands may stay.

    Reads the patch's surface, and its construction with layers and materials.
    """
    base = _base(patch)
    steps = BLOWN_ON[base] if patch.condition == Patch.Condition.BLOWN else BY_CONDITION.get(patch.condition, ())
    if base == "masonry" and patch.condition in LEAVES_MASONRY_BARE:
        steps = (*steps, _PARGE)
    return list(steps)


def strips_fabric(patch: Patch) -> bool:
    """Whether something that stands is broken out: a matter of asbestos and dust."""
    return any(step.allowance_key.startswith(("strip-", "patch-")) for step in preparation_for(patch))


def _base(patch: Patch) -> str:
    if patch.surface.face == Surface.Face.CEILING:
        return "ceiling"
    layers = patch.construction.layers.all()
    is_wall = patch.construction.kind == Construction.Kind.WALL
    is_masonry = any(layer.material is not None and layer.material.is_masonry for layer in layers)
    return "masonry" if is_wall and is_masonry else "light_wall"
