"""What a spoiled board can be cut from again, and what that changes on the cut list. Pure: works on a pack's document.

The part it was cut out of stays on its sheet under the name "… spoiled", so that nothing is ever planned there again.
"""

from collections.abc import Iterable, Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from itertools import count

from contractor.fitting.pack import keys_of

KEEP_SHORT_MM, KEEP_LONG_MM = 300, 600  # the least part worth keeping, common practice; as the take-off has it
FULL, BUY = "full", "buy"


@dataclass(frozen=True, kw_only=True)
class Stored:
    """An offcut in the store that the job may have."""

    label: str
    material_key: str
    short_mm: int
    long_mm: int


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One way to cut a piece again. `value` says it again later, `changes` what it changes, a sentence each."""

    value: str
    title: str
    changes: list[str] = field(default_factory=list)
    adds_sheet: bool = False


class NotOffered(ValueError):
    """The piece cannot be cut from that, or not any more."""


def swappable(document: dict) -> Iterator[tuple[dict, dict]]:
    """(face, piece) of each board that is cut from a known sheet."""
    for face in document["faces"]:
        for layer in face["layers"]:
            for piece in layer["pieces"]:
                if piece["sheet_place"] is not None:
                    yield face, piece


def place_seen(document: dict, piece: dict) -> str:
    """How a page names the place that a piece is cut from, so that it is known whether that has changed since."""
    sheet, part = _part(document, piece)
    return f"{sheet['number']} {part['x_mm']} {part['y_mm']} {part['width_mm']}x{part['height_mm']}"


def choices(
    document: dict,
    piece: dict,
    stored: Iterable[Stored],
    gone: Iterable[str] = (),
    full_mm: tuple[int, int] | None = None,
) -> list[Choice]:
    """Everything large enough: left-overs of the pack, the smallest first, then the store's, then a sheet more.

    `gone` are labels of left-overs that somebody has taken out of reach; `full_mm` is the size of a whole sheet where
    the pack holds none.
    """
    sheet, part = _part(document, piece)
    size = (part["width_mm"], part["height_mm"])
    found = [
        Choice(
            value=f"own:{left['label']}",
            title=f"Left-over {left['label']} of {_sheet_name(from_sheet)}, {_size(left['width_mm'], left['height_mm'])}",
            changes=[_left_words(_split(left, size)), "No sheet more. No other piece moves."],
        )
        for from_sheet, left in _own(document, sheet["material_key"], size, set(gone))
    ]
    planned = {each.get("from_offcut") for each in document["sheets"]}
    for each in sorted(stored, key=lambda s: s.short_mm * s.long_mm):
        whole = {"x_mm": 0, "y_mm": 0, "width_mm": each.short_mm, "height_mm": each.long_mm, "label": each.label}
        if each.material_key == sheet["material_key"] and each.label not in planned and _fits(whole, size):
            changes = [
                _left_words(_split(whole, size)),
                "It is out of the store then. No sheet more. No other piece moves.",
            ]
            title = f"Offcut {each.label} out of the store, {_size(each.short_mm, each.long_mm)}"
            found.append(Choice(value=f"store:{each.label}", title=title, changes=changes))
    full = _full_mm(document, sheet["material_key"]) or full_mm
    if full:
        whole = {"x_mm": 0, "y_mm": 0, "width_mm": full[0], "height_mm": full[1], "label": ""}
        number = _free_number(document)
        more = f"{sheet['material']}: one sheet more than planned; the office sees it on the order list."
        opened = [f"A new sheet {number} is opened.", _left_words(_split(whole, size)), "No other piece moves.", more]
        found.append(
            Choice(value=FULL, title=f"A full sheet that is here, {_size(*full)}", changes=opened, adds_sheet=True)
        )
        wait = ["The piece waits for it: do not take a sheet that other pieces are planned on.", *opened]
        found.append(Choice(value=BUY, title="None is here: another must be bought", changes=wait, adds_sheet=True))
    return found


def swapped(
    document: dict, key: str, choice: Choice, stored: Iterable[Stored] = (), full_mm: tuple[int, int] | None = None
) -> dict:
    """The document with the piece of that key cut from the chosen place; the given one stays as it is.

    Raises NotOffered.
    """
    made = deepcopy(document)
    face, layer, piece = _found(made, key)
    sheet, part = _part(made, piece)
    size, label = (part["width_mm"], part["height_mm"]), piece["label"]
    kind, _, name = choice.value.partition(":")
    if kind == "own":
        pairs = _own(made, sheet["material_key"], size, set())
        target, left = next(((s, o) for s, o in pairs if o["label"] == name), (None, None))
        if target is None:
            raise NotOffered(f"Left-over {name} is not there any more.")
    else:
        target, left = _new_sheet(made, face, sheet, kind, name, stored, full_mm)
    spoiled = f"{label} spoiled"
    again = sum(s["piece"]["label"].startswith(spoiled) for s in made.get("spoiled", []))
    spoiled += f" {again + 1}" if again else ""
    was = deepcopy(piece) | {"label": spoiled, "key": f"spoiled:{spoiled}"} | (piece.get("as_cut") or {})
    made.setdefault("spoiled", []).append({"face": face["key"], "order": layer["order"], "piece": was})
    part["label"] = spoiled
    placed, cuts, rest = _split(left, size)
    target["placed"].append(placed | {"label": label})
    target["cuts"] += cuts
    place = target["offcuts"].index(left)
    target["offcuts"][place : place + 1] = rest
    piece["sheet_place"] = next(i for i, each in enumerate(made["sheets"]) if each is target)
    piece["sheet"] = target["number"]
    for gone in ("as_cut", "change"):
        piece.pop(gone, None)
    return made


def _found(document: dict, key: str) -> tuple[dict, dict, dict]:
    key = keys_of(key)[0]
    for face in document["faces"]:
        for layer in face["layers"]:
            for piece in layer["pieces"]:
                if piece["key"] == key and piece["sheet_place"] is not None:
                    return face, layer, piece
    raise NotOffered("The cut list has no such board now.")


def _part(document: dict, piece: dict) -> tuple[dict, dict]:
    sheet = document["sheets"][piece["sheet_place"]]
    return sheet, next(part for part in sheet["placed"] if part["label"] == piece["label"])


def _own(document: dict, material_key: str, size: tuple[int, int], gone: set[str]) -> list[tuple[dict, dict]]:
    found = [
        (sheet, left)
        for sheet in document["sheets"]
        for left in sheet["offcuts"]
        if not sheet.get("is_to_buy")
        and sheet["material_key"] == material_key
        and left["label"] not in gone
        and "x_mm" in left
        and _fits(left, size)
    ]
    return sorted(found, key=lambda pair: pair[1]["width_mm"] * pair[1]["height_mm"])


def _new_sheet(document, face, sheet, kind, name, stored, full_mm) -> tuple[dict, dict]:
    number, offcut = _free_number(document), ""
    if kind == "store":
        found = next((each for each in stored if each.label == name), None)
        if found is None:
            raise NotOffered(f"Offcut {name} is not in the store any more, or another job has it.")
        width_mm, height_mm, offcut = found.short_mm, found.long_mm, found.label
    else:
        full = _full_mm(document, sheet["material_key"]) or full_mm
        if full is None:
            raise NotOffered("The size of a whole sheet is not known here. Ring the office.")
        width_mm, height_mm = full
    code = face.get("room_code") or "R"
    left = {
        "label": f"{code}-{number}-1",
        "x_mm": 0,
        "y_mm": 0,
        "width_mm": width_mm,
        "height_mm": height_mm,
        "keep": True,
    }
    target = {name: sheet[name] for name in ("material_key", "material")} | {
        "number": number, "width_mm": width_mm, "height_mm": height_mm, "from_offcut": offcut, "is_cut_out": False,
        "placed": [], "offcuts": [left], "cuts": [], "is_to_buy": kind == BUY,
    }  # fmt: skip
    document["sheets"].append(target)
    return target, left


def _full_mm(document: dict, material_key: str) -> tuple[int, int] | None:
    sizes = [
        (s["width_mm"], s["height_mm"])
        for s in document["sheets"]
        if s["material_key"] == material_key and not s.get("from_offcut")
    ]
    return max(sizes, key=lambda size: size[0] * size[1], default=None)


def _free_number(document: dict) -> int:
    taken = {sheet["number"] for sheet in document["sheets"]}
    return next(number for number in count(1) if number not in taken)


def _fits(left: dict, size: tuple[int, int]) -> bool:
    return all(a <= b for a, b in zip(sorted(size), sorted((left["width_mm"], left["height_mm"])), strict=True))


def _split(left: dict, size: tuple[int, int]) -> tuple[dict, list[list[int]], list[dict]]:
    """(where the piece lies, the cuts that free it, what is left), cut right across so that the most stays in one part.

    The saw's width is not taken off, as in the take-off: boards are scored and snapped.
    """
    best = None
    for w, h in {size, size[::-1]}:
        if w > left["width_mm"] or h > left["height_mm"]:
            continue
        for is_upright_first in (True, False):
            cuts, rest = _cut_across(left, w, h, is_upright_first)
            most = max((r["width_mm"] * r["height_mm"] for r in rest), default=0)
            key = (most, (w, h) == size, is_upright_first)
            if best is None or key > best[0]:
                placed = {"x_mm": left["x_mm"], "y_mm": left["y_mm"], "width_mm": w, "height_mm": h}
                best = key, placed, cuts, rest
    if best is None:
        raise NotOffered("It is too small for the piece.")
    return best[1:]


def _cut_across(left: dict, w: int, h: int, is_upright_first: bool) -> tuple[list[list[int]], list[dict]]:
    x, y, wide, high = left["x_mm"], left["y_mm"], left["width_mm"], left["height_mm"]
    upright = [x + w, y, x + w, y + (high if is_upright_first else h)]
    level = [x, y + h, x + (w if is_upright_first else wide), y + h]
    right = (x + w, y, wide - w, high if is_upright_first else h)
    above = (x, y + h, w if is_upright_first else wide, high - h)
    pairs = [(upright, right), (level, above)]
    if not is_upright_first:
        pairs.reverse()
    kept = [(cut, box) for cut, box in pairs if box[2] > 0 and box[3] > 0]
    rest = [
        {
            "label": f"{left['label']}{letter}" if left["label"] else "",
            "x_mm": box[0], "y_mm": box[1], "width_mm": box[2], "height_mm": box[3],
            "keep": min(box[2:]) >= KEEP_SHORT_MM and max(box[2:]) >= KEEP_LONG_MM,
        }
        for letter, (_, box) in zip("ab", kept, strict=False)
    ]  # fmt: skip
    return [cut for cut, _ in kept], rest


def _left_words(split: tuple) -> str:
    kept = [_size(r["width_mm"], r["height_mm"]) for r in split[2] if r["keep"]]
    return f"Left over to keep: {' and '.join(kept)}." if kept else "Nothing worth keeping is left of it."


def _sheet_name(sheet: dict) -> str:
    return f"offcut {sheet['from_offcut']}" if sheet.get("from_offcut") else f"sheet {sheet['number']}"


def _size(width_mm: int, height_mm: int) -> str:
    return f"{width_mm:,} × {height_mm:,} mm"
