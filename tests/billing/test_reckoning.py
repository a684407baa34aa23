"""Shares of a contract add up to it, to the penny, whatever is varied in between."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from contractor.billing.reckoning import (
    Band,
    bands_of_document,
    bands_of_lines,
    net_of,
    priced,
    taken_back,
    to_ask,
    together,
    total,
    vat_of,
)

D = Decimal
PERCENTS = [D(0), D(5), D(20)]
amounts = st.decimals(D("0.01"), D("50000"), places=2)


def lines():
    return st.builds(
        priced,
        description=st.just("x"),
        quantity=st.decimals(D("0.01"), D("99"), places=2),
        unit=st.just("item"),
        unit_price=st.decimals(D("-900"), D("900"), places=2),
        vat_percent=st.sampled_from(PERCENTS),
    )


def test_a_deposit_is_the_share_to_the_penny():
    """20 % of 1,234.57 with VAT is 246.91, worked by hand: 1,028.81 net, 205.76 VAT."""
    (band,) = to_ask([Band(percent=D(20), net=D("1028.81"), vat=D("205.76"))], [], D(20))
    assert (band.net, band.vat, band.net + band.vat) == (D("205.76"), D("41.15"), D("246.91"))


def test_vat_is_worked_once_for_each_rate():
    """Three lines of 0.33 at 20 %: VAT on 0.99 is 0.20, where line by line it would be 0.21."""
    found = bands_of_lines([priced(description="x", quantity=1, unit="", unit_price="0.33", vat_percent=20)] * 3)
    assert [(b.net, b.vat) for b in found] == [(D("0.99"), D("0.20"))]


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # a busy machine is no failure
@given(
    st.lists(lines(), min_size=1, max_size=6), st.lists(lines(), max_size=3), st.lists(amounts, min_size=1, max_size=5)
)
def test_stages_bring_every_band_to_its_full_sum(quoted, varied, weights):
    """Whatever the shares, and with a variation approved after the first stage."""
    contract = bands_of_lines(quoted)
    whole = sum(weights)
    asked: list[Band] = []
    upto = D(0)
    for n, weight in enumerate(weights):
        last = n == len(weights) - 1
        upto = D(100) if last else min(D(100), upto + (100 * weight / whole).quantize(D("0.01")))
        part = to_ask(contract, asked, upto)
        asked = together(asked, part)
        assert total(asked) == (total(contract) * upto / 100).quantize(D("0.01"), rounding="ROUND_HALF_UP")
        if n == 0:
            contract = together(contract, bands_of_lines(varied))
    if len(weights) == 1:
        asked = together(asked, to_ask(contract, asked, D(100)))
    remaining = [band for band in asked if band.net or band.vat]
    assert remaining == [band for band in contract if band.net or band.vat]
    assert to_ask(contract, asked, D(100)) == []


def frozen(bands) -> list[Band]:
    """As they come back out of a frozen invoice."""
    return bands_of_document(
        [{"percent": f"{b.percent.normalize():f}", "net": str(b.net), "vat": str(b.vat)} for b in bands]
    )


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(lines(), min_size=1, max_size=6),
    st.lists(st.tuples(st.integers(1, 40), st.booleans(), st.lists(lines(), max_size=2)), min_size=1, max_size=6),
)
def test_invoices_and_credit_notes_carry_the_contracts_net_and_vat_to_the_penny(quoted, steps):
    """Whatever was varied on the way and taken back by credit notes, which mirror their invoice band by band; and VAT on
    one invoice strays from its rate times its net by no more than the pence that rounding moved, one for each rate."""
    contract, papers, upto = bands_of_lines(quoted), [], D(0)
    for percent, is_taken_back, varied in [*steps, (100, False, [])]:
        upto = min(D(100), upto + percent)
        invoice = frozen(to_ask(contract, together(*papers), upto))
        papers.append(invoice)
        if is_taken_back:
            before = together(*papers[:-1])
            papers.append(taken_back(invoice))
            assert together(*papers) == together(before, [replace(b, net=D(0), vat=D(0)) for b in invoice])
        contract = together(contract, bands_of_lines(varied))
    papers.append(frozen(to_ask(contract, together(*papers), D(100))))
    books = [band for band in together(*papers) if band.net or band.vat]
    assert books == [band for band in contract if band.net or band.vat]
    assert (net_of(books), vat_of(books), total(books)) == (net_of(contract), vat_of(contract), total(contract))


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(lines(), min_size=1, max_size=6), st.lists(st.integers(1, 99), min_size=1, max_size=5))
def test_vat_on_one_invoice_strays_by_pence_only(quoted, shares):
    """The rule that stands on the paper. Half a penny each of rounding for the share before and with it, of net and VAT,
    and what lies astray of the whole on the highest rate; nothing else was varied meanwhile."""
    contract, asked = bands_of_lines(quoted), []
    for upto in sorted({*shares, 100}):
        part = to_ask(contract, asked, D(upto))
        for band in part:
            rates = len(contract)
            assert abs(band.vat - band.net * band.percent / 100) <= D("0.02") + D("0.01") * rates * band.percent / 100
        asked = together(asked, part)
