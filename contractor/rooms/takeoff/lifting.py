"""What of a take-off is heavy: the sheets, how they may be stacked, and the pieces that one person does not lift."""

import math
from decimal import Decimal

from contractor.common.packs import FLOOR_BEARS_KG_M2, ONE_PERSON_KG, TWO_PEOPLE_KG, lift_words


def heavy_sheets(takeoff: dict) -> list[dict]:
    """Of each sheet material: how many, kg each and in all, who lifts one, and how many may lie flat in one stack."""
    bought = {line["material_key"]: line for line in takeoff["buy"]}
    found = {}
    for sheet in takeoff["sheets"]:
        line = bought.get(sheet["material_key"])
        if sheet["material_key"] in found or line is None or not line["packs"] or not Decimal(line["mass_kg"]):
            continue
        mass_kg = Decimal(line["mass_kg"]) / line["packs"]
        area_m2 = Decimal(sheet["width_mm"] * sheet["height_mm"]) / 1_000_000
        found[sheet["material_key"]] = {
            "material": line["material"],
            "count": line["packs"],
            "mass_kg": mass_kg,
            "total_kg": Decimal(line["mass_kg"]),
            "lift": lift_words(mass_kg),
            "stack": max(math.floor(FLOOR_BEARS_KG_M2 * area_m2 / mass_kg), 1),
        }
    return list(found.values())


def heavy_pieces(takeoff: dict) -> list[dict]:
    """By face: the pieces of 20 kg and more, and of a ceiling every piece, as (label, kg, whether over 40 kg)."""
    found = []
    for face in takeoff["faces"]:
        pieces = [
            {
                "label": piece["label"],
                "mass_kg": piece["mass_kg"],
                "is_too_heavy": Decimal(piece["mass_kg"]) > TWO_PEOPLE_KG,
            }
            for layer in face["layers"]
            for piece in layer["pieces"]
            if face["surface_kind"] == "ceiling" or Decimal(piece["mass_kg"]) >= ONE_PERSON_KG
        ]
        if pieces:
            found.append({"label": face["label"], "pieces": pieces, "is_overhead": face["surface_kind"] == "ceiling"})
    return found
