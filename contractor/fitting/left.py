"""What is left over of the sheets and lengths of a pack that are cut up, as it goes into the store."""

from contractor.catalogue.models import Material
from contractor.fitting.pack import rows_of
from contractor.offcuts.services import Left

KEPT_LENGTH_MM = 600  # the shortest tail of a length worth keeping, common practice


def left_over(document: dict, done: set[str]) -> list[dict]:
    """Of every sheet and length from which all pieces are cut: each part worth keeping.

    `done` are keys of ticks that are set. Each is {"label", "material_key", "material", "width_mm", "length_mm"}; a tail
    of straight stock has no width. Rolls leave nothing worth keeping.
    """
    is_cut = {key.rpartition(":")[2]: key in done for key in rows_of(document) if key.startswith("cut:")}
    is_cut |= {each["piece"]["label"]: True for each in document.get("spoiled", [])}
    codes = _codes(document)
    found = []
    for sheet in document["sheets"]:
        if sheet["placed"] and all(is_cut.get(part["label"]) for part in sheet["placed"]):
            found += [
                _left(sheet, p["label"], p["width_mm"], p["height_mm"]) for p in sheet["offcuts"] if p.get("keep")
            ]
    for length in document["lengths"]:
        is_tail = length["left_mm"] >= KEPT_LENGTH_MM and not length.get("is_roll")
        if is_tail and length["cuts"] and all(is_cut.get(cut["label"]) for cut in length["cuts"]):
            code = codes.get(length["cuts"][0]["label"], "R")
            found.append(_left(length, f"{code}-L{length['number']}-1", None, length["left_mm"]))
    return found


def as_left(rows: list[dict], conditions: dict[str, str]) -> list[Left]:
    """The rows for the store, each with its condition by label; what the catalogue does not know any more is left out."""
    materials = {m.key: m for m in Material.objects.filter(key__in={row["material_key"] for row in rows})}
    return [
        Left(
            label=row["label"],
            material=materials[row["material_key"]],
            length_mm=row["length_mm"],
            width_mm=row["width_mm"],
            condition=conditions[row["label"]],
        )
        for row in rows
        if row["material_key"] in materials
    ]


def _left(stock: dict, label: str, width_mm: int | None, length_mm: int) -> dict:
    return {
        "label": label,
        "material_key": stock["material_key"],
        "material": stock["material"],
        "width_mm": width_mm,
        "length_mm": length_mm,
    }


def _codes(document: dict) -> dict[str, str]:
    """The code of the room for which each length is cut."""
    return {
        cut["label"]: face.get("room_code") or "R"
        for face in document["faces"]
        for layer in face["layers"]
        for cut in layer["cuts"]
    }
