"""Sums of a contract: the accepted option and its variations by VAT rate, shares of it, what is asked for and open.

The rule of rounding is the quote's (quotes.prices): VAT is worked out once for each rate on each document and rounded to
the penny. The contract sum is the sum of its documents. A stage asks for the share of every band up to and with it,
rounded to the penny, less what was asked for before: so the last stage brings every band to its full sum, and pence are
never lost, whatever was varied in between. The VAT on one invoice can so stray from its rate times its net, by two pence
at the most in 60,000 contracts drawn at random; all invoices together carry the contract's. A credit note mirrors its
invoice rate by rate.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from contractor.quotes.prices import NOTHING, pence


@dataclass(frozen=True, kw_only=True)
class Band:
    """Net and VAT at one rate, in pounds and pence."""

    percent: Decimal
    net: Decimal
    vat: Decimal


@dataclass(frozen=True, kw_only=True)
class Priced:
    """A variation's line with its price."""

    description: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    vat_percent: Decimal
    net: Decimal


def priced(*, description, quantity, unit, unit_price, vat_percent) -> Priced:
    return Priced(
        description=description,
        quantity=Decimal(quantity),
        unit=unit,
        unit_price=pence(unit_price),
        vat_percent=Decimal(vat_percent),
        net=pence(Decimal(quantity) * pence(unit_price)),
    )


def bands_of_lines(lines: Iterable[Priced]) -> list[Band]:
    nets: dict[Decimal, Decimal] = {}
    for line in lines:
        nets[line.vat_percent] = nets.get(line.vat_percent, NOTHING) + line.net
    return [Band(percent=p, net=net, vat=pence(net * p / 100)) for p, net in sorted(nets.items(), reverse=True)]


def bands_of_document(bands: Iterable[Mapping]) -> list[Band]:
    """Bands as frozen documents hold them: text by `percent`, `net` and `vat`."""
    return [Band(percent=Decimal(b["percent"]), net=Decimal(b["net"]), vat=Decimal(b["vat"])) for b in bands]


def together(*documents: Iterable[Band]) -> list[Band]:
    """The bands of several documents added up by rate, the highest rate first."""
    sums: dict[Decimal, tuple[Decimal, Decimal]] = {}
    for band in (band for document in documents for band in document):
        net, vat = sums.get(band.percent, (NOTHING, NOTHING))
        sums[band.percent] = (net + band.net, vat + band.vat)
    return [Band(percent=p, net=net, vat=vat) for p, (net, vat) in sorted(sums.items(), reverse=True)]


def taken_back(bands: Iterable[Band]) -> list[Band]:
    """What a credit note carries: each band of its invoice below nothing, so that both together are nothing at every
    rate."""
    return [Band(percent=band.percent, net=-band.net, vat=-band.vat) for band in bands]


def total(bands: Iterable[Band]) -> Decimal:
    return sum((band.net + band.vat for band in bands), NOTHING)


def net_of(bands: Iterable[Band]) -> Decimal:
    return sum((band.net for band in bands), NOTHING)


def vat_of(bands: Iterable[Band]) -> Decimal:
    return sum((band.vat for band in bands), NOTHING)


def to_ask(contract: Sequence[Band], asked: Sequence[Band], upto_percent: Decimal) -> list[Band]:
    """What is still to be asked for so that `upto_percent` of the contract is; bands of nothing are left out.

    The whole is the share of the contract sum to the penny, as the quote names a deposit: what rounding band by band
    makes of it is put right on the net of the highest rate.
    """
    before = {band.percent: band for band in asked}
    now = {band.percent: band for band in contract}
    parts: dict[Decimal, tuple[Decimal, Decimal]] = {}
    for percent in sorted(before.keys() | now.keys(), reverse=True):
        nothing = Band(percent=percent, net=NOTHING, vat=NOTHING)
        whole, part = now.get(percent, nothing), before.get(percent, nothing)
        net = pence(whole.net * upto_percent / 100) - part.net
        vat = pence(whole.vat * upto_percent / 100) - part.vat
        parts[percent] = (net, vat)
    wanted = pence(total(contract) * upto_percent / 100) - total(asked)
    astray = wanted - sum((net + vat for net, vat in parts.values()), NOTHING)
    if parts and astray:
        first = next(iter(parts))
        parts[first] = (parts[first][0] + astray, parts[first][1])
    return [Band(percent=p, net=net, vat=vat) for p, (net, vat) in parts.items() if net or vat]
