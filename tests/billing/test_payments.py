"""What came in, in part or beyond what was asked; what went back, was set off or was a mistake. Nothing is deleted."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from contractor.billing import payment_services, services
from contractor.billing.models import Payment
from contractor.billing.selectors import invoice_for, open_of
from tests.billing.conftest import account, ask, pay, said

pytestmark = pytest.mark.django_db


def given(amount, **changes) -> dict:
    return {"amount": str(amount), "on_date": timezone.localdate().isoformat(), "how": "transfer"} | changes


def still(invoice) -> Decimal:
    return open_of(invoice_for(invoice.pk))


def give_back(invoice, user, amount) -> None:
    payment = Payment(invoice=invoice, amount=Decimal(amount))
    payment_services.payment_back(payment=payment, user=user, expected=still(invoice))


def test_part_and_then_the_rest(office, accepted, sender):
    invoice = ask(accepted, sender)
    url = reverse("billing:invoice", args=[invoice.pk])
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    assert f'value="{timezone.localdate().isoformat()}"' in said(office.get(url))
    late = office.post(url, given(10, on_date=tomorrow, note="Half", expected=invoice.total))
    assert "still to come" in said(late) and 'value="Half"' in said(late)
    assert office.post(url, given(10, how="cash", expected=invoice.total)).status_code == 302
    assert account(accepted).owed == invoice.total - 10
    assert office.post(url, given(invoice.total - 10, expected=invoice.total - 10)).status_code == 302
    assert (account(accepted).owed, account(accepted).next_due) == (0, None)
    assert "Paid</span>" in said(office.get(url))


def test_a_second_press_writes_nothing_down(office, accepted, sender):
    invoice = ask(accepted, sender)
    url = reverse("billing:invoice", args=[invoice.pk])
    posted = given(10, expected=invoice.total, note="Ref 7")
    office.post(url, posted)
    page = said(office.post(url, posted))
    assert "Something was written down meanwhile" in page and 'value="Ref 7"' in page
    assert f'name="expected" value="{invoice.total - 10}"' in page  # sent once more knowingly, it is taken
    assert Payment.objects.count() == 1


def test_more_than_was_asked_for_is_taken_when_said_to_be_so(office, accepted, sender):
    invoice = ask(accepted, sender)
    url = reverse("billing:invoice", args=[invoice.pk])
    posted = given(invoice.total + 50, expected=invoice.total)
    asked = said(office.post(url, posted))
    assert "is open on this invoice" in asked and "More came in than is open" in asked and not Payment.objects.exists()
    assert office.post(url, posted | {"is_more": "on"}).status_code == 302
    assert (account(accepted).over, still(invoice)) == (50, -50)
    assert "£50.00 is over" in said(office.get(url))


def test_what_is_over_is_given_back_and_no_more_than_was_paid(office, accepted, sender):
    invoice = ask(accepted, sender)
    pay(invoice, sender, invoice.total + 50, is_more=True)
    url = reverse("billing:payment-back", args=[invoice.pk])
    assert "was paid on this invoice" in said(office.post(url, given(invoice.total + 51, expected="-50")))
    assert office.post(url, given(50, expected="-50")).status_code == 302
    assert (account(accepted).owed, account(accepted).over, still(invoice)) == (0, 0, 0)
    assert [p.kind for p in invoice_for(invoice.pk).payments.all()] == ["Payment", "Refund"]


def test_a_mistake_is_taken_back_once_and_both_entries_stay(office, accepted, sender):
    invoice = ask(accepted, sender)
    wrong = pay(invoice, sender, "10.00")
    for _ in range(2):
        office.post(reverse("billing:payment-take-back", args=[wrong.pk]))
    assert [p.amount for p in Payment.objects.all()] == [10, -10] and still(invoice) == invoice.total
    correction = Payment.objects.get(takes_back=wrong)
    assert correction.kind == "Correction"
    with pytest.raises(services.Refused):
        payment_services.payment_take_back(payment=correction, user=sender)


def test_a_paid_invoice_taken_back_leaves_its_money_to_set_against_the_next(office, accepted, sender):
    first = ask(accepted, sender)
    pay(first, sender, first.total)
    services.invoice_credit(invoice=first, user=sender, reason="Wrong name")
    assert account(accepted).over == first.total
    with pytest.raises(services.Refused, match="taken back"):
        pay(first, sender, "1.00")
    again = ask(accepted, sender)
    page = said(office.get(reverse("billing:invoice", args=[first.pk])))
    assert f"Invoice {again.number}</option>" in page
    url, posted = reverse("billing:set-off", args=[first.pk]), {"other": again.pk, "expected": -first.total}
    assert office.post(url, posted).status_code == 302
    assert (still(first), still(again), account(accepted).owed) == (0, 0, 0)
    assert office.post(url, posted).status_code == 200  # a second press: nothing is over any more
    assert Payment.objects.count() == 3
    there = Payment.objects.get(invoice=again)
    payment_services.payment_take_back(payment=there, user=sender)
    assert (still(first), still(again)) == (-first.total, again.total)


def test_the_step_of_the_job_says_what_is_to_come_in(office, accepted, sender):
    url = reverse("billing:money", args=[accepted.number])
    invoice = ask(accepted, sender)
    assert f"£{invoice.total:,.2f} open" in said(office.get(url))
    pay(invoice, sender, invoice.total)
    assert "Paid so far" in said(office.get(url))
    last = ask(accepted, sender)
    pay(last, sender, last.total + 1, is_more=True)
    assert "£1.00 over" in said(office.get(url))
    give_back(last, sender, "1.00")
    assert "All paid" in said(office.get(url))
