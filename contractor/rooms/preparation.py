"""What must be done to a patch before anything is built on it, by the rules in force, with reasons.

The rules are data that the office edits (rooms/rules); hours come from the catalogue's labour allowances.
"""

from dataclasses import dataclass
from decimal import Decimal

from contractor.catalogue.models import BuildUp
from contractor.rooms.models import Patch
from contractor.rooms.rules import RuleSheet, verdicts, works

KEPT = {
    Patch.Condition.SOUND: "Sound, well-bonded plaster stays: it is mass, and it seals.",
    Patch.Condition.BOARD: "Board on its frame or joists stays, unless the build-up says otherwise.",
    Patch.Condition.LATH: "Lath and plaster that holds stays: it is mass. Handle it gently.",
    Patch.Condition.BOARDS: "Boards stay, unless the build-up says otherwise. Screw down what is loose, fill the gaps.",
}


@dataclass(frozen=True, kw_only=True)
class Preparation:
    """Work on a patch: a labour allowance of the catalogue by its key, how much of it for each m², and why."""

    allowance_key: str
    quantity_per_m2: Decimal
    reason: str


def preparation_for(patch: Patch, sheet: RuleSheet, build_up: BuildUp | None = None) -> list[Preparation]:
    """The work that the condition of `patch` asks for, in order; empty where what stands may stay.

    A build-up that takes the old face down itself needs nothing done to its plaster first.
    """
    return [
        Preparation(allowance_key=work.allowance_key, quantity_per_m2=work.quantity_per_m2, reason=work.reason)
        for work in works(verdicts(patch, build_up, sheet=sheet))
    ]


def face_comes_off(patch: Patch, sheet: RuleSheet) -> bool:
    """Whether the skin and the void behind it go before anything is built: a hollow board or an old lining."""
    has_void = patch.condition in (Patch.Condition.BOARD_ON_DABS, Patch.Condition.EXISTING_LINING)
    return has_void and any(verdict.takes_off and verdict.counts for verdict in verdicts(patch, sheet=sheet))
