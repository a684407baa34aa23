"""Studs, bars, tracks, battens and membranes of a surface that is measured again: what is not cut is planned anew.

Works on the document of a WorkPack alone, after its boards are laid anew. What is fixed stands as it is; what is cut is
used where it is long enough; from a length or roll that is begun, the rest is used before another is opened.
"""

from collections.abc import Iterable
from decimal import Decimal
from itertools import count

from acoustics.errors import InputError
from acoustics.takeoff import LengthPiece, LengthStock, Surface, cut_lengths
from contractor.fitting.pack import keys_of, length_places
from contractor.rooms.takeoff.goods.bridge import drops_of, edges_of, members_of

SECONDS = 0.1
OPENED = "opened "  # before the place of a begun length, where the engine names stock


class CannotCut(ValueError):
    """A member is longer than anything it comes in; the message names the surface."""


def relength(made: dict, face_key: str, done: set[str]) -> list[dict]:
    """Plan the straight stock and membranes of a face anew in the document `made`, whose outline is the new one.

    `done` are the keys of ticks that are set. Returns what became of its pieces as {"kind", "label", "text"}; kinds as
    for boards. Raises CannotCut.
    """
    face = next(face for face in made["faces"] if face["key"] == face_key)
    changes: list[dict] = []
    for layer in face["layers"]:
        set_out = layer.get("set_out")
        if not set_out or not layer["cuts"] or f"step:{face_key}:layer-{layer['order']}" in done:
            continue
        try:
            wanted = _wanted(face, set_out)
            changes += _layer(made, face, layer, wanted, done)
        except InputError as error:
            raise CannotCut(f"{face['label']}, {layer['description']}: {error.message}") from error
    for layer in (layer for each in made["faces"] for layer in each["layers"]):
        for cut in layer["cuts"]:
            cut["length_places"] = length_places(cut, made["lengths"])
    return changes


def _wanted(face: dict, set_out: dict) -> dict[str, list[int]]:
    """Lengths needed now, by the letter of their labels."""
    if set_out["kind"] == "drops":
        sides = (set_out["roll_width_mm"], set_out["roll_length_mm"])
        return {set_out["mark"]: drops_of(face["width_mm"], face["height_mm"], *sides, SECONDS)}
    if set_out["kind"] == "edges":
        return {set_out["mark"]: edges_of(face["outline_mm"], set_out["longest_mm"])}
    surface = Surface(name=face["label"], outline_mm=_ring(face["outline_mm"]), openings_mm=_rings(face["openings_mm"]))
    by_role = members_of(surface, set_out)
    return {mark: by_role.get(role, []) for role, mark in set_out["roles"].items()}


def _rings(outlines: Iterable) -> tuple:
    return tuple(_ring(outline) for outline in outlines)


def _ring(outline: Iterable) -> tuple:
    return tuple((x, y) for x, y in outline)


def _layer(made: dict, face: dict, layer: dict, wanted: dict[str, list[int]], done: set[str]) -> list[dict]:
    """The layer's cuts as they are needed now, and the lengths they come from; what became of each."""
    old = {cut["label"]: cut for cut in [*layer["cuts"], *_spare(made, face, layer)]}
    is_cut = {label: cut["key"] in done or bool(cut.get("as_cut")) for label, cut in old.items()}
    is_fixed = {label: keys_of(cut["key"])[1] in done for label, cut in old.items()}
    cuts, changes, used = [], [], set()
    for mark, lengths in wanted.items():
        here = {label: cut for label, cut in old.items() if label.startswith(f"{mark}-")}
        letter = next(iter(here or old)).split("-")[1]
        served = _served(lengths, here, is_cut, is_fixed)
        used |= {cut["label"] for cut in served.values()}
        labels = _labels(mark, letter, lengths, served, {label for label in here if is_cut[label]})
        for place, (label, length_mm) in enumerate(zip(labels, lengths, strict=True)):
            key = f"cut:{face['key']}:{layer['order']}:{label}"
            row, change = _row(label, length_mm, key, served.get(place), old.get(label), is_fixed)
            cuts.append(row)
            changes += [change] if change else []
    gone = [cut for label, cut in old.items() if label not in {cut["label"] for cut in cuts}]
    spare = [cut for cut in gone if is_cut[cut["label"]]]
    changes += [_change("spare", c["label"], f"{c['label']} is cut and fits nowhere now; keep it.") for c in spare]
    changes += [
        _change("dropped", c["label"], f"{c['label']} is no longer needed.") for c in gone if not is_cut[c["label"]]
    ]
    others = [s for s in made.get("spare_cuts", []) if (s["face"], s["order"]) != (face["key"], layer["order"])]
    made["spare_cuts"] = others + [{"face": face["key"], "order": layer["order"], "cut": cut} for cut in spare]
    if [(c["label"], c["length_mm"]) for c in cuts] != [(c["label"], c["length_mm"]) for c in layer["cuts"]]:
        to_cut = [cut for cut in cuts if cut["label"] not in used]
        made["lengths"] = _recut(made, layer, set(old), to_cut, is_cut, done)
    layer["cuts"] = sorted(cuts, key=lambda cut: cut["label"])
    return changes


def _spare(made: dict, face: dict, layer: dict) -> list[dict]:
    kept = made.get("spare_cuts", [])
    return [s["cut"] for s in kept if (s["face"], s["order"]) == (face["key"], layer["order"])]


def _as_it_is(cut: dict) -> int:
    """How long a piece that is cut is now."""
    return (cut.get("as_cut") or cut)["length_mm"]


def _served(lengths: list[int], here: dict, is_cut: dict, is_fixed: dict) -> dict[int, dict]:
    """By place in `lengths` the piece that serves: what is fixed where it comes nearest, then, longest first, the
    shortest cut piece that is long enough."""
    served: dict[int, dict] = {}
    for cut in (cut for label, cut in here.items() if is_fixed[label]):
        free = [place for place in range(len(lengths)) if place not in served]
        if free:
            served[min(free, key=lambda place: abs(lengths[place] - _as_it_is(cut)))] = cut
    have = [cut for label, cut in here.items() if is_cut[label] and not is_fixed[label]]
    for place in sorted(range(len(lengths)), key=lambda place: -lengths[place]):
        fits = [cut for cut in have if _as_it_is(cut) >= lengths[place]]
        if place not in served and fits:
            served[place] = min(fits, key=lambda cut: (_as_it_is(cut), cut["label"]))
            have.remove(served[place])
    return served


def _labels(mark: str, letter: str, lengths: list[int], served: dict[int, dict], taken: set[str]) -> list[str]:
    """What serves keeps its label; the others take the numbers that are free."""
    free = (label for n in count(1) if (label := f"{mark}-{letter}-{n:02d}") not in taken)
    return [served[place]["label"] if place in served else next(free) for place in range(len(lengths))]


def _row(label: str, length_mm: int, key: str, cut: dict | None, before: dict | None, is_fixed: dict):
    """A row of the cut list, and what is told of it."""
    if cut is None:
        row = {"label": label, "length_mm": length_mm, "count": 1, "key": key}
        if before and before["length_mm"] == length_mm:
            return row, None
        return row, _change("to_cut", label, f"Cut {label}, {length_mm:,} mm.")
    now_mm = _as_it_is(cut)
    kept = {name: value for name, value in cut.items() if name not in ("as_cut", "change")}
    if is_fixed[label] or now_mm == length_mm:
        text = f"{label} stays as it is fixed, {now_mm:,} mm." if is_fixed[label] else f"{label} fits as it is cut."
        return kept | {"length_mm": now_mm}, _change("as_cut", label, text)
    text = f"Trim {label} from {now_mm:,} to {length_mm:,} mm."
    as_cut = {"as_cut": {"length_mm": now_mm}, "change": text}
    return kept | {"length_mm": length_mm} | as_cut, _change("trimmed", label, text)


def _change(kind: str, label: str, text: str) -> dict:
    return {"kind": kind, "label": label, "text": text}


def _recut(made: dict, layer: dict, own: set[str], to_cut: list[dict], is_cut: dict, done: set[str]) -> list[dict]:
    """All lengths of the document, those of the layer's material planned anew for what is still to cut."""
    sizes = {size["material_key"]: size for size in layer["stock"]}
    all_cut = {cut["label"]: cut["key"] in done for f in made["faces"] for x in f["layers"] for cut in x["cuts"]}
    all_cut |= is_cut
    others, opened, waiting = [], {}, [(cut["label"], cut["length_mm"]) for cut in to_cut]
    for place, length in enumerate(made["lengths"]):
        if length["material_key"] not in sizes:
            others.append(length)
        elif any(all_cut.get(cut["label"]) for cut in length["cuts"]):
            kept = [c for c in length["cuts"] if c["label"] not in own or all_cut.get(c["label"])]
            back_mm = sum(c["length_mm"] for c in length["cuts"]) - sum(c["length_mm"] for c in kept)
            opened[f"{OPENED}{place}"] = length | {"cuts": kept, "left_mm": length["left_mm"] + back_mm}
        else:
            waiting += [(c["label"], c["length_mm"]) for c in length["cuts"] if c["label"] not in own]
    stock = [LengthStock(length_mm=s["length_mm"], price=Decimal(s["length_mm"]), name=k) for k, s in sizes.items()]
    stock += [LengthStock(length_mm=x["left_mm"], available=1, name=name) for name, x in opened.items() if x["left_mm"]]
    plan = cut_lengths(stock, [LengthPiece(label=label, length_mm=mm) for label, mm in waiting], seconds=SECONDS)
    numbers = {length["number"] for length in [*others, *opened.values()]}
    free = (number for number in count(1) if number not in numbers)
    is_roll = any(x.get("is_roll") for x in made["lengths"] if x["material_key"] in sizes)
    for used in plan.used:
        cuts = [{"label": cut.label, "length_mm": cut.length_mm} for cut in used.cuts]
        if used.name in opened:
            opened[used.name] |= {"cuts": opened[used.name]["cuts"] + cuts, "left_mm": used.left_mm}
            continue
        size = sizes[used.name]
        fresh = {"number": next(free), "from_offcut": "", "is_roll": is_roll, "cuts": cuts, "left_mm": used.left_mm}
        others.append(size | fresh)
    return sorted([*others, *opened.values()], key=lambda length: length["number"])
