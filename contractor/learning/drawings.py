"""Where dots and bars stand on the drawings of what the firm learns; whole units of the drawing."""

from collections import Counter
from collections.abc import Sequence
from textwrap import wrap

from contractor.learning.differences import Group

WIDTH = 420
LEFT, RIGHT = 20, 400
LINE = 17  # from one line of a name to the next
NAME_LETTERS = 62


def dots(blocks: Sequence[tuple[str, Sequence[Group]]]) -> dict:
    """A line for each group under its block's heading, a dot for each case, a tick at the mean of three or more."""
    differences = [c.difference_db for _, groups in blocks for g in groups for c in g.cases]
    reach = max(6, *(abs(d) + 1 for d in differences)) if differences else 6
    step = 2 if reach <= 10 else 5
    reach = -(-reach // step) * step

    def across(db: float) -> int:
        return round(LEFT + (db + reach) * (RIGHT - LEFT) / (2 * reach))

    rows, heads, y = [], [], 8
    for title, groups in blocks:
        if not groups:
            continue
        y += 22
        heads.append({"text": title, "y": y})
        y += 6
        for group in groups:
            rows.append(_row(group, y, across))
            y = rows[-1]["line_y"] + (18 if group.bias_db is None else 26)
    ticks = [{"x": across(n), "text": f"{n:+}".replace("-", "−") if n else "0"} for n in range(-reach, reach + 1, step)]
    return {
        "width": WIDTH, "height": y + 64, "left": LEFT, "right": RIGHT, "top": 36, "bottom": y + 4, "zero": across(0),
        "ticks": ticks, "heads": heads, "rows": rows,
        "text": "Measured less predicted DnT,w in dB. " + " ".join(_told(title, g) for title, gs in blocks for g in gs),
    }  # fmt: skip


def _row(group: Group, y: int, across) -> dict:
    """Cases of one and the same difference stand beside one another, at most five."""
    lines = _name_lines(f"{group.name}\u00a0({group.count})", y + 16)
    line_y = lines[-1]["y"] + 18
    seen: Counter = Counter()
    placed = []
    for case in group.cases:
        placed.append({"x": across(case.difference_db) + 7 * (seen[case.difference_db] % 5), "y": line_y})
        seen[case.difference_db] += 1
    mean_x = None if group.bias_db is None else across(group.bias_db)
    return {"lines": lines, "line_y": line_y, "dots": placed, "mean_x": mean_x, "bias_db": group.bias_db}


def _told(title: str, group: Group) -> str:
    values = ", ".join(f"{c.difference_db:+}" for c in group.cases)
    return f"{title}, {group.name}: {values}."


def bars(rows: Sequence[tuple[str, Sequence[tuple[float, str]]]], axis: str, text: str) -> dict:
    """For each name its bars one below the other, each with what it says; the first of several is drawn open."""
    most = max((value for _, values in rows for value, _ in values), default=0) or 1
    placed, y = [], 0
    for name, values in rows:
        lines = _name_lines(name, y + 18)
        top = y = lines[-1]["y"] + 6
        drawn = []
        for n, (value, said) in enumerate(values):
            width = round((RIGHT - LEFT - 130) * float(value) / float(most))
            is_open = n == 0 and len(values) > 1
            drawn.append({"y": y, "width": width, "said": said, "text_x": LEFT + width + 8, "is_open": is_open})
            y += 18
        placed.append({"lines": lines, "bars": drawn, "top": top - 2, "bottom": y - 3})
        y += 4
    return {"width": WIDTH, "height": y + 30, "left": LEFT, "bottom": y, "rows": placed, "axis": axis, "text": text}


def _name_lines(name: str, y: int) -> list[dict]:
    """A name in as many lines as it takes, the first at `y`."""
    return [{"text": line, "y": y + n * LINE} for n, line in enumerate(wrap(name, NAME_LETTERS))]
