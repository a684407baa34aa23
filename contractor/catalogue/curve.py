"""The sound reduction by frequency in numbers; templates/catalogue/_curve.svg only places them, in whole view units."""

from dataclasses import dataclass

from contractor.common.curves import OCTAVES_HZ, hertz

WIDTH, HEIGHT = 380, 270
LEFT, RIGHT, TOP, BOTTOM = 44, 72, 16, 44
STEP_DB = 10
LABEL_APART = 32


@dataclass(frozen=True, kw_only=True)
class Line:
    """One curve: its points, and the lettering at its end."""

    name: str
    rating: str
    points: str
    label_y: int
    is_bold: bool


def curve(
    bands_hz: list[int], lines: list[tuple[str, int, tuple[float, ...]]], *, shows: str = "Sound reduction"
) -> dict:
    """`lines` are (name, weighted rating in dB, levels in dB by band); the last is drawn bold."""
    levels = [level for _, _, values in lines for level in values]
    low = int(min(levels) // STEP_DB) * STEP_DB
    high = max(int(-(-max(levels) // STEP_DB)) * STEP_DB, low + STEP_DB)

    def x(place: int) -> int:
        return LEFT + round(place * (WIDTH - LEFT - RIGHT) / (len(bands_hz) - 1))

    def y(level_db: float) -> int:
        return TOP + round((high - level_db) * (HEIGHT - TOP - BOTTOM) / (high - low))

    ends = _apart([y(values[-1]) for _, _, values in lines])
    return {
        "shows": shows,
        "zero_y": y(0) if low < 0 < high else None,
        "width": WIDTH,
        "height": HEIGHT,
        "left": LEFT,
        "right": WIDTH - RIGHT,
        "top": TOP,
        "bottom": HEIGHT - BOTTOM,
        "label_x": WIDTH - RIGHT + 8,
        "middle_x": (LEFT + WIDTH - RIGHT) // 2,
        "middle_y": (TOP + HEIGHT - BOTTOM) // 2,
        "levels": [(y(level), level) for level in range(low, high + 1, STEP_DB)],
        "ticks": [(x(place), hertz(hz)) for place, hz in enumerate(bands_hz) if hz in OCTAVES_HZ],
        "lines": [
            Line(
                name=name,
                rating=f"{weighted_db} dB",
                points=" ".join(f"{x(place)},{y(level)}" for place, level in enumerate(values)),
                label_y=end,
                is_bold=number == len(lines) - 1,
            )
            for number, ((name, weighted_db, values), end) in enumerate(zip(lines, ends, strict=True))
        ],
        "text": "; ".join(
            f"{name}: weighted {weighted_db} dB, from {values[0]:.0f} dB at {bands_hz[0]} Hz"
            f" to {values[-1]:.0f} dB at {bands_hz[-1]} Hz"
            for name, weighted_db, values in lines
        ),
    }


def _apart(heights: list[int]) -> list[int]:
    """The heights of two labels, moved apart where they would meet."""
    if len(heights) != 2 or abs(heights[0] - heights[1]) >= LABEL_APART:
        return heights
    middle, half = sum(heights) // 2, LABEL_APART // 2
    return [middle + half, middle - half] if heights[0] >= heights[1] else [middle - half, middle + half]
