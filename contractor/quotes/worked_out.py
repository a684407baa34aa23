"""The lines of a price that follow from the take-off and the hours, each with how it was worked out.

What the materials cost, plus the firm's percentage for ordering and handling them; plus hours times the rate of the
trade; plus overhead and profit as a markup on both (the trade's usual order, common practice). Preliminaries are a
percentage of all worked-out lines.
"""

import hashlib
from collections.abc import Mapping, Sequence
from decimal import Decimal

from contractor.quotes.prices import NOTHING, PENNY, Line, Rates, Step, Unpriced, pence

LINED_SURFACES = ("wall", "ceiling", "floor")
MOST_NAMED = 4
UNIT_WORDS = {"m2": "m²", "m": "m", "each": "no."}


def line_key(kind: str, *parts: str) -> str:
    """The same for the same work at the same place, however much of it there is and whatever it costs."""
    return f"{kind}-{hashlib.sha256('|'.join(parts).encode()).hexdigest()[:12]}"


def preparation_lines(takeoff: Mapping, rates: Rates) -> list[Line | Unpriced]:
    """One line for each kind of work and its reason in a room, over all the faces that need it."""
    faces = {face["key"]: face for face in takeoff["faces"]}
    alike: dict[tuple, list[Mapping]] = {}
    for entry in takeoff["preparation"]:
        room = faces[entry["face"]]["room"] if entry["face"] in faces else ""
        key = (room, entry["description"], entry["reason"], entry["unit"], entry["rate_key"])
        alike.setdefault(key, []).append(entry)
    lines = []
    for (room, description, reason, unit, rate_key), entries in alike.items():
        places = dict.fromkeys(faces[entry["face"]]["label"] for entry in entries if entry["face"] in faces)
        line = _worked_out(
            key=line_key("preparation", room, description, reason, unit, rate_key),
            section="preparation",
            description=description,
            where=". ".join(filter(None, [_places(room, list(places)), reason])),
            quantity=sum(Decimal(entry["quantity"]) for entry in entries),
            measured=_counted(entries, faces, unit),
            unit=unit,
            materials=NOTHING,
            labour=[(rate_key, sum(Decimal(entry["hours"]) for entry in entries))],
            hours_from=_allowed(entries[0].get("hours_per_unit"), unit),
            rates=rates,
        )
        lines.append(line)
    return lines


def lining_lines(takeoff: Mapping, rates: Rates) -> list[Line | Unpriced]:
    """One line for each face that was taken off."""
    lines = []
    for face in takeoff["faces"]:
        if face["problem"]:
            continue
        labour = [
            (entry["rate_key"], Decimal(entry["hours"])) for entry in takeoff["labour"] if entry["face"] == face["key"]
        ]
        line = _worked_out(
            key=line_key("lining", face["key"], face["build_up_key"]),
            section="linings" if face["surface_kind"] in LINED_SURFACES else "details",
            description=face["build_up"],
            where=place_of(face),
            quantity=Decimal(face["quantity"]),
            measured=_measured(face),
            unit=face["unit"],
            materials=Decimal(face["materials_cost"]),
            materials_from=_bought(face),
            labour=labour or [("fitter", Decimal(face["labour_hours"]))],
            hours_from=_allowed(face.get("labour_hours_per_unit"), face["unit"], face["labour_factors"]),
            face_key=face["key"],
            rates=rates,
        )
        lines.append(line)
    return lines


def finishing_lines(takeoff: Mapping, rates: Rates) -> list[Line | Unpriced]:
    """The finish over all new linings of walls and ceilings, where the firm has an allowance for it."""
    areas = [
        face["area_m2"]
        for face in takeoff["faces"]
        if not face["problem"] and face["surface_kind"] in ("wall", "ceiling")
    ]
    area_m2 = sum(map(Decimal, areas), Decimal(0))
    if rates.finish is None or not area_m2:
        return []
    line = _worked_out(
        key="finishing",
        section="finishing",
        description=rates.finish.description,
        where="New linings",
        quantity=area_m2,
        measured=f"new linings of walls and ceilings in the take-off: {' + '.join(areas)} m²",
        unit="m2",
        materials=NOTHING,
        labour=[(rates.finish.rate_key, area_m2 * rates.finish.hours_per_m2)],
        hours_from=_allowed(rates.finish.hours_per_m2, "m2"),
        rates=rates,
    )
    return [line]


def box_lines(takeoff: Mapping, rates: Rates) -> list[Line | Unpriced]:
    """Sockets and switches that stand in the way of a lining, by the point."""
    faces = [face for face in takeoff["faces"] if face["boxes"] and not face["problem"]]
    boxes = sum(face["boxes"] for face in faces)
    if rates.box_point is None or not boxes:
        return []
    cost = boxes * rates.box_point.rate
    found = "; ".join(f"{place_of(face)}: {face['boxes']}" for face in faces)
    steps = [Step(label="Quantity", working=f"in the way of a lining, as surveyed: {found}")]
    steps += [Step(label=rates.box_point.name, working=f"{boxes} × {pounds(rates.box_point.rate)}", amount=pence(cost))]
    return [
        _closed(
            key="boxes",
            section="by_others",
            description="Sockets and switches moved by a competent electrician",
            where="Treated surfaces",
            quantity=Decimal(boxes),
            unit="each",
            cost=cost,
            before_overhead=cost,
            steps=steps,
            rates=rates,
        )
    ]


def preliminaries_lines(worked_out: Sequence[Line], rates: Rates) -> list[Line]:
    net = sum((line.net for line in worked_out), NOTHING)
    amount = pence(net * rates.preliminaries_percent / 100)
    if not amount:
        return []
    cost = sum((line.cost for line in worked_out if line.cost is not None), NOTHING)
    working = f"{rates.preliminaries_percent.normalize():f} % of {pounds(net)}"
    return [
        Line(
            key="preliminaries",
            section="preliminaries",
            description="Setting up, protection, supervision and clearing up",
            quantity=Decimal(1),
            unit="item",
            unit_price=amount,
            net=amount,
            vat_percent=rates.vat_percent,
            cost=cost * rates.preliminaries_percent / 100,
            trace=(Step(label="Share of all worked-out lines", working=working, amount=amount),),
        )
    ]


def _worked_out(
    *, measured, materials, labour, rates, quantity, materials_from="", hours_from="", **what
) -> Line | Unpriced:
    """A line of materials and labour, or the word that a rate is missing. `measured` and the `..._from` say in words
    where the quantity, the cost of materials and the hours come from."""
    unknown = sorted({key for key, _ in labour if key not in rates.labour})
    if unknown:
        return Unpriced(", ".join(filter(None, [what["where"], what["description"]])), unknown[0])
    handling = materials * rates.materials_markup_percent / 100
    steps = [Step(label="Quantity", working=measured)]
    if materials:
        told = f"{materials_from}: its share of what is bought in whole packs".removeprefix(": ")
        steps.append(Step(label="Materials", working=told, amount=materials))
        percent = f"{rates.materials_markup_percent.normalize():f} % of {pounds(materials)}"
        steps.append(Step(label="Ordering and handling", working=percent, amount=pence(handling)))
    hours_cost = NOTHING
    for key, hours in labour:
        price = rates.labour[key]
        hours_cost += hours * price.rate
        working = f"{hours.quantize(PENNY)} h × {pounds(price.rate)} an hour"
        if hours_from:
            working += (
                f"; the hours: {quantity.normalize():f} {UNIT_WORDS.get(what['unit'], what['unit'])} × {hours_from}"
            )
        steps.append(Step(label=price.name, working=working, amount=pence(hours * price.rate)))
    return _closed(
        cost=materials + hours_cost,
        before_overhead=materials + handling + hours_cost,
        steps=steps,
        rates=rates,
        quantity=quantity if quantity > 0 else Decimal(1),
        **what,
    )


def _closed(*, cost, before_overhead, steps, rates, quantity, unit, **what) -> Line:
    """Overhead and profit, then the unit price to the penny, then the line."""
    overhead = before_overhead * rates.overhead_profit_percent / 100
    price = before_overhead + overhead
    unit_price = pence(price / quantity)
    unit = UNIT_WORDS.get(unit, unit)
    percent = f"{rates.overhead_profit_percent.normalize():f} % of {pounds(before_overhead)}"
    each = f"{pounds(price)} ÷ {quantity.normalize():f} {unit}, to the penny"
    closing = (
        Step(label="Overhead and profit", working=percent, amount=pence(overhead)),
        Step(label="Unit price", working=each, amount=unit_price),
    )
    return Line(
        quantity=quantity,
        unit=unit,
        unit_price=unit_price,
        net=pence(quantity * unit_price),
        vat_percent=rates.vat_percent,
        cost=cost,
        trace=(*steps, *closing),
        **what,
    )


def _measured(face: Mapping) -> str:
    """How the take-off measured a face: a plain rectangle as one, anything else by its outline."""
    if face["unit"] != "m2":
        return "as the survey has it, in the take-off"
    width, height, left_out = face.get("width_mm"), face.get("height_mm"), len(face.get("openings_mm") or ())
    if not (width and height):
        return "its area in the take-off"
    sides = f"{width:,} × {height:,} mm"
    if pence(Decimal(width) * Decimal(height) / 1_000_000) == Decimal(face["quantity"]):
        return sides
    openings = f", less {left_out} opening{'s' if left_out > 1 else ''}" if left_out else ""
    return f"its outline in the take-off, within {sides}{openings}"


def _counted(entries: Sequence[Mapping], faces: Mapping[str, Mapping], unit: str) -> str:
    """What each surface asks for, while there are few of them."""
    if len(entries) > MOST_NAMED:
        return f"{len(entries)} surfaces in the take-off, added up"
    unit = UNIT_WORDS.get(unit, unit)
    labels = [faces[entry["face"]]["label"] if entry["face"] in faces else "The job" for entry in entries]
    return "; ".join(f"{label}: {entry['quantity']} {unit}" for label, entry in zip(labels, entries, strict=True))


def _bought(face: Mapping) -> str:
    return "; ".join(f"{m['material']} {pounds(Decimal(m['cost']))}" for m in face.get("materials", ()))


def _allowed(hours_per_unit: str | Decimal | None, unit: str, factors: Sequence[Mapping] = ()) -> str:
    """Hours by the catalogue's allowance, and what makes them more here."""
    if hours_per_unit is None:
        return ", ".join(f"{f['name']} × {f['factor']}" for f in factors)
    allowance = f"{Decimal(hours_per_unit).normalize():f} h each {UNIT_WORDS.get(unit, unit)}"
    return " × ".join([allowance, *(f"{f['factor']} ({f['name']})" for f in factors)])


def _places(room: str, labels: Sequence[str]) -> str:
    """The faces by name while there are few of them."""
    told = "; ".join(labels) if len(labels) <= MOST_NAMED else f"{len(labels)} surfaces"
    return f"{room}, {told}" if labels else room


def place_of(face: Mapping) -> str:
    """Room and face, as a line says where it is."""
    return f"{face['room']}, {face['label']}"


def pounds(amount: Decimal) -> str:
    return f"£{pence(amount):,.2f}"
