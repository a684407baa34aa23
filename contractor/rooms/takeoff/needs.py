"""How much of each material every face needs, layer by layer, before it is rounded to packs."""

import math
from dataclasses import dataclass, field
from decimal import Decimal

from contractor.catalogue.models import BuildUpLayer, Material
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import Surface
from contractor.rooms.takeoff.boards.bridge import Boarding
from contractor.rooms.takeoff.effort import Effort
from contractor.rooms.takeoff.faces import Face
from contractor.rooms.takeoff.goods import bridge as goods
from contractor.rooms.takeoff.surfaces.bridge import CannotTakeOff, board_layers

Role, Form = BuildUpLayer.Role, Material.Form
PUTTY_PAD = "putty-pad"
MARKS = {
    "support": "SR",
    "track": "TU",
    "edge": "AE",
    "membrane": "MN",
}  # letters of cut lengths: first and second layer of a kind


Piece = tuple[Material, str, int, str, int]  # material, label, length, face key, layer order


@dataclass(frozen=True, kw_only=True)
class Need:
    """`is_planned` where a cutting plan has counted the packs already; `area_m2` is the area that slabs fill."""

    face_key: str
    material: Material
    quantity: Decimal
    unit: str
    is_planned: bool = False
    area_m2: Decimal = Decimal(0)


@dataclass(kw_only=True)
class Wants:
    """All needs; straight stock as cut, with each length's cuts; whole packs that a plan has counted, by material."""

    needs: list[Need] = field(default_factory=list)
    lengths: list[dict] = field(default_factory=list)
    cuts: dict[tuple[str, int], list[dict]] = field(default_factory=dict)
    packs: dict[str, int] = field(default_factory=dict)
    from_store: dict[str, Decimal] = field(default_factory=dict)  # of what is needed, what stored offcuts give: m2 or m
    basis: dict[str, str] = field(default_factory=dict)
    set_outs: dict[tuple[str, int], dict] = field(default_factory=dict)  # how a layer is set out, by face and order
    sizes: dict[tuple[str, int], list[dict]] = field(default_factory=dict)  # the lengths its material comes in
    proofs: list[dict] = field(default_factory=list)  # of each plan of lengths: what it costs and what it must
    problems: dict[str, str] = field(default_factory=dict)


@dataclass(kw_only=True)
class _Straight:
    """Pieces to cut from one material and its other lengths."""

    material: Material
    pieces: list[tuple[str, str, int]] = field(default_factory=list)
    layers: dict[str, tuple[str, int]] = field(default_factory=dict)  # label -> face key and layer order


def wants_of(inputs: Inputs, faces: list[Face], boarding: Boarding, effort: Effort) -> Wants:
    """What the faces need; a face whose frame cannot be set out or cut is told among the problems."""
    wants = Wants(packs=dict(boarding.sheet_counts), from_store=dict(boarding.stored_m2))
    straight: dict[str, _Straight] = {}
    drops: dict[str, tuple[Material, list[tuple[str, int]]]] = {}
    tubes: dict[str, tuple[Material, dict[str, Decimal]]] = {}
    for face in faces:
        try:
            _face_needs(inputs, face, boarding, wants, straight, drops, tubes, effort)
        except CannotTakeOff as problem:
            wants.problems[face.key] = str(problem)
    _cut_straight(inputs, straight, wants, effort)
    _cut_drops(drops, wants, effort)
    _fill_tubes(tubes, wants)
    _pads(inputs, faces, wants)
    return wants


def _face_needs(inputs: Inputs, face: Face, boarding: Boarding, wants: Wants, straight, drops, tubes, effort) -> None:
    """Add one face's needs. Nothing of a face is kept when one of its layers cannot be taken off."""
    needs: list[Need] = []
    own: list[Piece] = []
    own_drops: list[tuple[Material, str, int, int]] = []
    own_ml: list[tuple[Material, Decimal]] = []
    boards = board_layers(face) if face.outline_mm else []
    marks = {kind: iter(letters) for kind, letters in MARKS.items()}
    for layer in face.choice.build_up.layers.all():
        material = layer.material
        if material is None or layer in boards:
            continue
        if face.outline_mm and _is_frame(layer):
            members = _members(inputs, face, layer, marks, wants)
            for goods_of in {member[0] for member in members}:
                lengths = [length for member, _, length, _, _ in members if member == goods_of]
                goods.check_lengths(face, goods_of, inputs.stock, lengths)
            own += members
        elif face.outline_mm and layer.role == Role.MEMBRANE and material.form == Form.ROLL:
            drop_mm, mark = goods.drops_for(face, material, effort.fills_s), next(marks["membrane"], "N")
            labels = _labels_of(mark, face, len(drop_mm))
            own_drops += [(material, name, drop, layer.order) for name, drop in zip(labels, drop_mm, strict=True)]
            sides = {"roll_width_mm": material.width_mm, "roll_length_mm": material.length_mm}
            size = {"material_key": material.key, "material": material.name, "length_mm": material.length_mm}
            wants.set_outs[face.key, layer.order] = {"kind": "drops", "mark": mark, **sides}
            wants.sizes[face.key, layer.order] = [size]
        elif face.outline_mm and material.form == Form.TUBE and not layer.quantity_per_unit and boards:
            own_ml.append((material, goods.sealant_ml(face)))
        elif face.outline_mm and layer.role == Role.FILL and material.form == Form.BATT:
            slabs = Decimal(goods.batts_for(face, material, effort.fills_s))
            needs.append(
                Need(
                    face_key=face.key,
                    material=material,
                    quantity=slabs,
                    unit=material.pack_unit,
                    area_m2=face.area_m2,
                )
            )
        elif layer.quantity_per_unit:
            needs.append(_by_rate(face, material, layer.quantity_per_unit, layer.quantity_unit))
    needs += _fixings(face)
    wants.needs += needs
    for key, area in ((k, a) for k, a in boarding.area_by_face.items() if k[0] == face.key):
        wants.needs.append(_planned(face.key, boarding.materials[key[1]], area, "m2"))
    for material, label, length, face_key, order in own:
        group = straight.setdefault(material.key, _Straight(material=material))
        group.pieces.append((face_key, label, length))
        group.layers[label] = (face_key, order)
    for material, label, drop, order in own_drops:
        drops.setdefault(material.key, (material, []))[1].append((face.key, order, label, drop))
    for material, ml in own_ml:
        by_face = tubes.setdefault(material.key, (material, {}))[1]
        by_face[face.key] = by_face.get(face.key, Decimal(0)) + ml


def _is_frame(layer: BuildUpLayer) -> bool:
    """A bar, stud, joist, track or edge angle: set out and cut. Beads and the like go by their rate."""
    straight = layer.material.form == Form.LENGTH and layer.material.kind == Material.Kind.FRAMING
    return straight and layer.role in (Role.SUPPORT, Role.TRIM)


def _members(inputs: Inputs, face: Face, layer: BuildUpLayer, marks, wants: Wants) -> list[Piece]:
    """Pieces of one frame layer; how they are set out, and the lengths they come in, go into `wants`."""
    if layer.role == Role.TRIM:
        if face.surface.face == Surface.Face.WALL:
            return []  # tracks are set out with the studs they hold
        mark = next(marks["edge"], "E")
        wants.set_outs[face.key, layer.order] = {"kind": "edges", "mark": mark, "longest_mm": layer.material.length_mm}
        wants.sizes[face.key, layer.order] = goods.family_sizes(layer.material, inputs.stock)
        return _labelled(goods.edge_pieces(face, layer), face, layer, mark)
    layers = list(face.choice.build_up.layers.all())
    track = next((x for x in layers if x.role == Role.TRIM and x.material and _is_frame(x)), None)
    found = []
    by_role = goods.set_out(face, layer, track=track.material if track else None)
    rules = goods.set_out_rules(face, layer, track.material if track else None)
    for role, pieces in by_role.items():
        goes_with, mark = (track if role == "track" and track is not None else layer), next(marks[role], "X")
        kept = wants.set_outs.setdefault((face.key, goes_with.order), rules | {"roles": {}})
        kept["roles"][role] = mark
        wants.sizes[face.key, goes_with.order] = goods.family_sizes(goes_with.material, inputs.stock)
        found += _labelled(pieces, face, goes_with, mark)
    return found


def _labelled(pieces: list[int], face: Face, layer: BuildUpLayer, mark: str) -> list[Piece]:
    labels = _labels_of(mark, face, len(pieces))
    return [
        (layer.material, label, length, face.key, layer.order) for label, length in zip(labels, pieces, strict=True)
    ]


def _labels_of(mark: str, face: Face, count: int) -> list[str]:
    return [f"{mark}-{face.letter}-{number:02d}" for number in range(1, count + 1)]


def _by_rate(face: Face, material: Material, rate: Decimal, unit: str) -> Need:
    """So much a square metre, metre or piece of the build-up; the rates of layers already hold their waste."""
    return Need(face_key=face.key, material=material, quantity=face.quantity * rate, unit=unit)


def _fixings(face: Face) -> list[Need]:
    """Screws and plugs by area with the waste of their kind."""
    found = []
    for fixing in face.choice.build_up.fixings.all():
        count = face.quantity * fixing.per_unit * (1 + fixing.material.waste_percent / 100)
        unit = fixing.material.pack_unit
        found.append(Need(face_key=face.key, material=fixing.material, quantity=Decimal(math.ceil(count)), unit=unit))
    return found


def _cut_straight(inputs: Inputs, straight: dict[str, _Straight], wants: Wants, effort: Effort) -> None:
    for group in straight.values():
        face_of = group.layers
        first = len(wants.lengths) + 1
        used, materials, proof = goods.cut_stock(
            group.material, inputs.stock, group.pieces, first, inputs.offcuts, effort.lengths_s
        )
        wants.lengths += used
        wants.proofs.append(proof)
        metres: dict[tuple[str, str], int] = {}
        for length in used:
            key = length["material_key"]
            wants.packs[key] = wants.packs.get(key, 0) + (not length["from_offcut"])
            for cut in length["cuts"]:
                face_key, order = face_of[cut["label"]]
                metres[face_key, key] = metres.get((face_key, key), 0) + cut["length_mm"]
                if length["from_offcut"]:
                    wants.from_store[key] = wants.from_store.get(key, Decimal(0)) + Decimal(cut["length_mm"]) / 1000
                wants.cuts.setdefault((face_key, order), []).append(
                    {
                        "label": cut["label"],
                        "length_mm": cut["length_mm"],
                        "stock_number": length["number"],
                        "count": 1,
                    }
                )
        for (face_key, key), length_mm in metres.items():
            wants.needs.append(_planned(face_key, materials[key], Decimal(length_mm) / 1000, "m"))
    for cuts in wants.cuts.values():
        cuts.sort(key=lambda cut: cut["label"])


def _cut_drops(drops: dict, wants: Wants, effort: Effort) -> None:
    for key, (material, pieces) in drops.items():
        named = [(label, drop) for _, _, label, drop in pieces]
        used = goods.cut_rolls(material, named, len(wants.lengths) + 1, effort.lengths_s)
        wants.lengths += used
        wants.packs[key] = wants.packs.get(key, 0) + len(used)
        wants.basis[key] = f"{len(pieces)} drops cut from rolls of {material.length_mm / 1000:g} m"
        rolls = {cut["label"]: roll["number"] for roll in used for cut in roll["cuts"]}
        by_face: dict[str, int] = {}
        for face_key, order, label, drop in pieces:
            by_face[face_key] = by_face.get(face_key, 0) + drop
            row = {"label": label, "length_mm": drop, "stock_number": rolls[label], "count": 1}
            wants.cuts.setdefault((face_key, order), []).append(row)
        for face_key, length_mm in by_face.items():
            area = Decimal(length_mm * material.width_mm) / 1_000_000
            wants.needs.append(_planned(face_key, material, area, "m2"))


def _planned(face_key: str, material: Material, quantity: Decimal, unit: str) -> Need:
    return Need(face_key=face_key, material=material, quantity=quantity, unit=unit, is_planned=True)


def _fill_tubes(tubes: dict, wants: Wants) -> None:
    for key, (material, by_face) in tubes.items():
        waste = 1 + material.waste_percent / 100
        litres = sum(by_face.values()) * waste / 1000
        wants.basis[key] = f"perimeter × gap × depth of every board layer, {litres:.2f} l with waste"
        for face_key, ml in by_face.items():
            quantity = ml * waste / Decimal(material.volume_ml or 1)
            wants.needs.append(Need(face_key=face_key, material=material, quantity=quantity, unit="tube"))


def _pads(inputs: Inputs, faces: list[Face], wants: Wants) -> None:
    """A backing pad for each socket and switch on a treated face."""
    pad = next((m for m in inputs.stock if m.key == PUTTY_PAD), None)
    if pad is None:
        return
    for face in faces:
        if face.boxes and face.key not in wants.problems:
            wants.needs.append(Need(face_key=face.key, material=pad, quantity=Decimal(face.boxes), unit=pad.pack_unit))
