"""Two people at the same visit, the same bank holidays, and the same price list at the same moment."""

from datetime import date
from decimal import Decimal

import pytest

from contractor.accounts.models import AuditEntry, Firm
from contractor.catalogue.models import Supplier
from contractor.catalogue.price_list_services import price_list_keep, prices_take
from contractor.catalogue.price_lists import Columns
from contractor.jobs.models import DayOff
from contractor.weeks.services import bank_holidays_add, visit_move
from tests.at_once import at_once
from tests.factories import MaterialFactory, UserFactory, VisitFactory

pytestmark = pytest.mark.django_db(transaction=True)


def test_every_move_of_a_visit_counts_in_its_sequence():
    """RFC 5545, 3.8.7.4: each change raises it, so that a calendar never takes the older for the newer."""
    visit, ada = VisitFactory(purpose="survey"), UserFactory()
    days = [date(2026, 12, day) for day in (1, 2, 3, 4)]

    def move(day: date) -> None:
        found = type(visit).objects.get(pk=visit.pk)
        visit_move(visit=found, on_date=day, by=ada, from_person=None, to_person=None)

    at_once(*[lambda day=day: move(day) for day in days])
    visit.refresh_from_db()
    assert visit.sequence == 4 and visit.on_date in days


def test_bank_holidays_asked_for_twice_at_once_are_there_once():
    Firm.objects.get_or_create(pk=1)
    ada = UserFactory()
    counts = at_once(*[lambda: bank_holidays_add(year=2027, by=ada)] * 2)
    assert sorted(counts) == [0, 8] and DayOff.objects.count() == 8


def test_a_price_list_taken_over_twice_at_once_sets_each_price_once():
    ada, supplier = UserFactory(), Supplier.objects.create(name="Ashdown Boards")
    board = MaterialFactory(supplier=supplier, supplier_code="A1", price=Decimal("14.00"))
    kept = price_list_keep(supplier=supplier, name="List", text="Code,Price\nA1,14.90\n", by=ada)
    key = f"{board.pk}:14.00:14.90"
    taken = at_once(*[lambda: prices_take(price_list=kept, columns=Columns(price=1, code=0), keys=[key], by=ada)] * 2)
    board.refresh_from_db()
    assert board.price == Decimal("14.90")
    assert sorted(len(changes) for changes, _ in taken) == [0, 1]
    assert AuditEntry.objects.filter(action="price list taken over").count() == 2
