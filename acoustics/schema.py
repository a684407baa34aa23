"""JSON Schema (2020-12) of the front door's inputs and outputs, drawn from the dataclasses themselves."""

from __future__ import annotations

import dataclasses
import types
import typing
from decimal import Decimal
from typing import Any

from . import buildup, composite, errors, field, inputs, junctions, plan, ratings, room_inputs, rooms, sidepaths
from .door import VERBS

Schema = dict[str, Any]
NUMBER: Schema = {"type": "number"}
NUMBERS: Schema = {"type": "array", "items": NUMBER}
BY_BAND: Schema = {"type": "array", "items": NUMBER, "minItems": 21, "maxItems": 21}
LEVELS: Schema = {"anyOf": [NUMBERS, {"type": "array", "items": NUMBERS}]}
MONEY: Schema = {"type": "string", "pattern": r"^\d+(\.\d{1,4})?$"}
SPECTRUM: Schema = {"anyOf": [{"enum": ["pink", "traffic", "speech", "music"]}, BY_BAND]}
_SIMPLE = {float: NUMBER, int: {"type": "integer"}, str: {"type": "string"}, bool: {"type": "boolean"}, Decimal: MONEY}
_NAMED_LENGTH_21 = {"reduction_db", "improvement_db", "transmission", "standardized_db", "band_share_before", "band_share_after", "reduction_before_db", "reduction_after_db"}  # fmt: skip
_CHOICES = {
    ("Connection", "kind"): inputs.CONNECTIONS,
    ("Leaf", "joined"): inputs.JOININGS,
    ("Junction", "kind"): junctions.JUNCTIONS,
}


def _object(properties: Schema, required: list[str], extra: bool = False) -> Schema:
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": extra}


def _of_type(hint: Any) -> Schema:
    if hint in _SIMPLE:
        return dict(_SIMPLE[hint])
    if dataclasses.is_dataclass(hint):
        return {"$ref": f"#/$defs/{typing.cast(type, hint).__name__}"}
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin is tuple:
        if arguments[-1] is Ellipsis:
            return {"type": "array", "items": _of_type(arguments[0])}
        return {
            "type": "array",
            "items": _of_type(arguments[0]),
            "minItems": len(arguments),
            "maxItems": len(arguments),
        }
    if origin in (typing.Union, types.UnionType):
        choices = [_of_type(a) for a in arguments if a is not type(None)]
        return choices[0] if len(choices) == 1 else {"anyOf": choices}
    if origin is dict:
        return {"type": "object", "additionalProperties": _of_type(arguments[1])}
    raise TypeError(hint)


def _of_dataclass(kind: type) -> Schema:
    hints = typing.get_type_hints(kind)
    properties, required = {}, []
    for entry in dataclasses.fields(kind):
        name = entry.name
        properties[name] = BY_BAND if name in _NAMED_LENGTH_21 else _of_type(hints[name])
        if (kind.__name__, name) in _CHOICES:
            properties[name] = {"enum": list(_CHOICES[kind.__name__, name])}
        if entry.default is dataclasses.MISSING and entry.default_factory is dataclasses.MISSING:
            required.append(name)
    if kind is inputs.Element:
        properties["base"] = _object({"weighted_db": NUMBER}, ["weighted_db"])
        del properties["base_weighted_db"]
    if "spectrum" in properties:
        properties["spectrum"] = SPECTRUM
    if kind is room_inputs.ReceivingRoom:
        properties["side_paths"] = {"type": "array", "items": _side_path()}
    return _object(properties, required)


def _side_path() -> Schema:
    """A side path is one flat object; ``after`` holds the fields that the treatment changes."""
    shapes = []
    for state in (sidepaths.CavityRoute, sidepaths.Leak, sidepaths.Hole, sidepaths.StatedRoute):
        shape = _of_dataclass(state)
        kinds = {
            sidepaths.CavityRoute: list(sidepaths.CAVITY_KINDS),
            sidepaths.Leak: ["leak"],
            sidepaths.Hole: ["hole"],
        }.get(state)
        own = {**shape["properties"], "kind": {"enum": kinds} if kinds else {"type": "string"}}
        changed = {k: v for k, v in own.items() if k != "kind"}
        properties = {"name": {"type": "string"}, **own, "after": _object(changed, [])}
        shapes.append(_object(properties, ["name", "kind", *shape["required"]]))
    return {"anyOf": shapes}


def _plan_input() -> Schema:
    return _object(
        {
            "volume_m3": NUMBER,
            "separating_area_m2": NUMBER,
            "spectrum": SPECTRUM,
            "fixed_transmission": BY_BAND,
            "surfaces": {"type": "array", "items": _of_dataclass(plan.Surface)},
            "target_db": NUMBER,
            "limits": _object({"cost": MONEY, **dict.fromkeys(plan.RESOURCES, NUMBER)}, []),
            "seconds": NUMBER,
            "seed": {"type": "integer"},
        },
        ["volume_m3", "separating_area_m2", "surfaces"],
    )


def _plan_output() -> Schema:
    choice = _of_dataclass(plan.Choice)
    return _object(
        {
            "cheapest": {"anyOf": [choice, {"type": "null"}]},
            "front": {"type": "array", "items": choice},
            "exact": {"type": "boolean"},
        },
        ["cheapest", "front", "exact"],
    )


def _with_bands(kind: type) -> Schema:
    schema = _of_dataclass(kind)
    schema["properties"] = {"bands_hz": {"type": "array", "items": {"type": "integer"}}, **schema["properties"]}
    schema["required"] = ["bands_hz", *schema["required"]]
    return schema


def _element() -> Schema:
    """A build-up, with what stands in it."""
    schema = _of_dataclass(inputs.Element)
    openings = [_of_dataclass(kind) for kind in (sidepaths.Leak, sidepaths.Hole)]
    for opening, kind in zip(openings, ("leak", "hole"), strict=True):
        opening["properties"]["kind"] = {"enum": [kind]}
        opening["required"].append("kind")
    schema["properties"]["parts"] = {"type": "array", "items": _of_dataclass(composite.Part)}
    schema["properties"]["openings"] = {"type": "array", "items": {"anyOf": openings}}
    return schema


def _rate() -> tuple[Schema, Schema]:
    given = {"kind": {"enum": ["airborne", "impact", "stc"]}, "bands_hz": NUMBERS, "values_db": NUMBERS}
    results = [_of_dataclass(k) for k in (ratings.AirborneRating, ratings.ImpactRating, ratings.StcRating)]
    return _object(given, ["kind", "values_db"]), {"anyOf": results}


def _field() -> tuple[Schema, Schema]:
    given = {
        "kind": {"enum": ["airborne", "impact"]},
        "bands_hz": NUMBERS,
        **dict.fromkeys(("source_db", "receiving_db", "background_db"), LEVELS),
        "reverberation_s": {"anyOf": [NUMBERS, NUMBER]},
        "volume_m3": NUMBER,
        "area_m2": NUMBER,
    }
    output = _of_dataclass(field.FieldResult)
    output["properties"]["standardized_db"] = output["properties"]["apparent_reduction_db"] = NUMBERS
    return _object(given, ["kind", "receiving_db", "reverberation_s", "volume_m3"]), output


def _lengths() -> tuple[Schema, Schema]:
    return _open(["stock", "pieces"]), _open(["used", "count", "cost", "lower_bound", "optimal"])


def _open(required: list[str]) -> Schema:
    """An object described by its required fields; the take-off checks the rest."""
    return _object({name: {} for name in required}, required, extra=True)


_KINDS = {
    kind.__name__: kind
    for module in (errors, inputs, composite, junctions, plan, room_inputs, rooms)
    for kind in vars(module).values()
    if isinstance(kind, type) and dataclasses.is_dataclass(kind)
}


def _names(schema: Any) -> set[str]:
    """Names of the definitions that a schema refers to."""
    if isinstance(schema, list):
        return set().union(*map(_names, schema)) if schema else set()
    if not isinstance(schema, dict):
        return set()
    own = {schema["$ref"].removeprefix("#/$defs/")} if isinstance(schema.get("$ref"), str) else set()
    return own.union(*map(_names, schema.values()))


def _definitions(schema: Schema) -> Schema:
    found: Schema = {}
    missing = _names(schema)
    while missing:
        found.update({name: _of_dataclass(_KINDS[name]) for name in missing})
        missing = _names(list(found.values())) - set(found)
    return dict(sorted(found.items()))


_SHAPES = {
    "rate": _rate,
    "field": _field,
    "element": lambda: (_element(), _with_bands(buildup.ElementResult)),
    "predict": lambda: (_of_dataclass(room_inputs.ReceivingRoom), _with_bands(rooms.Prediction)),
    "plan": lambda: (_plan_input(), _plan_output()),
    "lengths": _lengths,
    "sheets": lambda: (_open(["stock", "pieces"]), _open(["sheets", "count", "lower_bound"])),
    "layout": lambda: (_open(["outline_mm", "board"]), _open(["layers", "sheets", "lower_bound"])),
}


def schema_of(verb: str) -> Schema:
    """Schemas of what a verb reads and writes."""
    assert verb in VERBS
    given, result = _SHAPES[verb]()
    schema: Schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": verb,
        "input": given,
        "output": result,
    }
    definitions = _definitions(schema)
    return {**schema, "$defs": definitions} if definitions else schema
