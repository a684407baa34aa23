"""Order lists: split by supplier, the van taken off, and the last day to order counted by hand."""

from datetime import date
from decimal import Decimal

import pytest

from contractor.catalogue.models import Material, Supplier
from contractor.common.sheets import harmless
from contractor.jobs.models import Job
from contractor.orders.lists import last_day_to_order, order_lists, working_days_after

TODAY = date(2026, 11, 25)  # a Wednesday
BOARDS, TIMBER = Supplier(pk=1, name="Mere Boards"), Supplier(pk=2, name="alder Timber")
MATERIALS = {
    "board": Material(pk=11, key="board", supplier=BOARDS, price=Decimal("20.25")),
    "stud": Material(pk=12, key="stud", supplier=TIMBER, price=Decimal("4.10")),
    "screw": Material(pk=13, key="screw", price=None),
}


def row(key: str, packs: int, mass_kg: str = "0.0", days: int = 3, **changes) -> dict:
    made = {
        "material_key": key,
        "material": key.title(),
        "packs": packs,
        "pack_quantity": 1,
        "pack_unit": "sheet",
        "pack_price": "20.25",
        "mass_kg": mass_kg,
        "lead_time_days": days,
        "price_is_illustrative": False,
    }
    return made | changes


def lists(*rows: dict, van: dict | None = None, first_day: date | None = None):
    return order_lists(list(rows), MATERIALS, van or {}, first_day, TODAY)


@pytest.mark.parametrize(
    ("first_day", "days", "order_on"),
    [
        (date(2026, 12, 4), 3, date(2026, 11, 30)),  # Friday: there on Thursday, three working days before is Monday
        (date(2026, 12, 7), 0, date(2026, 12, 4)),  # Monday: the working day before is Friday
        (date(2026, 12, 7), 5, date(2026, 11, 27)),  # over a weekend: Friday to Friday
        (date(2026, 12, 6), 1, date(2026, 12, 3)),  # a Sunday's work: there on Friday, ordered on Thursday
    ],
)
def test_the_last_day_to_order_skips_weekends(first_day, days, order_on):
    assert last_day_to_order(first_day, days) == order_on


def test_the_last_day_to_order_skips_days_off():
    """Work begins on Tuesday 29 Dec 2026; Christmas Day and the substitute Boxing Day, Monday, are no working days."""
    closed = {date(2026, 12, 25), date(2026, 12, 28)}
    assert last_day_to_order(date(2026, 12, 29), 2, closed) == date(2026, 12, 22)
    assert working_days_after(date(2026, 12, 24), 1, closed) == date(2026, 12, 29)


def test_lines_are_split_by_supplier_and_those_of_nobody_come_last():
    found = lists(row("screw", 1), row("board", 6), row("stud", 9), row("gone", 2))
    assert [(order.name, [line.name for line in order.lines]) for order in found] == [
        ("alder Timber", ["Stud"]),
        ("Mere Boards", ["Board"]),
        ("No supplier named yet", ["Screw", "Gone"]),
    ]
    assert [order.key for order in found] == ["2", "1", "none"]


def test_the_van_is_taken_off_packs_cost_and_weight():
    (order,) = lists(row("board", 6, "221.4"), van={11: 2})
    (line,) = order.lines
    assert (line.needed, line.packs, line.words) == (6, 4, "4 sheets")
    assert order.cost == Decimal("81.00")
    assert order.mass_kg == Decimal("147.6")  # 4 of 36.9
    assert line.lift == "Two people"


# 15 sheets of a board of 12.8 kg/m² are 192 kg/m², over the 150 that floors of homes are designed for (worked figures of
# the trade; EN 1991-1-1 table 6.2, category A, from memory): so two stacks, of 11 at most.
def test_what_a_delivery_puts_on_the_floor():
    sheet = Material(
        pk=14, key="dense", form="sheet", width_mm=1200, length_mm=2400, supplier=BOARDS, price=Decimal(20)
    )
    mass_kg = str(15 * Decimal("12.8") * Decimal("2.88"))
    (order,) = order_lists([row("dense", 15, mass_kg), row("stud", 9, "20")][:1], {"dense": sheet}, {}, None, TODAY)
    (stack,) = order.stacks
    assert (stack.kg_m2, stack.is_too_heavy, stack.most, stack.stacks) == (Decimal(192), True, 11, 2)
    (order,) = order_lists([row("dense", 15, mass_kg)], {"dense": sheet}, {14: 4}, None, TODAY)
    assert (order.stacks[0].count, order.stacks[0].is_too_heavy, order.stacks[0].stacks) == (11, False, 1)
    assert lists(row("stud", 9, "20"))[0].stacks == []


def test_more_in_the_van_than_needed_orders_none():
    (order,) = lists(row("board", 6, "221.4"), van={11: 8}, first_day=date(2026, 11, 26))
    assert order.lines[0].packs == 0 and order.to_order == [] and order.cost == 0
    assert order.order_by is None and not order.is_late


def test_one_material_needed_in_two_units_is_ordered_once():
    (order,) = lists(row("board", 6, "60.0"), row("board", 1, "10.0"), van={11: 3})
    assert [(line.needed, line.packs, line.mass_kg) for line in order.lines] == [(7, 4, Decimal(40))]


def test_a_list_is_late_when_its_longest_lead_time_has_run_out():
    in_time = lists(row("board", 1, days=2), first_day=date(2026, 11, 30))[0]  # there Friday, ordered Wednesday
    late = lists(row("board", 1, days=2), row("board", 1), row("stud", 1, days=9), first_day=date(2026, 11, 30))
    assert (in_time.order_by, in_time.is_late) == (TODAY, False)
    assert {order.name: order.is_late for order in late} == {"alder Timber": True, "Mere Boards": False}


@pytest.mark.parametrize("text", ["=SUM(A1)", "+1", "-1", "@cmd", "\t=1", "\r=1"])
def test_what_a_spreadsheet_would_run_is_made_plain(text):
    assert harmless(text) == f"'{text}"


def test_other_cells_stay_as_they_are():
    assert [harmless(cell) for cell in ("Board 15 = dense", "", -3, 4.5)] == ["Board 15 = dense", "", -3, 4.5]


def test_a_job_has_a_step_for_orders():
    from contractor.orders.steps import look_at_orders

    assert [look_at_orders(Job(stage=stage))[0] for stage in ("surveyed", "accepted", "complete")] == [
        "waiting",
        "now",
        "done",
    ]
