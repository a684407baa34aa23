"""The arithmetic of a price: one case reckoned by hand, and rules that hold for any take-off."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from contractor.quotes.prices import SECTIONS, Extra, Finish, LabourPrice, Override, Rates, Reduction, add_up, pence
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


def test_the_trace_tells_where_quantity_materials_and_hours_come_from():
    # 8.64 m² × 2.136 h each × 1.1 = 20.30 h, to a hundredth; 3.600 × 2.400 m = 8.64 m².
    told = {
        "labour_hours_per_unit": "2.136",
        "labour_factors": [{"name": "Lived in", "factor": "1.1"}],
        "materials": [{"material": "Dense board 15", "cost": "412.50"}],
    }
    lines = price_option(takeoff([face(**told)]), RATES).lines
    steps = {step.label: step for step in next(line for line in lines if line.section == "linings").trace}
    assert (steps["Quantity"].working, steps["Quantity"].amount) == ("3,600 × 2,400 mm", None)
    assert steps["Materials"].working.startswith("Dense board 15 £412.50: its share of what is bought")
    hours = "20.30 h × £38.00 an hour; the hours: 8.64 m² × 2.136 h each m² × 1.1 (Lived in)"
    assert (steps["Fitter"].working, steps["Fitter"].amount) == (hours, Decimal("771.40"))
    assert "15 % of £412.50" in steps["Ordering and handling"].working
    preparation = next(line for line in lines if line.section == "preparation")
    assert preparation.trace[0].working == "B Party wall 1: 8.64 m²"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"quantity": "6.12", "openings_mm": [[], []]}, "its outline in the take-off, within 3,600 × 2,400 mm, less 2"),
        ({"unit": "m", "quantity": "2.40"}, "as the survey has it, in the take-off"),
        ({"width_mm": None}, "its area in the take-off"),
    ],
)
def test_a_quantity_that_is_no_plain_rectangle_says_so(changes, words):
    line = next(line for line in price_option(takeoff([face(**changes)]), RATES).lines if line.section == "linings")
    assert line.trace[0].working.startswith(words)


@pytest.mark.parametrize(("amount", "expected"), [("0.005", "0.01"), ("1.004999", "1.00"), ("-0.005", "-0.01")])
def test_half_a_penny_goes_up(amount, expected):
    assert pence(Decimal(amount)) == Decimal(expected)


def override(line, **changes):
    given_ = {
        "pk": 1,
        "line_key": line.key,
        "line_name": line.description,
        "quantity": None,
        "unit_price": None,
        "was_quantity": line.quantity,
        "was_unit_price": line.unit_price,
        "reason": "Agreed on the doorstep",
        "by": "Ada, 1 May 2026",
    }
    return Override(**given_ | changes)


def worked_out(section):
    return next(line for line in price_option(takeoff(), RATES).lines if line.section == section)


def test_an_overridden_line_reckoned_by_hand():
    # Lining 8.64 × 150.00 = 1296.00; preparation 216.60; preliminaries 10 % of 1512.60 = 151.26. Net 1663.86.
    # Cost stays 1500.84 (see the test of cost above), so the margin falls to 163.02.
    priced = price_option(takeoff(), RATES, overrides=[override(worked_out("linings"), unit_price=Decimal(150))])
    line = next(line for line in priced.lines if line.section == "linings")
    assert (line.net, line.before.net) == (Decimal("1296.00"), Decimal("1494.89"))
    assert (priced.net, priced.cost, priced.margin) == (Decimal("1663.86"), Decimal("1500.84"), Decimal("163.02"))
    assert line.trace[-1].working == "£173.02 → £150.00 each m². Agreed on the doorstep (Ada, 1 May 2026)"
    assert line.trace[-1].amount == line.net


def test_an_override_of_a_line_that_is_gone_is_told_and_counts_for_nothing():
    lost = override(worked_out("preparation"), quantity=Decimal(2))
    priced = price_option(takeoff(preparation=False), RATES, overrides=[lost])
    assert priced.astray == (lost,)
    assert priced.net == price_option(takeoff(preparation=False), RATES).net


def test_another_build_up_at_the_same_place_is_another_line():
    lining = override(worked_out("linings"), unit_price=Decimal(150))
    priced = price_option(takeoff([face(build_up_key="other")]), RATES, overrides=[lining])
    assert priced.astray == (lining,)


def test_a_discount_is_taken_off_each_rate_and_out_of_the_margin():
    # 5 % of 1882.64 = 94.132 → 94.13 at 20 %; 5 % of 250.00 = 12.50 at 5 %. VAT: 1788.51 × 20 % = 357.702 → 357.70;
    # 237.50 × 5 % = 11.875 → 11.88.
    off = Reduction(pk=1, percent=Decimal(5), amount=None, reason="Empty week")
    priced = price_option(takeoff(), RATES, [extra(vat_percent=Decimal(5))], reductions=[off])
    assert [line.net for line in priced.lines if line.discount_pk] == [Decimal("-94.13"), Decimal("-12.50")]
    assert priced.vat == Decimal("369.58")
    assert priced.margin == Decimal("381.80") - Decimal("106.63")


def test_a_sum_off_is_shared_between_the_rates_to_the_penny():
    # 100 × 1882.64 ÷ 2132.64 = 88.2774…; 100 × 250 ÷ 2132.64 = 11.7225…
    off = Reduction(pk=1, percent=None, amount=Decimal(100), reason="Empty week")
    priced = price_option(takeoff(), RATES, [extra(vat_percent=Decimal(5))], reductions=[off])
    assert [line.net for line in priced.lines if line.discount_pk] == [Decimal("-88.28"), Decimal("-11.72")]


def test_margin_and_markup_are_two_figures():
    # 381.80 ÷ 1882.64 = 20.28 % of the price; 381.80 ÷ 1500.84 = 25.44 % on cost.
    priced = price_option(takeoff(), RATES)
    assert (priced.margin_percent, priced.markup_percent) == (Decimal("20.3"), Decimal("25.4"))


def test_every_kind_of_line_can_be_traced():
    rates = Rates(
        **vars(RATES)
        | {
            "box_point": LabourPrice(name="Electrician, a point", rate=Decimal(85)),
            "finish": Finish(description="Skim coat", hours_per_m2=Decimal("0.28"), rate_key="fitter"),
            "vat_note": "Home not lived in for two years before the start. Letter of the council, in the job's papers",
        }
    )
    off = Reduction(pk=1, percent=Decimal(5), amount=None, reason="Empty week")
    lining = override(worked_out("linings"), unit_price=Decimal(150))
    priced = price_option(takeoff([face(boxes=2)]), rates, [extra()], [lining], [off])
    sections = {line.section for line in priced.lines}
    assert sections == {"preliminaries", "preparation", "linings", "by_others", "finishing", "waste", "discount"}
    assert all(line.trace for line in priced.lines)
    assert len({line.key for line in priced.lines}) == len(priced.lines)
    for line in priced.lines:
        told = any("Letter of the council" in step.working for step in line.trace)
        assert told == line.is_worked_out


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


# What the office sets on a line, by the line's place among the worked-out ones: (place, quantity, unit price).
OVERRIDES = st.lists(
    st.tuples(
        st.integers(min_value=0, max_value=30),
        st.none() | st.decimals(min_value=Decimal("0.001"), max_value=500, places=3),
        st.decimals(min_value=0, max_value=2_000, places=2),
    ),
    max_size=4,
)
PERCENT_OFF = st.decimals(min_value=Decimal("0.01"), max_value=100, places=2)
SUM_OFF = st.decimals(min_value=Decimal("0.01"), max_value=3_000, places=2)
REDUCTIONS = st.lists(
    st.builds(Reduction, pk=st.just(1), percent=PERCENT_OFF, amount=st.none(), reason=st.just("x"))
    | st.builds(Reduction, pk=st.just(2), percent=st.none(), amount=SUM_OFF, reason=st.just("x")),
    max_size=3,
)


def set_by_hand(faces, rates, extras, overrides, reductions):
    lines = [line for line in price_option(takeoff(faces), rates).lines if line.is_worked_out]
    chosen = {
        lines[place].key: override(lines[place], quantity=quantity, unit_price=unit_price)
        for place, quantity, unit_price in overrides
        if place < len(lines)
    }
    return price_option(takeoff(faces), rates, extras, list(chosen.values()), reductions)


def in_pence(amount: Decimal) -> int:
    whole = Fraction(amount) * 100
    assert whole.denominator == 1, f"{amount} is no whole number of pence"
    return whole.numerator


@settings(deadline=None)  # a busy machine is no failure
@given(
    faces=st.lists(FACES, max_size=8),
    rates=RATES_STRATEGY,
    extras=st.lists(EXTRAS, max_size=8),
    overrides=OVERRIDES,
    reductions=REDUCTIONS,
)
def test_lines_add_up_to_sections_and_sections_to_totals_in_pence(faces, rates, extras, overrides, reductions):
    priced = set_by_hand(faces, rates, extras, overrides, reductions)
    for section in priced.sections:
        assert in_pence(section.net) == sum(in_pence(line.net) for line in section.lines)
    assert in_pence(priced.net) == sum(in_pence(section.net) for section in priced.sections)
    assert in_pence(priced.net) == sum(in_pence(band.net) for band in priced.vat_bands)
    assert in_pence(priced.vat) == sum(in_pence(band.vat) for band in priced.vat_bands)
    assert in_pence(priced.total) == in_pence(priced.net) + in_pence(priced.vat)


@settings(deadline=None)  # a busy machine is no failure
@given(
    faces=st.lists(FACES, min_size=1, max_size=8),
    rates=RATES_STRATEGY,
    extras=st.lists(EXTRAS, max_size=8),
    overrides=OVERRIDES,
    reductions=REDUCTIONS,
)
def test_every_figure_can_be_checked_with_a_calculator(faces, rates, extras, overrides, reductions):
    priced = set_by_hand(faces, rates, extras, overrides, reductions)
    for line in priced.lines:
        exact = Fraction(line.quantity) * Fraction(line.unit_price) * 100
        away = abs(exact) % 1 >= Fraction(1, 2)
        nearest = int(abs(exact)) + (1 if away else 0)
        assert in_pence(line.net) == (nearest if exact >= 0 else -nearest)
    for band in priced.vat_bands:
        assert abs(Fraction(band.vat) - Fraction(band.net) * Fraction(band.percent) / 100) <= Fraction(1, 200)


@settings(deadline=None)  # a busy machine is no failure
@given(extras=st.lists(EXTRAS, min_size=1, max_size=8), amount=SUM_OFF)
def test_a_sum_off_is_off_to_the_penny(extras, amount):
    off = Reduction(pk=1, percent=None, amount=amount, reason="x")
    plain = price_option(takeoff([]), RATES, extras)
    if not any(band.net > 0 for band in plain.vat_bands):
        return
    assert price_option(takeoff([]), RATES, extras, reductions=[off]).net == plain.net - amount


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
