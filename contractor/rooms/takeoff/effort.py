"""How long a take-off may be worked on: at once for a page, or well in the background."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Effort:
    """Seconds for all boards together; for the lengths of one material; for the slabs or drops of one face."""

    boards_s: float
    lengths_s: float
    fills_s: float
    is_preview: bool = False


PREVIEW = Effort(boards_s=0.1, lengths_s=0.01, fills_s=0.005, is_preview=True)
BOARDS_S_A_LAYER, BOARDS_LEAST_S = 1.0, 2.0


def full_effort(board_layers: int, most_s: float) -> Effort:
    """As long as so many layers of board are worth, `most_s` at the most."""
    boards_s = min(max(BOARDS_S_A_LAYER * board_layers, BOARDS_LEAST_S), most_s)
    return Effort(boards_s=boards_s, lengths_s=min(2.0, most_s / 4), fills_s=min(0.4, most_s / 8))
