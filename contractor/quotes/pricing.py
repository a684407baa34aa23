"""From a take-off, the firm's rates and lines added by hand to a price. Pure: no database, no clock.

How a price is rounded, here and nowhere else:

1. a unit price is rounded to the penny, half up;
2. a line is its quantity times its unit price, rounded to the penny, half up;
3. sections are sums of their lines, and the net total is the sum of its sections;
4. VAT is worked out once for each rate, on the sum of that rate's lines, rounded to the penny, half up;
5. the total is the net total and the VAT.

So whoever holds the document can check each figure on it with a pocket calculator.

How a worked-out line is built up (the trade's usual order, common practice): what the materials cost, plus the firm's
percentage for ordering and handling them; plus hours times the rate of the trade; plus overhead and profit as a markup
on both. Preliminaries are a percentage of all worked-out lines.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from contractor.quotes.models import Section

PENNY = Decimal("0.01")
NOTHING = Decimal("0.00")
SECTIONS = dict(Section.choices)
LINED_SURFACES = ("wall", "ceiling", "floor")
MOST_NAMED = 4
UNIT_WORDS = {"m2": "m²", "m": "m", "each": "no."}


def pence(amount: Decimal) -> Decimal:
    """Pounds to the penny, half up (away from nothing, so that a discount mirrors a charge)."""
    return Decimal(amount).quantize(PENNY, rounding=ROUND_HALF_UP)


@dataclass(frozen=True, kw_only=True)
class LabourPrice:
    """What one hour (or point, or visit) of a trade is reckoned at, in pounds."""

    name: str
    rate: Decimal


@dataclass(frozen=True, kw_only=True)
class Finish:
    """Hours of one trade to finish a square metre of new lining, such as a skim coat."""

    description: str
    hours_per_m2: Decimal
    rate_key: str


@dataclass(frozen=True, kw_only=True)
class Rates:
    """The firm's settings that make a price of a take-off. Percentages as 15 for 15 %."""

    materials_markup_percent: Decimal
    overhead_profit_percent: Decimal
    preliminaries_percent: Decimal
    vat_percent: Decimal
    labour: Mapping[str, LabourPrice]
    finish: Finish | None = None
    box_point: LabourPrice | None = None  # moving one socket or switch


@dataclass(frozen=True, kw_only=True)
class Extra:
    """A line added by hand; `pk` finds it again for editing. A discount has a unit price below nothing."""

    pk: int | None
    section: str
    description: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    vat_percent: Decimal


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of how a line was worked out, for the office's eyes."""

    label: str
    working: str
    amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Line:
    """`cost` is what it costs the firm before overhead and profit; None where nobody has said."""

    section: str
    description: str
    where: str = ""
    quantity: Decimal
    unit: str
    unit_price: Decimal
    net: Decimal
    vat_percent: Decimal
    cost: Decimal | None = None
    trace: tuple[Step, ...] = ()
    extra_pk: int | None = None


@dataclass(frozen=True)
class Unpriced:
    """A line that cannot be priced, for want of a rate."""

    what: str
    rate_key: str


@dataclass(frozen=True)
class PricedSection:
    key: str
    label: str
    lines: tuple[Line, ...]
    net: Decimal


@dataclass(frozen=True)
class VatBand:
    percent: Decimal
    net: Decimal
    vat: Decimal


@dataclass(frozen=True)
class Priced:
    """A priced option.

    `problems` are sentences for the office on what is missing from it; `left_out` names what has no price, for the
    homeowner. Neither is ever priced at nothing in silence.
    """

    sections: tuple[PricedSection, ...]
    vat_bands: tuple[VatBand, ...]
    net: Decimal
    vat: Decimal
    total: Decimal
    problems: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def lines(self) -> list[Line]:
        return [line for section in self.sections for line in section.lines]

    @property
    def cost(self) -> Decimal:
        """What the worked-out lines cost before overhead and profit."""
        return pence(sum((line.cost for line in self.lines if line.cost is not None), NOTHING))

    @property
    def costed_net(self) -> Decimal:
        """What is charged for those lines whose cost is known."""
        return sum((line.net for line in self.lines if line.cost is not None), NOTHING)

    @property
    def uncosted_net(self) -> Decimal:
        return self.net - self.costed_net

    @property
    def margin(self) -> Decimal:
        return self.costed_net - self.cost

    @property
    def margin_percent(self) -> Decimal | None:
        """Margin as a part of the price (a markup of 25 % is a margin of 20 %)."""
        return None if not self.costed_net else (100 * self.margin / self.costed_net).quantize(Decimal("0.1"))


def price_option(takeoff: Mapping, rates: Rates, extras: Sequence[Extra] = ()) -> Priced:
    """Price one option. `takeoff` is the take-off's JSON: faces, preparation, labour (see rooms' calculation)."""
    left_out = [f"{_where(face)}: {face['build_up']}" for face in takeoff["faces"] if face["problem"]]
    problems = [f"{face['label']}: {face['problem']}" for face in takeoff["faces"] if face["problem"]]
    problems += [f"{p['face']}: {p['text']}" for p in takeoff["problems"]]
    worked_out: list[Line] = []
    for make in (preparation_lines, lining_lines, finishing_lines, box_lines):
        for line in make(takeoff, rates):
            if isinstance(line, Unpriced):
                problems.append(f"{line.what}: no hourly rate called “{line.rate_key}” in the catalogue.")
                left_out.append(line.what)
            else:
                worked_out.append(line)
    lines = preliminaries_lines(worked_out, rates) + worked_out + [extra_line(extra) for extra in extras]
    return replace(add_up(lines), problems=tuple(dict.fromkeys(problems)), left_out=tuple(left_out))


def add_up(lines: Iterable[Line]) -> Priced:
    """Lines into sections, VAT by rate and totals, by the rule at the top of this file."""
    lines = list(lines)
    sections = []
    for key, label in SECTIONS.items():
        own = tuple(line for line in lines if line.section == key)
        if own:
            sections.append(PricedSection(key, label, own, sum((line.net for line in own), NOTHING)))
    bands = []
    for percent in sorted({line.vat_percent for line in lines}, reverse=True):
        net = sum((line.net for line in lines if line.vat_percent == percent), NOTHING)
        bands.append(VatBand(percent, net, pence(net * percent / 100)))
    net = sum((section.net for section in sections), NOTHING)
    vat = sum((band.vat for band in bands), NOTHING)
    return Priced(tuple(sections), tuple(bands), net, vat, net + vat)


def extra_line(extra: Extra) -> Line:
    """A hand-added line at its own price; nobody has said what it costs the firm."""
    unit_price = pence(extra.unit_price)
    return Line(
        section=extra.section,
        description=extra.description,
        quantity=extra.quantity,
        unit=extra.unit,
        unit_price=unit_price,
        net=pence(extra.quantity * unit_price),
        vat_percent=extra.vat_percent,
        trace=(
            Step(label="Added by hand", working="quantity × unit price", amount=pence(extra.quantity * unit_price)),
        ),
        extra_pk=extra.pk,
    )


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
            section="linings" if face["surface_kind"] in LINED_SURFACES else "details",
            description=face["build_up"],
            where=_where(face),
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
    steps = [Step(label=rates.box_point.name, working=f"{boxes} × {_pounds(rates.box_point.rate)}", amount=pence(cost))]
    return [
        _closed(
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
    working = f"{rates.preliminaries_percent.normalize():f} % of {_pounds(net)}"
    return [
        Line(
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
        percent = f"{rates.materials_markup_percent.normalize():f} % of {_pounds(materials)}"
        steps.append(Step(label="Ordering and handling", working=percent, amount=pence(handling)))
    hours_cost = NOTHING
    for key, hours in labour:
        price = rates.labour[key]
        hours_cost += hours * price.rate
        working = f"{hours.quantize(PENNY)} h × {_pounds(price.rate)}"
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
    percent = f"{rates.overhead_profit_percent.normalize():f} % of {_pounds(before_overhead)}"
    each = f"{_pounds(price)} ÷ {quantity.normalize():f} {unit}, to the penny"
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


def _where(face: Mapping) -> str:
    return f"{face['room']}, {face['label']}"


def _pounds(amount: Decimal) -> str:
    return f"£{pence(amount):,.2f}"
