"""From JSON objects to the engine's dataclasses, with the path of the field in every error."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from .composite import Composite, Part
from .errors import InputError, inside
from .inputs import Connection, Damping, Element, Fill, Gap, Hollow, KnownElement, KnownLining, Layer, Leaf, Lining
from .junctions import Junction
from .room_inputs import Face, FlankingPath, ReceivingRoom, SeparatingPatch
from .sidepaths import CAVITY_KINDS, CavityRoute, Hole, Leak, Route, SidePath, StatedRoute

LABELS = frozenset({"id", "name", "label", "note", "words"})
"""Keys allowed anywhere for the caller's own use."""


def mapping(data: object, field: str = "") -> dict[str, Any]:
    if not isinstance(data, dict):
        raise InputError(field, "must be an object")
    return data


def items(data: dict[str, Any], name: str) -> list[Any]:
    found = data.get(name)
    if found is None:
        return []
    if not isinstance(found, list):
        raise InputError(name, "must be a list")
    return found


def only(data: dict[str, Any], known: set[str]) -> None:
    """Refuse keys that are not known: a misspelt field must not be passed over."""
    for key in data:
        if key not in known and key not in LABELS:
            raise InputError(key, f"unknown field; known are {', '.join(sorted(known))}")


def required(data: dict[str, Any], *names: str) -> None:
    for name in names:
        if data.get(name) is None:
            raise InputError(name, "is missing")


def each(data: dict[str, Any], name: str, read: Callable[[dict[str, Any]], Any]) -> list[Any]:
    """Read every object of a list, with ``name[i]`` before the field of an error."""
    found = []
    for i, entry in enumerate(items(data, name)):
        with inside(f"{name}[{i}]"):
            found.append(read(mapping(entry)))
    return found


def one(data: dict[str, Any], name: str, read: Callable[[dict[str, Any]], Any]) -> Any:
    """Read an optional object."""
    if data.get(name) is None:
        return None
    with inside(name):
        return read(mapping(data[name]))


_LAYER = {"material", "thickness_mm", "density_kg_m3", "surface_mass_kg_m2", "critical_frequency_hz", "youngs_modulus_pa", "poisson", "loss_factor", "stiffness_ratio"}  # fmt: skip


def hollow(data: dict[str, Any]) -> Hollow:
    only(data, {"shell_mm", "web_part"})
    required(data, "shell_mm", "web_part")
    return Hollow(shell_mm=data["shell_mm"], web_part=data["web_part"])


def layer(data: dict[str, Any]) -> Layer:
    only(data, _LAYER | {"hollow"})
    required(data, "thickness_mm")
    return Layer(**{k: data[k] for k in _LAYER if data.get(k) is not None}, hollow=one(data, "hollow", hollow))


def damping(data: dict[str, Any]) -> Damping:
    known = {"thickness_mm", "shear_modulus_pa", "loss_factor"}
    only(data, known)
    required(data, *sorted(known))
    return Damping(**{k: data[k] for k in known})


def leaf(data: dict[str, Any]) -> Leaf:
    only(data, {"layers", "joined", "damping", "masonry", "base"})
    masonry = data.get("masonry", False)
    if not isinstance(masonry, bool):
        raise InputError("masonry", "must be true or false")
    return Leaf(
        layers=tuple(each(data, "layers", layer)),
        joined=data.get("joined") or "screwed",
        damping=one(data, "damping", damping),
        masonry=masonry,
    )


def fill(data: dict[str, Any]) -> Fill:
    known = {"thickness_mm", "flow_resistivity_pa_s_m2", "density_kg_m3"}
    only(data, known)
    required(data, "thickness_mm")
    return Fill(**{k: data[k] for k in known if data.get(k) is not None})


def connection(data: dict[str, Any]) -> Connection:
    known = {"kind", "spacing_mm", "stud_spacing_mm"}
    only(data, known)
    return Connection(**{k: data[k] for k in known if data.get(k) is not None})


def gap(data: dict[str, Any]) -> Gap:
    only(data, {"depth_mm", "fill", "connection"})
    required(data, "depth_mm")
    return Gap(
        depth_mm=data["depth_mm"],
        fill=one(data, "fill", fill),
        connection=one(data, "connection", connection) or Connection(),
    )


def _base(data: dict[str, Any]) -> float | None:
    """The known weighted value of the masonry: on the element, or on its leaf."""
    holders = [("", data)] + [
        (f"leaves[{i}]", entry) for i, entry in enumerate(items(data, "leaves")) if isinstance(entry, dict)
    ]
    for prefix, holder in holders:
        with inside(prefix):
            found = one(
                holder, "base", lambda b: (only(b, {"weighted_db"}), required(b, "weighted_db"), b["weighted_db"])[2]
            )
            if found is not None:
                return found
    return None


def build_up(data: dict[str, Any]) -> Element:
    only(data, {"leaves", "gaps", "size_m", "base"})
    required(data, "leaves")
    size = data.get("size_m")
    return Element(
        leaves=tuple(each(data, "leaves", leaf)),
        gaps=tuple(each(data, "gaps", gap)),
        base_weighted_db=_base(data),
        **({} if size is None else {"size_m": size}),
    )


def element(data: dict[str, Any]) -> Element | KnownElement:
    """A build-up, or ``{"reduction_db": [21]}``."""
    if "reduction_db" not in data:
        return build_up(data)
    only(data, {"reduction_db", "surface_mass_kg_m2"})
    mass = data.get("surface_mass_kg_m2")
    return KnownElement(reduction_db=data["reduction_db"], **({} if mass is None else {"surface_mass_kg_m2": mass}))


def lining(data: dict[str, Any]) -> Lining | KnownLining:
    """Gaps and leaves to add on the receiving side, or ``{"improvement_db": [21]}``."""
    if "improvement_db" in data:
        only(data, {"improvement_db"})
        return KnownLining(improvement_db=data["improvement_db"])
    only(data, {"leaves", "gaps"})
    return Lining(gaps=tuple(each(data, "gaps", gap)), leaves=tuple(each(data, "leaves", leaf)))


def part(data: dict[str, Any]) -> Part:
    only(data, {"area_m2", "element"})
    required(data, "area_m2")
    return Part(area_m2=data["area_m2"], element=_element_of(data))


def opening(data: dict[str, Any]) -> Leak | Hole:
    """A slit (kind `leak`) or round holes (kind `hole`) right through an element."""
    if data.get("kind") not in ("leak", "hole"):
        raise InputError("kind", "must be leak (a slit) or hole")
    return route(data["kind"], {k: v for k, v in data.items() if k != "kind"})  # type: ignore[return-value]


def composite(data: dict[str, Any]) -> Composite:
    """A build-up with `parts` (windows, doors, patches) and `openings` (slits and holes) in it."""
    whole = build_up({k: v for k, v in data.items() if k not in ("parts", "openings")})
    return Composite(
        element=whole, parts=tuple(each(data, "parts", part)), openings=tuple(each(data, "openings", opening))
    )


def _element_of(data: dict[str, Any], name: str = "element") -> Element | KnownElement:
    required(data, name)
    return one(data, name, element)


def _name(data: dict[str, Any]) -> str:
    name = data.get("name")
    if not isinstance(name, str) or not name.strip():
        raise InputError("name", "is missing")
    return name


def patch(data: dict[str, Any]) -> SeparatingPatch:
    only(data, {"area_m2", "element", "lining"})
    required(data, "area_m2")
    return SeparatingPatch(
        name=_name(data), area_m2=data["area_m2"], element=_element_of(data), lining=one(data, "lining", lining)
    )


def face(data: dict[str, Any]) -> Face:
    only(data, {"area_m2", "element", "lining"})
    required(data, "area_m2")
    return Face(area_m2=data["area_m2"], element=_element_of(data), lining=one(data, "lining", lining))


def junction(data: dict[str, Any]) -> Junction:
    only(data, {"kind", "length_m", "k_db"})
    required(data, "kind", "length_m")
    return Junction(kind=data["kind"], length_m=data["length_m"], k_db=data.get("k_db"))


def flank(data: dict[str, Any]) -> FlankingPath:
    only(data, {"source", "receiving", "junction"})
    required(data, "source", "receiving", "junction")
    return FlankingPath(
        name=_name(data),
        source=one(data, "source", face),
        receiving=one(data, "receiving", face),
        junction=one(data, "junction", junction),
    )


_CAVITY = {"source_area_m2", "receiving_area_m2", "link_area_m2", "source_skin", "receiving_skin", "link", "receiving_lining", "absorption", "wool"}  # fmt: skip
_LEAK = {"area_mm2", "width_mm", "depth_mm", "sealed"}
_HOLE = {"diameter_mm", "depth_mm", "count", "sealed"}
_STATED = {"area_m2", "reduction_db"}


def route(kind: str, data: dict[str, Any]) -> Route:
    """One state of a side path. Any kind may be stated by area and reduction."""
    if "reduction_db" in data:
        only(data, _STATED)
        required(data, "area_m2")
        return StatedRoute(kind=kind, **{k: data[k] for k in _STATED})
    if kind == "leak":
        only(data, _LEAK)
        required(data, "area_mm2")
        return Leak(**{k: data[k] for k in _LEAK if data.get(k) is not None})
    if kind == "hole":
        only(data, _HOLE)
        required(data, "diameter_mm")
        return Hole(**{k: data[k] for k in _HOLE if data.get(k) is not None})
    if kind not in CAVITY_KINDS:
        raise InputError("reduction_db", f"a path of kind {kind!r} needs area_m2 and reduction_db")
    only(data, _CAVITY)
    required(data, "source_area_m2", "receiving_area_m2", "link_area_m2")
    values = {
        k: data[k]
        for k in ("source_area_m2", "receiving_area_m2", "link_area_m2", "absorption", "wool")
        if data.get(k) is not None
    }
    for name in ("source_skin", "receiving_skin", "link"):
        values[name] = one(data, name, element)
    return CavityRoute(kind=kind, receiving_lining=one(data, "receiving_lining", lining), **values)


def side_path(data: dict[str, Any]) -> SidePath:
    """A side path; ``after`` holds the fields that the treatment changes."""
    kind = data.get("kind")
    if not isinstance(kind, str) or not kind:
        raise InputError("kind", "is missing")
    own = {k: v for k, v in data.items() if k not in ("name", "kind", "after")}
    after = None
    if data.get("after") is not None:
        with inside("after"):
            change = mapping(data["after"])
            # A stated reduction replaces whatever model described the path before.
            replaced = "reduction_db" in change and "reduction_db" not in own
            after = route(kind, change if replaced else {**own, **change})
    return SidePath(name=_name(data), before=route(kind, own), after=after)


def room(data: dict[str, Any]) -> ReceivingRoom:
    only(data, {"volume_m3", "reverberation_s", "separating", "flanking", "side_paths", "spectrum", "called"})
    required(data, "volume_m3", "separating")
    options = {k: data[k] for k in ("reverberation_s", "spectrum", "called") if data.get(k) is not None}
    return ReceivingRoom(
        volume_m3=data["volume_m3"],
        separating=tuple(each(data, "separating", patch)),
        flanking=tuple(each(data, "flanking", flank)),
        side_paths=tuple(each(data, "side_paths", side_path)),
        **options,
    )
