"""Shares of a contract add up to it, to the penny, whatever is varied in between."""

from decimal import Decimal

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from contractor.billing.reckoning import Band, bands_of_lines, priced, to_ask, together, total

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
