"""What a work pack holds, made from a take-off. Only what a fitter needs is taken over: no cost, price or hour."""

from collections.abc import Iterable

# What has to be done before what (common practice): holes and the floor edge before a lining's track lands on them,
# a beam before the wall beside it, walls and ceilings before their reveals, floors when nothing heavy is carried over.
ORDER_OF_WORK = [
    "gap",
    "roof_void",
    "floor_edge",
    "beam",
    "ceiling",
    "wall",
    "reveal",
    "boxing",
    "floor",
    "door",
    "window",
    "detail",
]

FACE = ["key", "room", "surface", "label", "build_up", "surface_kind", "unit", "quantity", "width_mm", "height_mm"]
FACE += ["outline_mm", "openings_mm", "boxes", "depth_mm", "problem", "sockets_mm", "at_y_mm", "room_code"]
LAYER = ["order", "description", "material_key", "material", "thickness_mm", "screw", "supports", "set_out", "stock"]
PIECE = ["label", "width_mm", "height_mm", "outline_mm", "sheet", "mass_kg", "note", "box_cuts"]
CUT = ["label", "length_mm", "count"]
SHEET = ["number", "material_key", "material", "width_mm", "height_mm", "placed", "offcuts", "cuts"]
SHEET += ["from_offcut", "is_cut_out"]
LENGTH = ["number", "material_key", "material", "length_mm", "cuts", "left_mm", "from_offcut", "is_roll"]
# What take-offs sent long ago do not say yet.
UNSAID = {"box_cuts": [], "sockets_mm": [], "at_y_mm": 0, "room_code": "", "from_offcut": "", "is_cut_out": False}
UNSAID |= {"set_out": None, "stock": [], "is_roll": False}
MATERIAL = ["material", "needed", "needed_unit", "packs", "pack_quantity", "pack_unit", "mass_kg"]


def pack_document(takeoff: dict) -> dict:
    """The document of a WorkPack: faces in order of work, each with its steps and what is cut for it; and materials.

    `takeoff` is as in Calculation.takeoff: lengths in mm, masses as strings in kg. Sheets and stock lengths are told
    apart by their place in the lists `sheets` and `lengths`.
    """
    rooms = list(dict.fromkeys(face["room"] for face in takeoff["faces"]))
    faces = sorted(takeoff["faces"], key=lambda face: (rooms.index(face["room"]), _turn(face)))
    return {
        "faces": [_face(face, takeoff) for face in faces],
        "sheets": [_pick(sheet, SHEET) for sheet in takeoff["sheets"]],
        "lengths": [_pick(length, LENGTH) for length in takeoff["lengths"]],
        "materials": [_pick(row, MATERIAL) for row in takeoff["buy"]],
        "mass_kg": takeoff["totals"]["mass_kg"],
    }


def rows_of(document: dict) -> dict[str, dict]:
    """Every step, and everything that is cut to size, by its key."""
    rows = {}
    for face in document["faces"]:
        ticked = [*face["steps"], *(r for layer in face["layers"] for r in [*layer["pieces"], *layer["cuts"]])]
        rows |= {row["key"]: row for row in ticked}
    return rows


def keys_of(key: str) -> tuple[str, ...]:
    """The keys of all ticks of a row, from any of them: of a step, itself; of a piece, cut, fixed and made again."""
    kind, _, piece = key.partition(":")
    if kind == "step":
        return (key,)
    return f"cut:{piece}", f"fix:{piece}", f"again:{piece}"


def _pick(row: dict, names: Iterable[str]) -> dict:
    return {name: row[name] if name in row else UNSAID[name] for name in names}


def _turn(face: dict) -> int:
    kind = face["surface_kind"]
    return ORDER_OF_WORK.index(kind) if kind in ORDER_OF_WORK else len(ORDER_OF_WORK)


def _face(face: dict, takeoff: dict) -> dict:
    layers = sorted(face["layers"], key=lambda layer: layer["order"])
    preparation = [row for row in takeoff["preparation"] if row["face"] == face["key"]]
    cut_layers = [layer for layer in layers if layer["pieces"] or layer["cuts"]]
    return _pick(face, FACE) | {
        "steps": _steps(face, preparation, layers),
        "layers": [_layer(face["key"], layer, takeoff) for layer in cut_layers],
    }


def _steps(face: dict, preparation: list[dict], layers: list[dict]) -> list[dict]:
    """What must be settled before starting, preparation, then each layer with the hold points that follow it.

    A hold point tied to no layer stops the start: too early does no harm, too late may.
    """
    holds = enumerate(face["hold_points"], 1)
    waiting = sorted((hold["after_order"] or 0, i, hold["text"]) for i, hold in holds)

    def step(name: str, kind: str, title: str, text: str, **more) -> dict:
        return {"key": f"step:{face['key']}:{name}", "kind": kind, "title": title, "text": text, **more}

    def holds_below(order: float) -> list[dict]:
        """Hold points, not yet taken, that come before the layer of that order."""
        due = [hold for hold in waiting if hold[0] < order]
        del waiting[: len(due)]
        return [step(f"hold-{i}", "hold", text, "") for _, i, text in due]

    steps = holds_below(1)
    steps += [step(f"prepare-{i}", "prepare", p["description"], p["reason"]) for i, p in enumerate(preparation, 1)]
    for layer in layers:
        steps += holds_below(layer["order"])
        steps.append(
            step(
                f"layer-{layer['order']}",
                "prepare" if layer["role"] == "prepare" else "layer",
                layer["description"],
                layer["instruction"],
                is_cut=bool(layer["pieces"] or layer["cuts"]),
                **_pick(layer, ["order", "material", "screw", "supports"]),
            )
        )
    return steps + holds_below(float("inf"))


def _layer(face_key: str, layer: dict, takeoff: dict) -> dict:
    def key(label: str) -> str:
        return f"cut:{face_key}:{layer['order']}:{label}"

    pieces = [
        _pick(piece, PIECE)
        | {
            "cutouts_mm": piece.get("cutouts_mm", []),
            "key": key(piece["label"]),
            "sheet_place": _sheet_place(layer, piece, takeoff["sheets"]),
        }
        for piece in layer["pieces"]
    ]
    cuts = [
        _pick(cut, CUT) | {"key": key(cut["label"]), "length_places": length_places(cut, takeoff["lengths"])}
        for cut in layer["cuts"]
    ]
    return _pick(layer, LAYER) | {"material": _cut_from(layer, pieces, cuts, takeoff), "pieces": pieces, "cuts": cuts}


def _cut_from(layer: dict, pieces: list[dict], cuts: list[dict], takeoff: dict) -> str:
    """What the layer is really cut from: the plan may take another size of the same board or bar than the layer names."""
    sheets = [takeoff["sheets"][p["sheet_place"]] for p in pieces if p["sheet_place"] is not None]
    lengths = [takeoff["lengths"][place] for cut in cuts for place in cut["length_places"]]
    return " and ".join(dict.fromkeys(stock["material"] for stock in [*sheets, *lengths])) or layer["material"]


def _sheet_place(layer: dict, piece: dict, sheets: list[dict]) -> int | None:
    """Where in `sheets` the piece's sheet stands. Of equal numbers, the one of the layer's material goes first."""
    found = [
        (sheet["material_key"] != layer["material_key"], place)
        for place, sheet in enumerate(sheets)
        if sheet["number"] == piece["sheet"] and any(placed["label"] == piece["label"] for placed in sheet["placed"])
    ]
    return min(found)[1] if found else None


def length_places(cut: dict, lengths: list[dict]) -> list[int]:
    """Where in `lengths` those stand from which the piece is cut."""
    return [
        place for place, length in enumerate(lengths) if any(part["label"] == cut["label"] for part in length["cuts"])
    ]
