"""What the frozen document says of rooms: where the noise comes in today, and what will be heard after the work."""

from collections.abc import Iterable, Mapping, Sequence

# By the code of a notice: words for the homeowner, or nothing where only the office can use it.
PLAIN_WORDS = {
    "not_validated": "",
    "triple_leaf": "",
    "bonded_boards": "",
    "no_stiffness": "",
    "resonance_heard": "Some low notes get through what we build more easily than others, and they are in what you hear.",
    "audible_resonance": "Some low notes get through these boards more easily than others.",
    "worse_low": "Some low notes may come through a little more than today.",
    "not_airborne": "Bangs and what shakes the building: the figures in decibels do not cover them, only sound that comes "
    "through the air. What is said of footsteps is a rough estimate.",
}


def rooms_before(predictions: Mapping, plans: Mapping[str, Mapping], boxes: Mapping[str, Mapping]) -> list[dict]:
    """Where the noise comes in today: the ways into each room, the greatest first."""
    rooms = []
    for key, room in predictions.items():
        percents = whole_percents([path["share_before"] for path in room["paths"]])
        ways = [{"name": path["name"], "percent": p} for path, p in zip(room["paths"], percents, strict=True)]
        ways.sort(key=lambda way: -way["percent"])
        rooms.append({"name": room["room"], "ways_in": ways, "plan": plans.get(key), "box": boxes.get(key)})
    return rooms


def room_after(room: Mapping) -> dict:
    return {
        "name": room["room"],
        "words": [_said(word) for word in room["words"]],
        "limit_text": _what_is_left(room),
        "notices": _for_the_homeowner(room["notices"]),
        "listen": room.get("listen", []),
        "prediction": {
            "room": room["room"],
            "bands_hz": room["bands_hz"],
            "before": _single_numbers(room["before"]),
            "after": _single_numbers(room["after"]),
            "paths": [
                {
                    "name": path["name"],
                    "share_before": _plain(path["share_before"], 3),
                    "share_after": _plain(path["share_after"], 3),
                }
                for path in room["paths"]
            ],
        },
    }


def _what_is_left(room: Mapping) -> str:
    """Which way most of what is still heard comes by; the office reads the engine's own sentence instead."""
    if not room["paths"]:
        return ""
    way = max(room["paths"], key=lambda path: path["share_after"])
    share = "most" if way["share_after"] > 0.5 else "the largest part"
    return f"After the work, {share} of what is still heard comes by this way: {way['name']}."


def _for_the_homeowner(notices: Iterable[Mapping]) -> list[str]:
    """What the engine remarks on, in plain words; remarks on its model are in the range already and stay in the office."""
    return [text for notice in notices if (text := PLAIN_WORDS.get(notice["code"], notice["text"]))]


def _said(word: Mapping) -> dict:
    """What is heard of one noise; the worse end of the range only where it says something else."""
    worse = word.get("after_if_worse", "")
    said = {key: _capital(word[key]) for key in ("noise", "before", "after")}
    kept = {key: word.get(key, "") for key in ("key", "loudness", "before_dba", "after_dba")}
    return said | kept | {"at_worst": _capital(worse) if worse != word["after"] else ""}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _single_numbers(state: Mapping) -> dict:
    return {
        "standardized_db": [_plain(level) for level in state["standardized_db"]],
        "weighted_db": state["weighted_db"],
        "c_db": state["c_db"],
        "ctr_db": state["ctr_db"],
        "uncertainty_db": _plain(state["uncertainty_db"]),
        "band_uncertainty_db": [_plain(level) for level in state.get("band_uncertainty_db", [])],
    }


def _plain(number: float, places: int = 1) -> float:
    """Rounded, and nothing instead of minus nothing, which one database would keep and another not."""
    return round(float(number), places) + 0.0


def whole_percents(shares: Sequence[float]) -> list[int]:
    """Shares of 1 as whole percents that add up to 100 (largest remainders get the points that rounding leaves)."""
    total = sum(shares)
    if not total:
        return [0 for _ in shares]
    exact = [100 * share / total for share in shares]
    whole = [int(value) for value in exact]
    by_remainder = sorted(range(len(shares)), key=lambda n: exact[n] - whole[n], reverse=True)
    for n in by_remainder[: 100 - sum(whole)]:
        whole[n] += 1
    return whole
