"""The catalogue that ships with the app, loaded without ever touching what the office has made of it."""

import json
from pathlib import Path
from typing import Any

from django.db import transaction

from contractor.accounts.models import AuditEntry
from contractor.accounts.services import record
from contractor.catalogue.models import (
    BuildUp,
    BuildUpFixing,
    BuildUpLayer,
    Climate,
    Construction,
    ConstructionLayer,
    HoldPoint,
    LabourAllowance,
    LabourFactor,
    LabourRate,
    Material,
)

SEED_DIR = Path(__file__).resolve().parent / "seed"
DELETED = "catalogue deletion"
USUAL_CLIMATE = "cool-maritime"


@transaction.atomic
def load_seed() -> dict[str, int]:
    """Create what the shipped catalogue holds and this one lacks; returns how many rows of each sort were made.

    Rows that exist are left as they are, layers and prices included. Rows that the office deleted stay deleted.
    """
    gone = _deleted_keys()
    labour = _read("labour.json")
    made = {
        "materials": _create(Material, _read("materials.json"), gone),
        "constructions": _create_constructions(_read("constructions.json"), gone),
        "build-ups": _create_build_ups(_read("build_ups.json"), gone),
        "labour rates": _create(LabourRate, labour["rates"], gone),
        "labour allowances": _create_allowances(labour["allowances"], gone),
        "labour factors": _create(LabourFactor, labour["factors"], gone),
        "climates": _create(Climate, _read("climates.json"), gone),
    }
    if not Climate.objects.filter(is_used=True).exists():
        Climate.objects.filter(key=USUAL_CLIMATE).update(is_used=True)
    if any(made.values()):
        record(user=None, action="catalogue loaded", subject="Shipped catalogue", **made)
    return made


def _read(name: str) -> Any:
    return json.loads((SEED_DIR / name).read_text(encoding="utf-8"))


def _deleted_keys() -> set[tuple[str, str]]:
    """(model name, key) of everything that the record says was deleted."""
    details = AuditEntry.objects.filter(action=DELETED).values_list("detail", flat=True)
    return {(detail["model"], detail["key"]) for detail in details}


def _missing(model, rows: list[dict], gone: set[tuple[str, str]]) -> list[dict]:
    there = set(model.objects.values_list("key", flat=True))
    name = model._meta.model_name
    return [row for row in rows if row["key"] not in there and (name, row["key"]) not in gone]


def _create(model, rows: list[dict], gone: set[tuple[str, str]]) -> int:
    return len(model.objects.bulk_create(model(**row) for row in _missing(model, rows, gone)))


def _materials() -> dict[str, Material]:
    return {material.key: material for material in Material.objects.all()}


def _layer_fields(row: dict, materials: dict[str, Material]) -> dict:
    """The row with its material's key replaced by the material. KeyError where the office deleted that material."""
    fields = {name: value for name, value in row.items() if name != "material"}
    return fields | {"material": materials[row["material"]] if "material" in row else None}


def _buildable(rows: list[dict], materials: dict[str, Material]) -> list[dict]:
    """Rows whose every material is still in the catalogue."""
    return [
        row
        for row in rows
        if all(
            part.get("material") in materials
            for part in row["layers"] + row.get("fixings", [])
            if part.get("material") is not None
        )
    ]


def _create_constructions(rows: list[dict], gone: set[tuple[str, str]]) -> int:
    materials = _materials()
    rows = _buildable(_missing(Construction, rows, gone), materials)
    layers = []
    for row in rows:
        parent = Construction.objects.create(**{name: value for name, value in row.items() if name != "layers"})
        layers += [
            ConstructionLayer(construction=parent, order=order, **_layer_fields(layer, materials))
            for order, layer in enumerate(row["layers"], start=1)
        ]
    ConstructionLayer.objects.bulk_create(layers)
    return len(rows)


def _create_build_ups(rows: list[dict], gone: set[tuple[str, str]]) -> int:
    materials = _materials()
    rows = _buildable(_missing(BuildUp, rows, gone), materials)
    nested = {"layers", "fixings", "hold_points"}
    fixings, hold_points = [], []
    for row in rows:
        parent = BuildUp.objects.create(**{name: value for name, value in row.items() if name not in nested})
        made = BuildUpLayer.objects.bulk_create(
            BuildUpLayer(build_up=parent, **_layer_fields(layer, materials)) for layer in row["layers"]
        )
        by_order = {layer.order: layer for layer in made}
        for fixing in row.get("fixings", []):
            fields = _layer_fields(fixing, materials) | {"layer": by_order[fixing["layer"]]}
            fixings.append(BuildUpFixing(build_up=parent, **fields))
        for point in row.get("hold_points", []):
            fields = {name: value for name, value in point.items() if name != "after_layer"}
            hold_points.append(HoldPoint(build_up=parent, after_layer=by_order.get(point.get("after_layer")), **fields))
    BuildUpFixing.objects.bulk_create(fixings)
    HoldPoint.objects.bulk_create(hold_points)
    return len(rows)


def _create_allowances(rows: list[dict], gone: set[tuple[str, str]]) -> int:
    rates = {rate.key: rate for rate in LabourRate.objects.all()}
    rows = [row for row in _missing(LabourAllowance, rows, gone) if row["rate"] in rates]
    made = LabourAllowance.objects.bulk_create(LabourAllowance(**(row | {"rate": rates[row["rate"]]})) for row in rows)
    return len(made)
