"""The verbs of the JSON front door: one object in, one object out."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from . import parse
from .bands import BANDS_HZ
from .buildup import predict_element
from .composite import predict_composite
from .errors import InputError, one_of
from .field import field_airborne, field_impact
from .ratings import rate_airborne, rate_impact, rate_stc
from .rooms import predict_room

Verb = Callable[[dict[str, Any]], dict[str, Any]]


def _present(result: object) -> dict[str, Any]:
    """A result dataclass as plain JSON, without the fields that do not apply."""
    return {key: value for key, value in asdict(result).items() if value is not None}  # type: ignore[call-overload]


def rate(data: dict[str, Any]) -> dict[str, Any]:
    parse.only(data, {"kind", "bands_hz", "values_db"})
    parse.required(data, "kind", "values_db")
    raters = {"airborne": rate_airborne, "impact": rate_impact, "stc": rate_stc}
    kind = one_of("kind", data["kind"], raters)
    return _present(raters[kind](data["values_db"], data.get("bands_hz")))


_FIELD = {"bands_hz", "source_db", "receiving_db", "background_db", "reverberation_s", "volume_m3", "area_m2"}


def field(data: dict[str, Any]) -> dict[str, Any]:
    parse.only(data, _FIELD | {"kind"})
    parse.required(data, "kind", "receiving_db", "reverberation_s", "volume_m3")
    given = {k: data[k] for k in _FIELD if data.get(k) is not None}
    if data["kind"] == "airborne":
        parse.required(data, "source_db")
        return _present(field_airborne(**given))
    if data["kind"] == "impact":
        for name in ("source_db", "area_m2"):
            given.pop(name, None)
        return _present(field_impact(**given))
    raise InputError("kind", f"unknown {data['kind']!r}; use airborne or impact")


def element(data: dict[str, Any]) -> dict[str, Any]:
    if data.get("parts") or data.get("openings"):
        return {"bands_hz": list(BANDS_HZ), **asdict(predict_composite(parse.composite(data)))}
    bare = {k: v for k, v in data.items() if k not in ("parts", "openings") or v}
    return {"bands_hz": list(BANDS_HZ), **asdict(predict_element(parse.build_up(bare)))}


def predict(data: dict[str, Any]) -> dict[str, Any]:
    return {"bands_hz": list(BANDS_HZ), **asdict(predict_room(parse.room(data)))}


def _takeoff(name: str) -> Verb:
    """A verb of the take-off, imported when used: its solvers take long to load."""

    def verb(data: dict[str, Any]) -> dict[str, Any]:
        return getattr(importlib.import_module("acoustics.takeoff.door"), name)(data)

    return verb


def _plan(data: dict[str, Any]) -> dict[str, Any]:
    return importlib.import_module("acoustics.plan").plan_from(data)


VERBS: dict[str, Verb] = {
    "rate": rate,
    "field": field,
    "element": element,
    "predict": predict,
    "plan": _plan,
    "lengths": _takeoff("lengths"),
    "sheets": _takeoff("sheets"),
    "layout": _takeoff("layout"),
}
