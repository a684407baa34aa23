"""Hold points: what is covered next stays closed until what it covers was looked at and photographed, or somebody let it
pass and said why. Pure.

The list of what goes wrong is common practice: what makes a lining fail and cannot be seen once it is covered.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

PHOTOS_ASKED = 2
GOES_WRONG = (
    "Nothing ties the new work to the old: no long screw, plaster, pipe or cable clip.",
    "Every edge and gap is sealed for the full depth, none with foam or decorators' caulk.",
    "Wool lies loose and whole: not packed hard, no gap.",
    "Bars stand the right way up, and joints do not lie over joints.",
    "Boxes are backed and sealed, and none stands back to back with next door's.",
)


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """Of a job: photographs by row key, on their way or here, and the keys of hold points that were let pass."""

    photos: Mapping[str, int] = field(default_factory=dict)
    passed: frozenset[str] = frozenset()


def asked_of(face: Mapping) -> dict[str, int]:
    """How many photographs each hold point of a surface asks for: none before anything is built, where it is papers
    that are looked at."""
    asked, is_begun = {}, False
    for step in face["steps"]:
        if step["kind"] == "hold":
            asked[step["key"]] = PHOTOS_ASKED if is_begun else 0
        else:
            is_begun = True
    return asked


def is_open(key: str, asked: int, done: Iterable[str], evidence: Evidence) -> bool:
    """Whether work may go on past a hold point."""
    return key in evidence.passed or (key in done and evidence.photos.get(key, 0) >= asked)


def locks_of(document: Mapping, done: set[str], evidence: Evidence) -> dict[str, dict]:
    """By the key of each row that is closed, the step of the hold point that closes it: later steps of the surface, and
    what is cut for their layers."""
    locked: dict[str, dict] = {}
    for face in document["faces"]:
        closed_by: dict | None = None
        asked = asked_of(face)
        orders: dict[int, dict] = {}
        for step in face["steps"]:
            if closed_by is not None:
                locked[step["key"]] = closed_by
                if "order" in step:
                    orders[step["order"]] = closed_by
            elif step["kind"] == "hold" and not is_open(step["key"], asked[step["key"]], done, evidence):
                closed_by = step
        for layer in face["layers"]:
            if layer["order"] in orders:
                for row in (*layer["pieces"], *layer["cuts"]):
                    locked[row["key"]] = orders[layer["order"]]
    return locked
