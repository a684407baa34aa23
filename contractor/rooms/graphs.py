"""Drawings of results, worked out from the JSON of a calculation: curve, shares of the paths, and cut lengths.

Each function gives the context `d` of the template of its name in templates/drawings, which only places whole view
units by attributes, so that screen and paper show the same lines.
"""

from contractor.common.curves import OCTAVES_HZ, hertz

# ISO 717-1:2020, Table 3: reference values for airborne sound, third octaves 100-3150 Hz; 52 dB at 500 Hz.
REFERENCE_DB = [33, 36, 39, 42, 45, 48, 51, 52, 53, 54, 55, 56, 56, 56, 56, 56]
REFERENCE_AT_500_DB = 52
REFERENCE_FROM_HZ = 100

WIDTH, HEIGHT = 440, 330
LEFT, RIGHT, TOP, BOTTOM = 44, 84, 14, 46
LABEL_APART = 30
LETTER_WIDTH = 7  # of a label at its size, near enough to see whether it fits


def curve(prediction: dict) -> dict:
    """Before and after over the bands with the range of each band and the reference curve moved to it."""
    bands = prediction["bands_hz"]
    before, after = prediction["before"], prediction["after"]
    low_db, high_db = _span(before, after)
    plot_height = HEIGHT - TOP - BOTTOM

    def x(place: int) -> int:
        return LEFT + round(place * (WIDTH - LEFT - RIGHT) / (len(bands) - 1))

    def y(level_db: float) -> int:
        return TOP + round((high_db - level_db) * plot_height / (high_db - low_db))

    def line(levels_db: list[float]) -> str:
        return " ".join(f"{x(place)},{y(level)}" for place, level in enumerate(levels_db))

    ranged = list(zip(after["standardized_db"], _spreads(after), strict=True))
    upper = [min(level + spread, high_db) for level, spread in ranged]
    lower = [max(level - spread, low_db) for level, spread in ranged]
    backwards = " ".join(f"{x(p)},{y(lower[p])}" for p in reversed(range(len(bands))))
    end_before, end_after = _apart(y(before["standardized_db"][-1]), y(after["standardized_db"][-1]))
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "plot": {"left": LEFT, "right": WIDTH - RIGHT, "top": TOP, "bottom": HEIGHT - BOTTOM},
        "middle": {"x": (LEFT + WIDTH - RIGHT) // 2, "y": (TOP + HEIGHT - BOTTOM) // 2},
        "band": f"{line(upper)} {backwards}",
        "before": line(before["standardized_db"]),
        "after": line(after["standardized_db"]),
        "reference": _reference(bands, after["weighted_db"], x, y, low_db),
        "levels": [{"y": y(db), "text": str(db)} for db in range(low_db, high_db + 1, 10)],
        "ticks": [{"x": x(place), "text": hertz(hz)} for place, hz in enumerate(bands) if hz in OCTAVES_HZ],
        "label_x": WIDTH - RIGHT + 8,
        "label_before": {"y": end_before, "text": f"{before['weighted_db']} dB"},
        "label_after": {"y": end_after, "text": f"{after['weighted_db']} dB"},
        "title": f"{prediction['room']}: level difference by frequency before and after",
        "desc": _described(prediction),
    }


def shares(prediction: dict, most: int = 8) -> dict:
    """A pair of bars for each path, before and after; the least of more than `most` paths are added up."""
    paths = _largest(prediction["paths"], most)
    row_height, first, bar_left, bar_width = 54, 8, 4, 376
    rows = []
    for place, path in enumerate(paths):
        top = first + place * row_height
        rows.append(
            {
                "name": path["name"],
                "name_y": top + 14,
                "before": _bar(path["share_before"], top + 20, bar_left, bar_width),
                "after": _bar(path["share_after"], top + 35, bar_left, bar_width),
            }
        )
    told = "; ".join(
        f"{p['name']}: {_percent(p['share_before'])} before, {_percent(p['share_after'])} after" for p in paths
    )
    return {
        "width": WIDTH,
        "height": first + len(rows) * row_height + 26,
        "rows": rows,
        "bar_left": bar_left,
        "key_y": first + len(rows) * row_height + 16,
        "title": f"{prediction['room']}: where the sound comes in",
        "desc": told,
    }


def lengths(used: list[dict]) -> list[dict]:
    """One stock length after another as a bar with its cuts, drawn to one scale (cut_length.svg)."""
    longest = max((length["length_mm"] for length in used), default=1)
    return [_length_bar(length, (WIDTH - 4) / longest) for length in used]


def _length_bar(length: dict, scale: float) -> dict:
    at, cuts = 2.0, []
    for cut in length["cuts"]:
        wide = cut["length_mm"] * scale
        text = f"{cut['length_mm']:,}"
        text = text if len(text) * LETTER_WIDTH < wide else ""
        cuts.append({"x": round(at), "width": round(wide), "middle": round(at + wide / 2), "text": text})
        at += wide
    told = ", ".join(f"{cut['label']} {cut['length_mm']} mm" for cut in length["cuts"])
    return {
        "width": WIDTH,
        "height": 30,
        "full": round(length["length_mm"] * scale),
        "cuts": cuts,
        "title": f"Length {length['number']}, {length['length_mm']:,} mm: {told}; {length['left_mm']:,} mm left",
    }


def _spreads(side: dict) -> list[float]:
    """Standard uncertainty by band; what was sent before bands had their own keeps that of the rating."""
    return side.get("band_uncertainty_db") or [side["uncertainty_db"]] * len(side["standardized_db"])


def _span(before: dict, after: dict) -> tuple[int, int]:
    levels = before["standardized_db"] + after["standardized_db"]
    low = int(min(levels) // 10) * 10
    high = int(max(levels) + after["uncertainty_db"]) // 10 * 10 + 10
    return low, high


def _apart(before_y: int, after_y: int) -> tuple[int, int]:
    """Heights of the two labels, moved from each other where the curves end close together."""
    if abs(before_y - after_y) >= LABEL_APART:
        return before_y, after_y
    middle = (before_y + after_y) // 2
    half = LABEL_APART // 2
    return (middle + half, middle - half) if before_y >= after_y else (middle - half, middle + half)


def _reference(bands: list[int], weighted_db: int, x, y, low_db: int) -> str:
    """The points of the reference curve after its move, as far as they lie in the drawing."""
    if REFERENCE_FROM_HZ not in bands:
        return ""
    start = bands.index(REFERENCE_FROM_HZ)
    moved = [value + weighted_db - REFERENCE_AT_500_DB for value in REFERENCE_DB]
    points = [(start + place, level) for place, level in enumerate(moved) if start + place < len(bands)]
    return " ".join(f"{x(place)},{y(max(level, low_db))}" for place, level in points)


def _percent(share: float) -> str:
    return "under 1 %" if 0 < share < 0.005 else f"{share * 100:.0f} %"


def _bar(share: float, y: int, left: int, full: int) -> dict:
    width = max(round(share * full), 1)
    return {"y": y, "width": width, "text_x": left + width + 6, "text_y": y + 10, "text": _percent(share)}


def _largest(paths: list[dict], most: int) -> list[dict]:
    ordered = sorted(paths, key=lambda p: -max(p["share_before"], p["share_after"]))
    if len(ordered) <= most:
        return ordered
    rest = ordered[most - 1 :]
    total = {key: sum(path[key] for path in rest) for key in ("share_before", "share_after")}
    return [*ordered[: most - 1], {"name": f"{len(rest)} others together", **total}]


def _described(prediction: dict) -> str:
    before, after = prediction["before"], prediction["after"]
    told = [
        f"{hz} Hz: {b:.0f} then {a:.0f}"
        for hz, b, a in zip(prediction["bands_hz"], before["standardized_db"], after["standardized_db"], strict=True)
        if hz in OCTAVES_HZ
    ]
    return (
        f"Standardised level difference in dB. Before {before['weighted_db']}, after {after['weighted_db']} "
        f"give or take {after['uncertainty_db']:.0f}. By frequency, before then after: {'; '.join(told)}."
    )
