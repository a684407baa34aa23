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
            unit=unit,
            materials=NOTHING,
            labour=[(rate_key, sum(Decimal(entry["hours"]) for entry in entries))],
            factors=(),
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
            unit=face["unit"],
            materials=Decimal(face["materials_cost"]),
            labour=labour or [("fitter", Decimal(face["labour_hours"]))],
            factors=face["labour_factors"],
            rates=rates,
        )
        lines.append(line)
    return lines


def finishing_lines(takeoff: Mapping, rates: Rates) -> list[Line | Unpriced]:
    """The finish over all new linings of walls and ceilings, where the firm has an allowance for it."""
    area_m2 = sum(
        (
            Decimal(face["area_m2"])
            for face in takeoff["faces"]
            if not face["problem"] and face["surface_kind"] in ("wall", "ceiling")
        ),
        Decimal(0),
    )
    if rates.finish is None or not area_m2:
        return []
    line = _worked_out(
        key="finishing",
        section="finishing",
        description=rates.finish.description,
        where="New linings",
        quantity=area_m2,
        unit="m2",
        materials=NOTHING,
        labour=[(rates.finish.rate_key, area_m2 * rates.finish.hours_per_m2)],
        factors=(),
        rates=rates,
    )
    return [line]


def box_lines(takeoff: Mapping, rates: Rates) -> list[Line | Unpriced]:
    """Sockets and switches that stand in the way of a lining, by the point."""
    boxes = sum(face["boxes"] for face in takeoff["faces"] if not face["problem"])
    if rates.box_point is None or not boxes:
        return []
    cost = boxes * rates.box_point.rate
    steps = [Step(label=rates.box_point.name, working=f"{boxes} × {pounds(rates.box_point.rate)}", amount=pence(cost))]
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


def _worked_out(*, materials, labour, factors, rates, quantity, **what) -> Line | Unpriced:
    """A line of materials and labour, or the word that a rate is missing."""
    unknown = sorted({key for key, _ in labour if key not in rates.labour})
    if unknown:
        return Unpriced(", ".join(filter(None, [what["where"], what["description"]])), unknown[0])
    handling = materials * rates.materials_markup_percent / 100
    steps = []
    if materials:
        steps.append(Step(label="Materials", working="its share of what is bought in whole packs", amount=materials))
        percent = f"{rates.materials_markup_percent.normalize():f} % of {pounds(materials)}"
        steps.append(Step(label="Ordering and handling", working=percent, amount=pence(handling)))
    hours_cost = NOTHING
    for key, hours in labour:
        price = rates.labour[key]
        hours_cost += hours * price.rate
        working = f"{hours.quantize(PENNY)} h × {pounds(price.rate)}"
        if factors:
            working += " (hours include " + ", ".join(f"{f['name']} × {f['factor']}" for f in factors) + ")"
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


def _places(room: str, labels: Sequence[str]) -> str:
    """The faces by name while there are few of them."""
    told = "; ".join(labels) if len(labels) <= MOST_NAMED else f"{len(labels)} surfaces"
    return f"{room}, {told}" if labels else room


def place_of(face: Mapping) -> str:
    """Room and face, as a line says where it is."""
    return f"{face['room']}, {face['label']}"


def pounds(amount: Decimal) -> str:
    return f"£{pence(amount):,.2f}"
