"""What a job needs, from what was accepted: the frozen take-off, what site changed of it, what the office added. Pure."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Change:
    """Packs of one material needed more, or below nothing fewer, than was accepted; and why."""

    packs: int
    why: str


def changed_on_site(takeoff: Mapping, document: Mapping) -> dict[str, list[Change]]:
    """By material key, how a work pack's document differs from the accepted take-off that it was made of.

    Boards and lengths are counted as the pack has them now, those out of the offcut store left out; of everything else
    the pack's own list counts, which differs only where the pack was made again from a later survey.
    """
    keys = {row["material"]: row["material_key"] for row in takeoff["buy"]}
    then, now = _planned(takeoff), _planned(document)
    found = {key: now[key] - then[key] for key in then | now}
    accepted = Counter({row["material_key"]: 0 for row in takeoff["buy"]})
    for row in takeoff["buy"]:
        accepted[row["material_key"]] += row["packs"]
    listed: Counter = Counter()
    for row in document["materials"]:
        listed[row.get("material_key") or keys.get(row["material"], "")] += row["packs"]
    is_made_again = listed != accepted
    for key in accepted.keys() | listed.keys():
        if is_made_again and key and key not in then | now:
            found[key] = listed[key] - accepted[key]
    why = _why(document, is_made_again)
    return {key: [Change(packs=packs, why=why)] for key, packs in found.items() if packs}


def _planned(document: Mapping) -> Counter:
    """Whole sheets, lengths and rolls that the cutting plan opens, by material key."""
    stock = [*document.get("sheets", []), *document.get("lengths", [])]
    return Counter(each["material_key"] for each in stock if not each.get("from_offcut"))


def _why(document: Mapping, is_made_again: bool) -> str:
    measured = [face["label"] for face in document["faces"] if face.get("remeasured")]
    parts = [f"measured again on site: {', '.join(measured)}"] if measured else []
    spoiled = [each["piece"]["label"] for each in document.get("spoiled", [])]
    parts += [f"swapped on site: {', '.join(spoiled)}"] if spoiled else []
    parts += ["the work pack was made again"] if is_made_again else []
    return "; ".join(parts) or "the cut list changed on site"


def together(*found: Mapping[str, Iterable[Change]]) -> dict[str, list[Change]]:
    joined: dict[str, list[Change]] = {}
    for changes in found:
        for key, more in changes.items():
            joined.setdefault(key, []).extend(more)
    return joined
