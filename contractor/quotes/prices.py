"""Prices as values: rates, lines, sections, VAT and totals, with the rule by which they are rounded and add up.

How a price is rounded, here and nowhere else:

1. a unit price is rounded to the penny, half up;
2. a line is its quantity times its unit price, rounded to the penny, half up;
3. sections are sums of their lines, and the net total is the sum of its sections;
4. VAT is worked out once for each rate, on the sum of that rate's lines, rounded to the penny, half up;
5. the total is the net total and the VAT;
6. a discount is a line below nothing for each rate of VAT, worked out on that rate's lines before any discount; a sum
   is shared between the rates by their nets, the last penny going to the greatest;
7. an optional extra stands outside the totals and under no discount. Its VAT is worked out on it alone, so that
   choosing it adds exactly the price that stands beside it.

So whoever holds the document can check each figure on it with a pocket calculator.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from contractor.quotes.models import Section

PENNY = Decimal("0.01")
NOTHING = Decimal("0.00")
DISCOUNT = "discount"
SECTIONS = dict(Section.choices) | {DISCOUNT: "Discount"}


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
    vat_note: str = ""  # why the rate is not the firm's own, and on what evidence
    vat_why: str = ""  # the same for the customer, without the evidence


@dataclass(frozen=True, kw_only=True)
class Extra:
    """A line added by hand; `pk` finds it again for editing. A credit has a unit price below nothing.

    One that `is_optional` is the customer's to choose; `about` tells them what it is.
    """

    pk: int | None
    section: str
    description: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    vat_percent: Decimal
    vat_note: str = ""
    vat_why: str = ""
    is_optional: bool = False
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Override:
    """What the office sets on one worked-out line; None leaves it as worked out. `was_*` is what it was then."""

    pk: int
    line_key: str
    line_name: str
    quantity: Decimal | None
    unit_price: Decimal | None
    was_quantity: Decimal
    was_unit_price: Decimal
    reason: str
    by: str


@dataclass(frozen=True, kw_only=True)
class Reduction:
    """A discount: a percentage of the net price, or an amount before VAT. One of the two is None."""

    pk: int
    percent: Decimal | None
    amount: Decimal | None
    reason: str


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of how a line was worked out, for the office's eyes. One that measures or counts has no amount."""

    label: str
    working: str
    amount: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class Line:
    """`cost` is what it costs the firm before overhead and profit; None where nobody has said. `key` finds the line
    again in another pricing; `before` is the line as worked out, where the office has overridden it."""

    key: str
    section: str
    description: str
    where: str = ""
    quantity: Decimal
    unit: str
    unit_price: Decimal
    net: Decimal
    vat_percent: Decimal
    vat_why: str = ""
    cost: Decimal | None = None
    trace: tuple[Step, ...] = ()
    extra_pk: int | None = None
    about: str = ""
    discount_pk: int | None = None
    override: Override | None = None
    before: "Line | None" = None
    face_key: str = ""  # the face of the take-off that the line is about, where it is about one

    @property
    def is_worked_out(self) -> bool:
        return self.extra_pk is None and self.discount_pk is None

    @property
    def vat(self) -> Decimal:
        """The line's VAT taken by itself, as an optional extra has it."""
        return pence(self.net * self.vat_percent / 100)

    @property
    def with_vat(self) -> Decimal:
        return self.net + self.vat


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
    why: tuple[str, ...] = ()


@dataclass(frozen=True)
class Priced:
    """A priced option.

    `problems` are sentences for the office on what is missing from it; `left_out` names what has no price, for the
    homeowner. Neither is ever priced at nothing in silence. `astray` are overrides whose line is gone. The `optional`
    extras are in no section and no total.
    """

    sections: tuple[PricedSection, ...]
    vat_bands: tuple[VatBand, ...]
    net: Decimal
    vat: Decimal
    total: Decimal
    problems: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    astray: tuple[Override, ...] = ()
    optional: tuple[Line, ...] = ()

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

    @property
    def markup_percent(self) -> Decimal | None:
        """The same margin as a part of the cost: on 100 of cost, a price of 125 is a markup of 25 %, a margin of 20 %."""
        return None if not self.cost else (100 * self.margin / self.cost).quantize(Decimal("0.1"))


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
        own = [line for line in lines if line.vat_percent == percent]
        net = sum((line.net for line in own), NOTHING)
        why = tuple(dict.fromkeys(line.vat_why for line in own if line.vat_why))
        bands.append(VatBand(percent, net, pence(net * percent / 100), why))
    net = sum((section.net for section in sections), NOTHING)
    vat = sum((band.vat for band in bands), NOTHING)
    return Priced(tuple(sections), tuple(bands), net, vat, net + vat)
