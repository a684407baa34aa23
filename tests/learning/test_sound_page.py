"""Predicted beside measured, the switch and what it does to the firm."""

from decimal import Decimal

import pytest
from django.urls import reverse

from contractor.accounts.models import AuditEntry, Firm
from contractor.accounts.selectors import the_firm
from contractor.learning.selectors import cases
from tests.learning.promises import measured, promised

pytestmark = pytest.mark.django_db
PAGE = "/learning/"


def said(client, url=PAGE) -> str:
    return " ".join(client.get(url).content.decode().split())


def switch(owner, on: str):
    return owner.post(reverse("learning:switch"), {"learn": on})


def four_off_by_a_range():
    """After the work 2, 4, −2 and 0 ranges... of 4 dB: differences 4, 8, −4, 0; squares 1, 4, 1, 0."""
    for difference in (4, 8, -4, 0):
        measured(promised(after=(55, 4.0)), 55 + difference)


def test_nothing_measured_says_what_belongs_there(owner):
    page = said(owner)
    assert "Airborne sound tests by the standard belong here" in page
    assert "0 cases, 3 are needed" in page and "<svg" not in page


def test_each_test_stands_beside_what_was_promised(owner):
    room = promised(before=(45, 3.0), after=(55, 4.0))
    measured(room, 44, "before")
    measured(room, 57)
    page = said(owner)
    assert "Independent steel lining, two dense boards" in page and "55 ± 4.0" in page and "45 ± 3.0" in page
    assert page.count("too few to say") >= 4 and "1 case, 3 are needed" in page
    assert "Measured less predicted DnT,w, dB" in page and "After the work, by what was built" in page


def test_what_counts_and_what_is_left_out(owner):
    room = promised()
    measured(room, 50, measured_on="2026-10-01")
    measured(room, 57, measured_on="2026-11-01")  # the latest counts
    measured(room, 70, basis="comparative")
    measured(room, 60, kind="impact")
    unpromised = promised()
    unpromised.job.revisions.update(internal={"options": []})
    measured(unpromised, 50)
    kept, left_out = cases()
    assert [case.difference_db for case in kept] == [2]
    assert left_out == 1 and "1 airborne test left out" in said(owner)


def test_a_range_that_was_widened_already_is_taken_back_to_the_models_own(owner):
    measured(promised(after=(55, 6.0), factor=1.5), 59)
    (case,), _ = cases()
    assert case.uncertainty_db == 4.0 and case.in_uncertainties == 1.0


def test_it_is_off_until_the_owner_switches_it_on_and_can_be_switched_off(owner):
    four_off_by_a_range()
    assert the_firm().uncertainty_factor == 1 and "√((10 + 6.0) ÷ (10 + 4)) = 1.07" in said(owner)
    assert "ranges would be 5 % wider" in said(owner)
    switch(owner, "on")
    assert (the_firm().learns_uncertainty, the_firm().uncertainty_factor) == (True, Decimal("1.05"))
    page = said(owner)
    assert "the range is × 1.05" in page and "ranges are 5 % wider" in page
    switch(owner, "off")
    assert (the_firm().learns_uncertainty, the_firm().uncertainty_factor) == (False, Decimal("1.00"))
    assert AuditEntry.objects.filter(action="Firm settings changed").count() == 2


def test_switched_on_it_follows_each_test_kept_and_deleted(owner):
    four_off_by_a_range()
    switch(owner, "on")
    late = measured(promised(after=(55, 4.0)), 75)  # squares 6 + 25 = 31: √(41 / 15) = 1.653
    assert the_firm().uncertainty_factor == Decimal("1.65")
    assert AuditEntry.objects.filter(action="Uncertainty set by tests").count() == 1
    late.delete()
    assert the_firm().uncertainty_factor == Decimal("1.05")


def test_switched_off_no_test_changes_anything():
    Firm.objects.get_or_create(pk=1)
    four_off_by_a_range()
    assert the_firm().uncertainty_factor == 1 and not AuditEntry.objects.filter(action__contains="Uncert").exists()


def test_queries_do_not_grow_with_tests(owner, count_queries):
    measured(promised(), 57)
    one = count_queries(owner, PAGE)
    for n in range(4):
        room = promised()
        measured(room, 50 + n)
        measured(room, 44, "before")
    assert count_queries(owner, PAGE) <= one
