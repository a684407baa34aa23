"""Measured and predicted curves over the bands, for templates/drawings/compared.svg: whole view units only."""

from contractor.common.curves import OCTAVES_HZ, hertz
from contractor.soundtests.compare import Comparison, Curve

WIDTH, HEIGHT = 440, 330
LEFT, RIGHT, TOP, BOTTOM = 44, 92, 14, 46
LABEL_HEIGHT = 32
STYLES = {
    "before": {"stroke": "#5b6470", "width": "1.25", "dashes": ""},
    "after": {"stroke": "#1d2733", "width": "3", "dashes": ""},
    "predicted": {"stroke": "#1f5f66", "width": "2", "dashes": "7 5"},
}


def compared(comparison: Comparison) -> dict | None:
    """None where nothing is to be drawn."""
    curves = comparison.curves
    if not curves:
        return None
    bands = sorted({band for curve in curves for band in curve.bands})
    low_db, high_db = _span(curves)

    def x(band: int) -> int:
        return LEFT + round(bands.index(band) * (WIDTH - LEFT - RIGHT) / max(len(bands) - 1, 1))

    def y(level_db: float) -> int:
        level = min(max(level_db, low_db), high_db)
        return TOP + round((high_db - level) * (HEIGHT - TOP - BOTTOM) / (high_db - low_db))

    drawn = [_drawn(curve, x, y) for curve in curves]
    for line, label_y in zip(drawn, _labels([line["end_y"] for line in drawn]), strict=True):
        line["label_y"] = label_y
    quantity = "Impact level" if comparison.is_impact else "Level difference"
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "plot": {"left": LEFT, "right": WIDTH - RIGHT, "top": TOP, "bottom": HEIGHT - BOTTOM},
        "middle": {"x": (LEFT + WIDTH - RIGHT) // 2, "y": (TOP + HEIGHT - BOTTOM) // 2},
        "levels": [{"y": y(db), "text": str(db)} for db in range(low_db, high_db + 1, 10)],
        "ticks": [{"x": x(band), "text": hertz(band)} for band in bands if band in OCTAVES_HZ],
        "curves": drawn,
        "label_x": WIDTH - RIGHT + 10,
        "axis": f"{quantity}, dB",
        "title": comparison.title,
        "desc": " ".join(_told(curve) for curve in curves),
    }


def _drawn(curve: Curve, x, y) -> dict:
    points = [(x(band), y(level)) for band, level in zip(curve.bands, curve.levels_db, strict=True)]
    band = ""
    if curve.spread_db:
        ranged = list(zip(curve.bands, curve.levels_db, curve.spread_db, strict=True))
        upper = [f"{x(b)},{y(level + spread)}" for b, level, spread in ranged]
        lower = [f"{x(b)},{y(level - spread)}" for b, level, spread in reversed(ranged)]
        band = " ".join(upper + lower)
    return {
        "name": curve.name,
        "figure": curve.figure,
        "points": " ".join(f"{px},{py}" for px, py in points),
        "dots": [{"x": px, "y": py} for (px, py), is_limited in zip(points, curve.limited, strict=True) if is_limited],
        "band": band,
        "end_y": points[-1][1],
        **STYLES[curve.key],
    }


def _span(curves: list[Curve]) -> tuple[int, int]:
    levels = [level for curve in curves for level in curve.levels_db]
    low, high = int(min(levels) // 10) * 10, int(max(levels) // 10) * 10 + 10
    return low, max(high, low + 20)


def _labels(ends: list[int]) -> list[int]:
    """Heights of the labels near the ends of their curves, pushed apart and kept within the drawing."""
    order = sorted(range(len(ends)), key=lambda n: ends[n])
    placed: dict[int, int] = {}
    free = TOP + 12
    for n in order:
        placed[n] = max(ends[n], free)
        free = placed[n] + LABEL_HEIGHT
    over = max(free - LABEL_HEIGHT + 20 - (HEIGHT - BOTTOM), 0)
    return [placed[n] - over for n in range(len(ends))]


def _told(curve: Curve) -> str:
    levels = "; ".join(
        f"{band:,} Hz {level:.0f}{' or more' if is_limited else ''}"
        for band, level, is_limited in zip(curve.bands, curve.levels_db, curve.limited, strict=True)
        if band in OCTAVES_HZ
    )
    figure = f", {curve.figure} in one number" if curve.figure else ""
    return f"{curve.name}{figure}: {levels}."
