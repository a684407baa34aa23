"""A surface measured again on site: the boards of a pack that are not cut yet are laid anew by the engine.

Works on the document of a WorkPack alone, so a pack stays whole when its scheme is gone.
"""

import re
from collections import Counter
from copy import deepcopy
from dataclasses import asdict, replace
from itertools import count

from acoustics.errors import InputError
from acoustics.takeoff import BoardPiece, Change, Replan, Surface, replan
from contractor.common.geometry import box_round
from contractor.fitting.bridge_layout import (
    BoardLayer,
    board_layers,
    by_face,
    can_remeasure,
    layout_of,
    rules_of,
    surface_of,
)
from contractor.fitting.bridge_lengths import CannotCut, relength
from contractor.rooms.takeoff.boards.bridge import piece_record, sheet_record

__all__ = ["CannotReplan", "can_remeasure", "remeasured"]

SECONDS = 0.3  # a fitter waits for it
AS_CUT = ("width_mm", "height_mm", "outline_mm", "cutouts_mm", "mass_kg")


class CannotReplan(ValueError):
    """The new size cannot be boarded; the message names the surface and what to change."""


def remeasured(document: dict, face_key: str, width_mm: int, height_mm: int, cut_keys: set[str]) -> tuple[dict, dict]:
    """(the document with that face at its new size, what became of its pieces); the given document stays as it is.

    `cut_keys` are the keys of the ticks that are set. A piece that must be trimmed carries what it is cut to
    now as "as_cut" until it is ticked again. The face's right and top edges move, its openings stay where they are from
    the bottom left. What became of it is {"was_mm", "is_mm", "changes", "same", "notices", "sheets", "lengths", "ticks"}: "same"
    counts the pieces that stay as listed, "ticks" says by key what is done now. Raises CannotReplan.
    """
    layers = board_layers(document, cut_keys)
    own = [layer for layer in layers if layer.face["key"] == face_key]
    face = own[0].face
    cut = {
        piece["label"] for layer in layers for piece in layer.pieces if piece["key"] in cut_keys or piece.get("as_cut")
    }
    cut |= {each["piece"]["label"] for each in document.get("spoiled", [])}
    surfaces = [surface_of(group) for group in by_face(layers)]
    old = next(surface for surface in surfaces if surface.name == face["label"])
    changed = _resized(old, width_mm, height_mm)
    try:
        result = replan(
            layout_of(document, layers),
            surfaces,
            changed,
            cut_labels=cut,
            rules=rules_of(own),
            seconds=SECONDS,
        )
    except InputError as error:
        text = error.message if face["label"] in error.message else f"{face['label']}: {error.message}"
        raise CannotReplan(text) from error
    made = _document(document, layers, face_key, changed, result, cut)
    try:
        changes = relength(made, face_key, cut_keys)
    except CannotCut as error:
        raise CannotReplan(str(error)) from error
    told = _told(document, made, own, result, cut_keys)
    return made, _with_lengths(told, document, made, face_key, changes, cut_keys)


def _with_lengths(
    told: dict, document: dict, made: dict, face_key: str, changes: list[dict], cut_keys: set[str]
) -> dict:
    """What is told of the boards, and of the straight stock beside them."""
    face = next(face for face in made["faces"] if face["key"] == face_key)
    keys = {cut["label"]: cut["key"] for layer in face["layers"] if layer.get("set_out") for cut in layer["cuts"]}
    ticks = {keys[c["label"]]: c["kind"] == "as_cut" for c in changes if c["kind"] in ("as_cut", "trimmed")}
    told["ticks"] |= {key: is_done for key, is_done in ticks.items() if (key in cut_keys) != is_done}
    told["changes"] += [change for change in changes if change["kind"] != "as_cut"]
    changed = {change["label"] for change in changes}
    told["same"] += sum(label not in changed and keys[label] not in cut_keys for label in keys)
    told["lengths"] = _counted(document["lengths"], made["lengths"])
    return told


def _resized(surface: Surface, width_mm: int, height_mm: int) -> Surface:
    """The surface with its right and its top edge moved to the new size."""
    around = box_round([list(p) for p in surface.outline_mm])

    def moved(x: int, y: int) -> tuple[int, int]:
        return (
            around.x_mm + width_mm if x == around.right_mm else x,
            around.y_mm + height_mm if y == around.top_mm else y,
        )

    for opening in surface.openings_mm:
        if max(x for x, _ in opening) > around.x_mm + width_mm or max(y for _, y in opening) > around.y_mm + height_mm:
            raise CannotReplan(f"{surface.name}: an opening would lie outside it. Ring the office to have it moved.")
    return replace(surface, outline_mm=tuple(moved(x, y) for x, y in surface.outline_mm))


def _document(
    document: dict, layers: list[BoardLayer], face_key: str, changed: Surface, result: Replan, cut: set[str]
) -> dict:
    """The document with the engine's sheets, and the changed face's outline and pieces."""
    made = deepcopy(document)
    made["sheets"] = _sheets(document, result, cut)
    places = {part["label"]: place for place, sheet in enumerate(made["sheets"]) for part in sheet["placed"]}
    kinds = {change.label: change for change in result.changes}
    cut_pieces = {piece["label"]: piece for layer in layers for piece in layer.pieces if piece["label"] in cut}
    for face in made["faces"]:
        if face["key"] == face_key:
            around = box_round([list(point) for point in changed.outline_mm])
            face["outline_mm"] = [list(point) for point in changed.outline_mm]
            face["width_mm"], face["height_mm"] = around.width_mm, around.height_mm
            face["gaps_mm"] = asdict(changed.gaps_mm)
            boarded = [layer for layer in face["layers"] if layer["pieces"]]
            for layer, laid in zip(boarded, result.layout.of_surface(changed.name), strict=True):
                layer["pieces"] = [
                    _record(
                        piece,
                        face.get("at_y_mm", 0),
                        kinds[piece.label],
                        cut_pieces,
                        f"cut:{face_key}:{layer['order']}:{piece.label}",
                    )
                    for piece in laid.pieces
                ]
        for piece in (piece for layer in face["layers"] for piece in layer["pieces"]):
            if piece["label"] in places:
                piece["sheet_place"] = places[piece["label"]]
                piece["sheet"] = made["sheets"][piece["sheet_place"]]["number"]
    others = [spare for spare in document.get("spare", []) if spare["face"] != face_key]
    own = [
        {"face": face_key, "order": layer.data["order"], "piece": piece}
        for layer in layers
        if layer.face["key"] == face_key
        for piece in layer.pieces
        if piece["label"] in result.spare
    ]
    made["spare"] = others + own
    for spare in made["spare"]:
        spare["piece"] = spare["piece"] | {"sheet_place": places[spare["piece"]["label"]]}
    for spoiled in made.get("spoiled", []):
        spoiled["piece"]["sheet_place"] = places[spoiled["piece"]["label"]]
    return made


def _record(piece: BoardPiece, at_y_mm: int, change: Change, cut_pieces: dict[str, dict], key: str) -> dict:
    """A piece of the changed face as the pack keeps it. One that is cut keeps its key, wherever it is used now."""
    made = piece_record(piece, at_y_mm) | {"key": key}
    was = cut_pieces.get(piece.label)
    if was:
        made |= {"key": was["key"], "change": _sizes(change.text)}
        if change.kind == "trimmed":
            made["as_cut"] = {name: was[name] for name in AS_CUT}
    return made


def _sheets(document: dict, result: Replan, cut: set[str]) -> list[dict]:
    """The engine's sheets as records. One that is opened keeps the number pencilled on it; others get free numbers."""
    names = {sheet["material_key"]: sheet["material"] for sheet in document["sheets"]}
    numbers = {
        place: sheet["number"]
        for place, sheet in enumerate(document["sheets"], start=1)
        if any(part["label"] in cut for part in sheet["placed"])
    }
    free = (number for number in count(1) if number not in set(numbers.values()))
    codes = _codes_by_label(document, result)
    made = []
    for sheet in result.layout.sheets:
        offcut = document["sheets"][sheet.number - 1].get("from_offcut") or "" if sheet.number in numbers else ""
        sheet = replace(sheet, number=numbers.get(sheet.number) or next(free), from_offcut=offcut)
        made.append(sheet_record(sheet, sheet.board, names[sheet.board], codes.get(sheet.placed[0].label, "R")))
    return made


def _codes_by_label(document: dict, result: Replan) -> dict[str, str]:
    """The code of the room that each piece is for."""
    codes = {face["label"]: face.get("room_code") or "R" for face in document["faces"]}
    return {piece.label: codes.get(piece.surface, "R") for piece in result.layout.pieces()}  # spoiled ones have none


def _told(document: dict, made: dict, own: list[BoardLayer], result: Replan, cut_keys: set[str]) -> dict:
    """What became of the pieces, for the page and the record."""
    face = own[0].face
    was, now = box_round(face["outline_mm"]), next(f for f in made["faces"] if f["key"] == face["key"])
    listed = {p["label"]: (p["width_mm"], p["height_mm"]) for layer in own for p in layer.pieces}
    rows = {p["label"]: p for layer in now["layers"] for p in layer["pieces"]}
    same = [
        change.label
        for change in result.changes
        if change.kind == "to_cut"
        and listed.get(change.label) == (rows[change.label]["width_mm"], rows[change.label]["height_mm"])
    ]
    ticks = {rows[c.label]["key"]: c.kind == "as_cut" for c in result.changes if c.kind in ("as_cut", "trimmed")}
    return {
        "was_mm": [was.width_mm, was.height_mm],
        "is_mm": [now["width_mm"], now["height_mm"]],
        "changes": [
            {"kind": change.kind, "label": change.label, "text": _sizes(change.text)}
            for change in result.changes
            if change.label not in same
        ],
        "same": len(same),
        "notices": [n.text for n in result.layout.notices if n.surface == face["label"] and n.code != "wider_gap"],
        "sheets": _counted(document["sheets"], made["sheets"]),
        "ticks": {key: is_done for key, is_done in ticks.items() if (key in cut_keys) != is_done},
    }


def _sizes(text: str) -> str:
    """Sizes in the text as every page writes them: 1,195 × 2,385."""
    return re.sub(r"(\d+) x (\d+)", lambda found: f"{int(found[1]):,} × {int(found[2]):,}", text)


def _counted(before: list[dict], after: list[dict]) -> list[dict]:
    """Of each board whose number of sheets is another now: {"material", "was", "is"}."""
    counts = [Counter(sheet["material"] for sheet in sheets) for sheets in (before, after)]
    names = sorted(counts[0] | counts[1])
    return [
        {"material": name, "was": counts[0][name], "is": counts[1][name]}
        for name in names
        if counts[0][name] != counts[1][name]
    ]
