"""A layout of boards that was worked out before, used again while nothing it depends on has changed.

A price or a rate that changes makes a take-off anew; its boards, the long part, are then not laid again.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Laid:
    """`mark` is the hash of all that the layout was made from, `seconds` how long it was worked on; the rest as in
    `Boarding`, by material key and by face key and number of the board layer."""

    mark: str
    seconds: float
    sheets: list[dict]
    pieces: dict[tuple[str, int], list[dict]]
    least: dict[str, int]
    notices: list[tuple[str, str]]

    @property
    def counts(self) -> dict[str, int]:
        """Whole new sheets by material."""
        counts = dict.fromkeys(self.least, 0)
        for sheet in self.sheets:
            counts[sheet["material_key"]] += not sheet["from_offcut"]
        return counts

    def facts(self) -> dict:
        """What a take-off keeps beside its sheets and pieces, so that `laid_before` finds the layout again."""
        return {"mark": self.mark, "seconds": self.seconds, "least": self.least, "notices": self.notices}


def laid_before(takeoff: dict | None) -> list[Laid]:
    """The layout in an earlier take-off of the scheme, if there is one."""
    facts = (takeoff or {}).get("layout")
    if not facts:
        return []
    pieces = {}
    for face in takeoff["faces"]:
        boarded = [layer["pieces"] for layer in face["layers"] if layer["pieces"]]
        pieces |= {(face["key"], number): same for number, same in enumerate(boarded, start=1)}
    notices = [(key, text) for key, text in facts["notices"]]
    return [Laid(**facts | {"sheets": takeoff["sheets"], "pieces": pieces, "notices": notices})]


def found_again(mark: str, seconds: float, before: Iterable[Laid]) -> Laid | None:
    """One of the same inputs that was worked on at least as long."""
    return next((laid for laid in before if laid.mark == mark and laid.seconds >= seconds), None)
