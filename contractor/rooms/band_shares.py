"""Which ways in carry the sound in each band, before and after: numbers for templates/drawings/band_shares.svg.

A share of a band is the part of its energy that comes that way. An octave counts its three thirds as equally strong
on the noise's side.
"""

from contractor.common.curves import OCTAVES_HZ, hertz
from contractor.rooms.graphs import WIDTH

LEFT, RIGHT, TOP, PLOT_HEIGHT = 48, 8, 12, 200
ROW_HEIGHT = 22
FILLS = ("ink", "paper", "rising", "dots", "falling", "level")  # told apart without colour; the last is for the rest
SIDES = {"before": "as it is", "after": "after the work"}


def pictures(prediction: dict, uid: str) -> list[dict]:
    """The context `d` of the drawing for each side, with the same ways in and fills in both.

    `uid` tells the patterns of one room's pictures from another's on the same page.
    """
    shares = {side: _by_third(prediction["paths"], side) for side in SIDES}
    order = _by_area(prediction["paths"], shares)
    return [_picture(prediction, side, shares[side], order) | {"id": f"{uid}-{side}"} for side in SIDES]


def octave_table(prediction: dict) -> dict:
    """Shares by octave: `octaves` in Hz, and per way in its name with a (before, after) pair for each octave."""
    paths = prediction["paths"]
    sides = [_by_octave(paths, side) for side in SIDES]
    rows = [
        {"name": path["name"], "pairs": list(zip(*(side[place] for side in sides), strict=True))}
        for place, path in enumerate(paths)
    ]
    return {"octaves": [hertz(hz) for hz in OCTAVES_HZ], "rows": rows}


def _factors(paths: list[dict], side: str) -> list[list[float]]:
    return [[10 ** (-level / 10) for level in path[f"reduction_{side}_db"]] for path in paths]


def _shared(factors: list[list[float]]) -> list[list[float]]:
    totals = [sum(band) for band in zip(*factors, strict=True)]
    return [[value / total for value, total in zip(row, totals, strict=True)] for row in factors]


def _by_third(paths: list[dict], side: str) -> list[list[float]]:
    return _shared(_factors(paths, side))


def _by_octave(paths: list[dict], side: str) -> list[list[float]]:
    return _shared([[sum(row[at : at + 3]) for at in range(0, len(row), 3)] for row in _factors(paths, side)])


def _by_area(paths: list[dict], shares: dict[str, list[list[float]]]) -> list[tuple[str, list[int]]]:
    """(name, places in `paths`): those that fill most of both pictures one by one, the others together."""
    area = [sum(sum(side[place]) for side in shares.values()) for place in range(len(paths))]
    ranked = sorted(range(len(paths)), key=lambda place: -area[place])
    if len(ranked) <= len(FILLS):
        return [(paths[place]["name"], [place]) for place in ranked]
    alone, rest = ranked[: len(FILLS) - 1], ranked[len(FILLS) - 1 :]
    return [*((paths[place]["name"], [place]) for place in alone), (f"{len(rest)} others together", rest)]


def _picture(prediction: dict, side: str, shares: list[list[float]], order: list[tuple[str, list[int]]]) -> dict:
    bands = prediction["bands_hz"]
    edges = [LEFT + round(n * (WIDTH - LEFT - RIGHT) / len(bands)) for n in range(len(bands) + 1)]
    bottom = TOP + PLOT_HEIGHT
    below = [0.0] * len(bands)
    layers, key, told = [], [], []
    for row, (name, places) in enumerate(order):
        above = [low + sum(shares[place][band] for place in places) for band, low in enumerate(below)]
        fill = FILLS[-1] if len(places) > 1 else FILLS[row]
        layers.append({"fill": fill, "path": _steps(edges, below, above)})
        key_y = bottom + 52 + (len(order) - 1 - row) * ROW_HEIGHT  # listed as they lie over each other
        key.append({"fill": fill, "y": key_y, "text_y": key_y + 12, "name": name})
        told.append(f"{name}: {_told(bands, below, above)}")
        below = above
    return {
        "width": WIDTH,
        "height": bottom + 52 + len(order) * ROW_HEIGHT,
        "plot": {"left": LEFT, "right": WIDTH - RIGHT, "top": TOP, "bottom": bottom},
        "middle_x": (LEFT + WIDTH - RIGHT) // 2,
        "layers": layers,
        "key": key,
        "levels": [{"y": _y(part / 100), "text": f"{part} %"} for part in (0, 50, 100)],
        "ticks": [
            {"x": (edges[n] + edges[n + 1]) // 2, "text": hertz(hz)} for n, hz in enumerate(bands) if hz in OCTAVES_HZ
        ],
        "title": f"{prediction['room']}: which ways carry the sound in each band, {SIDES[side]}",
        "desc": "; ".join(told),
    }


def _y(part: float) -> int:
    return TOP + round((1 - part) * PLOT_HEIGHT)


def _steps(edges: list[int], below: list[float], above: list[float]) -> str:
    """The outline of one way in: its upper edge from left to right, its lower edge back."""
    top = " ".join(f"V{_y(level)}H{edges[band + 1]}" for band, level in enumerate(above))
    base = " ".join(f"V{_y(below[band])}H{edges[band]}" for band in reversed(range(len(below))))
    return f"M{edges[0]} {_y(below[0])} {top} {base}Z"


def _told(bands: list[int], below: list[float], above: list[float]) -> str:
    parts = [
        f"{round((high - low) * 100)} % at {hz} Hz"
        for hz, low, high in zip(bands, below, above, strict=True)
        if hz in OCTAVES_HZ
    ]
    return ", ".join(parts)
