"""The arithmetic of a price: one case reckoned by hand, and rules that hold for any take-off."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from contractor.quotes.prices import SECTIONS, Extra, Finish, LabourPrice, Rates, add_up, pence
from contractor.quotes.pricing import extra_line, price_option
from tests.quotes.results import face, takeoff

RATES = Rates(
    materials_markup_percent=Decimal(15),
    overhead_profit_percent=Decimal(20),
    preliminaries_percent=Decimal(10),
    vat_percent=Decimal(20),
    labour={"fitter": LabourPrice(name="Fitter", rate=Decimal("38.00"))},
)


def extra(**changes):
    given_ = {
        "pk": 1,
        "section": "waste",
        "description": "Skip",
        "quantity": Decimal(1),
        "unit": "item",
        "unit_price": Decimal("250.00"),
        "vat_percent": Decimal(20),
    }
    return Extra(**given_ | changes)


def test_one_wall_reckoned_by_hand():
    # Lining: 412.50 × 1.15 = 474.375; 20.30 h × 38 = 771.40; × 1.20 = 1494.93; ÷ 8.64 = 173.0243 → 173.02
    # × 8.64 = 1494.8928 → 1494.89. Preparation: 4.75 × 38 × 1.2 = 216.60; ÷ 8.64 = 25.0694 → 25.07; × 8.64 = 216.6048
    # → 216.60. Preliminaries: 10 % of 1711.49 = 171.149 → 171.15. Net 1882.64; VAT 376.528 → 376.53.
    priced = price_option(takeoff(), RATES)
    by_section = {section.key: section for section in priced.sections}
    assert by_section["linings"].lines[0].unit_price == Decimal("173.02")
    assert by_section["linings"].net == Decimal("1494.89")
    assert by_section["preparation"].net == Decimal("216.60")
    assert by_section["preliminaries"].net == Decimal("171.15")
    assert (priced.net, priced.vat, priced.total) == (Decimal("1882.64"), Decimal("376.53"), Decimal("2259.17"))
    assert priced.problems == ()


def test_cost_is_materials_and_labour_and_margin_what_is_left():
    # Cost: 412.50 + 771.40 + 180.50 = 1364.40, with a tenth for preliminaries 1500.84; margin 1882.64 − 1500.84.
    priced = price_option(takeoff(), RATES, [extra()])
    assert priced.cost == Decimal("1500.84")
    assert priced.margin == Decimal("381.80")
    assert priced.uncosted_net == Decimal("250.00")


def test_a_face_with_a_problem_is_named_and_not_priced_at_nothing():
    problem = face(2, problem="The wall is taller than the longest board.")
    priced = price_option(takeoff([face(), problem]), RATES)
    assert [line.where for line in priced.lines if line.section == "linings"] == ["Back bedroom, B Party wall 1"]
    assert priced.problems == ("B Party wall 2: The wall is taller than the longest board.",)
    assert priced.left_out == ("Back bedroom, B Party wall 2: Independent steel lining, two dense boards",)


def test_a_missing_rate_is_named_and_not_priced():
    labour = [{"face": "p1-1", "description": "x", "hours": "3", "rate_key": "plasterer"}]
    priced = price_option(takeoff(preparation=False, labour=labour), RATES)
    assert priced.lines == []
    assert "no hourly rate called “plasterer”" in priced.problems[0]


def test_details_stand_apart_from_linings_and_boxes_are_counted():
    rates = Rates(**vars(RATES) | {"box_point": LabourPrice(name="Electrician, a point", rate=Decimal("85"))})
    faces = [face(boxes=2), face(2, surface_kind="boxing", unit="m", quantity="2.40", boxes=1)]
    priced = price_option(takeoff(faces, preparation=False), rates)
    sections = {section.key: section for section in priced.sections}
    assert sections["details"].lines[0].unit == "m"
    assert sections["by_others"].lines[0].quantity == 3
    assert sections["by_others"].net == Decimal("306.00")  # 3 × 85 × 1.2


def test_finishing_is_the_area_of_walls_and_ceilings():
    finish = Finish(description="Skim coat", hours_per_m2=Decimal("0.28"), rate_key="fitter")
    rates = Rates(**vars(RATES) | {"finish": finish})
    faces = [face(), face(2, surface_kind="ceiling", area_m2="15.12"), face(3, surface_kind="floor")]
    line = next(line for line in price_option(takeoff(faces), rates).lines if line.section == "finishing")
    assert line.quantity == Decimal("23.76")
    assert line.unit_price == Decimal("12.77")  # 0.28 × 38 × 1.2 = 12.768


def test_the_trace_tells_hours_and_markups():
    line = next(line for line in price_option(takeoff(), RATES).lines if line.section == "linings")
    workings = " ".join(step.working for step in line.trace)
    assert "20.30 h × £38.00" in workings
    assert "15 % of £412.50" in workings


@pytest.mark.parametrize(("amount", "expected"), [("0.005", "0.01"), ("1.004999", "1.00"), ("-0.005", "-0.01")])
def test_half_a_penny_goes_up(amount, expected):
    assert pence(Decimal(amount)) == Decimal(expected)


MONEY = st.decimals(min_value=0, max_value=20_000, places=2)
PERCENT = st.decimals(min_value=0, max_value=100, places=2)
FACES = st.builds(
    lambda quantity, cost, hours, kind: face(
        quantity=str(quantity),
        area_m2=str(quantity),
        materials_cost=str(cost),
        labour_hours=str(hours),
        surface_kind=kind,
    ),
    st.decimals(min_value=Decimal("0.01"), max_value=400, places=2),
    MONEY,
    st.decimals(min_value=0, max_value=300, places=2),
    st.sampled_from(["wall", "ceiling", "floor", "boxing", "reveal"]),
)
RATES_STRATEGY = st.builds(
    Rates,
    materials_markup_percent=PERCENT,
    overhead_profit_percent=PERCENT,
    preliminaries_percent=PERCENT,
    vat_percent=st.sampled_from([Decimal(0), Decimal(5), Decimal(20)]),
    labour=st.just(RATES.labour),
)
EXTRAS = st.builds(
    extra,
    section=st.sampled_from(list(SECTIONS)),
    quantity=st.decimals(min_value=0, max_value=999, places=2),
    unit_price=st.decimals(min_value=-5_000, max_value=5_000, places=2),
    vat_percent=st.sampled_from([Decimal(0), Decimal(5), Decimal(20)]),
)


def in_pence(amount: Decimal) -> int:
    whole = Fraction(amount) * 100
    assert whole.denominator == 1, f"{amount} is no whole number of pence"
    return whole.numerator


@settings(deadline=None)  # a busy machine is no failure
@given(faces=st.lists(FACES, max_size=8), rates=RATES_STRATEGY, extras=st.lists(EXTRAS, max_size=8))
def test_lines_add_up_to_sections_and_sections_to_totals_in_pence(faces, rates, extras):
    priced = price_option(takeoff(faces), rates, extras)
    for section in priced.sections:
        assert in_pence(section.net) == sum(in_pence(line.net) for line in section.lines)
    assert in_pence(priced.net) == sum(in_pence(section.net) for section in priced.sections)
    assert in_pence(priced.net) == sum(in_pence(band.net) for band in priced.vat_bands)
    assert in_pence(priced.vat) == sum(in_pence(band.vat) for band in priced.vat_bands)
    assert in_pence(priced.total) == in_pence(priced.net) + in_pence(priced.vat)


@settings(deadline=None)  # a busy machine is no failure
@given(faces=st.lists(FACES, min_size=1, max_size=8), rates=RATES_STRATEGY, extras=st.lists(EXTRAS, max_size=8))
def test_every_figure_can_be_checked_with_a_calculator(faces, rates, extras):
    priced = price_option(takeoff(faces), rates, extras)
    for line in priced.lines:
        exact = Fraction(line.quantity) * Fraction(line.unit_price) * 100
        away = abs(exact) % 1 >= Fraction(1, 2)
        nearest = int(abs(exact)) + (1 if away else 0)
        assert in_pence(line.net) == (nearest if exact >= 0 else -nearest)
    for band in priced.vat_bands:
        assert abs(Fraction(band.vat) - Fraction(band.net) * Fraction(band.percent) / 100) <= Fraction(1, 200)


@settings(deadline=None)  # a busy machine is no failure
@given(lines=st.lists(EXTRAS, max_size=12))
def test_the_order_of_lines_changes_no_total(lines):
    forwards, backwards = add_up(map(extra_line, lines)), add_up(map(extra_line, reversed(lines)))
    assert (forwards.net, forwards.vat, forwards.total) == (backwards.net, backwards.vat, backwards.total)


@settings(deadline=None)  # a busy machine is no failure
@given(faces=st.lists(FACES, min_size=1, max_size=5), rates=RATES_STRATEGY)
def test_a_worked_out_price_never_loses_money_beyond_rounding(faces, rates):
    priced = price_option(takeoff(faces), rates)
    slack = sum((line.quantity * Decimal("0.005") + Decimal("0.01") for line in priced.lines), Decimal("0.01"))
    assert priced.margin >= -slack * 2
