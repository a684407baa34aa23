"""A piece of board in the words of whoever cuts and carries it."""

from contractor.common.geometry import Box, Outline, box_round, cut_outs

NARROW_LEG_MM = 100  # common practice: a leg left narrower than this snaps when the piece is lifted by one end


def shape_words(outline: Outline, holes: list[Outline]) -> str:
    """How a piece differs from its rectangle, with what to take out and from where, measured on the piece itself.

    Empty for a plain rectangle, and for a piece with a sloping edge, which words of this kind do not fit.
    """
    if _slopes(outline):
        return ""
    whole, parts = box_round(outline), cut_outs(outline)
    words = [_cut_out_words(part, whole) for part in parts]
    for hole in holes:
        b = box_round(hole)
        where = f"{b.x_mm - whole.x_mm:,} in from the left and {b.y_mm - whole.y_mm:,} up"
        words.append(f"hole {b.width_mm:,} wide × {b.height_mm:,} high, {where}")
    if not words:
        return ""
    name = "Shaped"
    if len(parts) == 1 and not holes:
        name = "L" if _corner(parts[0], whole) else "U"
    return f"{name}: " + "; ".join(words) + "."


def care_words(outline: Outline) -> str:
    """What to mind about an awkward piece, or nothing."""
    if _slopes(outline):
        return ""
    whole = box_round(outline)
    is_narrow = any(0 < leg < NARROW_LEG_MM for part in cut_outs(outline) for leg in _legs(part, whole))
    return "Narrow leg: two people, support it" if is_narrow else ""


def _slopes(outline: Outline) -> bool:
    return any(a[0] != b[0] and a[1] != b[1] for a, b in zip(outline, outline[1:] + outline[:1], strict=True))


def _legs(part: Box, whole: Box) -> tuple[int, ...]:
    """What the cut-out leaves on its four sides."""
    return part.x_mm, whole.width_mm - part.right_mm, part.y_mm, whole.height_mm - part.top_mm


def _corner(part: Box, whole: Box) -> str:
    left, right, below, above = _legs(part, whole)
    side = "left" if left == 0 else "right" if right == 0 else ""
    end = "bottom" if below == 0 else "top" if above == 0 else ""
    return f"{end} {side}" if side and end else ""


def _cut_out_words(part: Box, whole: Box) -> str:
    size = f"cut {part.width_mm:,} wide × {part.height_mm:,} high out"
    left, right, below, above = _legs(part, whole)
    if corner := _corner(part, whole):
        return f"{size} at the {corner}"
    if 0 in (left, right):
        return f"{size} of the {'left' if left == 0 else 'right'} edge, from {part.y_mm:,} up"
    if 0 in (below, above):
        return f"{size} of the {'bottom' if below == 0 else 'top'} edge, from {part.x_mm:,} in from the left"
    return f"{size}, from {part.x_mm:,} in from the left and {part.y_mm:,} up"


def box_words(cut: dict) -> str:
    """A cut-out for a socket or switch: its size, and where on the piece and above the floor."""
    return (
        f"Box: cut {cut['width_mm']:,} wide × {cut['height_mm']:,} high, {cut['from_left_mm']:,} from its left and "
        f"{cut['from_bottom_mm']:,} from its bottom ({cut['above_floor_mm']:,} above the floor)."
    )


def cuts_round(sheet: dict, label: str) -> list[int]:
    """Numbers of the sheet's cuts that run along an edge of the piece of that label."""
    part = next((p for p in sheet["placed"] if p["label"] == label), None)
    if part is None:
        return []
    left, bottom = part["x_mm"], part["y_mm"]
    right, top = left + part["width_mm"], bottom + part["height_mm"]
    found = []
    for number, (x1, y1, x2, y2) in enumerate(sheet["cuts"], start=1):
        if x1 == x2:
            along, meets = x1 in (left, right), min(y1, y2) < top and max(y1, y2) > bottom
        else:
            along, meets = y1 in (bottom, top), min(x1, x2) < right and max(x1, x2) > left
        if along and meets:
            found.append(number)
    return found


def number_words(numbers: list[int]) -> str:
    """1 -> "cut 1"; 1, 2, 4 -> "cuts 1, 2 and 4"."""
    if len(numbers) < 2:
        return f"cut {numbers[0]}" if numbers else ""
    return f"cuts {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
