"""Two at the same moment: one outcome, an unbroken series. Runs on SQLite and on PostgreSQL, which tries more of it."""

from contextlib import suppress
from decimal import Decimal
from functools import partial
from itertools import count

import pytest

from contractor.billing import payment_services, services
from contractor.billing.models import Invoice, Payment, Variation
from contractor.billing.selectors import billing_settings
from contractor.mail.models import Message
from contractor.quotes.document import fingerprint
from contractor.quotes.models import Decision, Revision
from tests.at_once import at_once as run_at_once
from tests.billing.conftest import account, ask, drafted, pay
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db(transaction=True)
at_once = partial(run_at_once, refusals=(services.NotOpen, services.Refused))


def test_many_presses_make_one_invoice(accepted, sender):
    expected = account(accepted).stages[0].amount

    def press():
        return services.invoice_next(job=accepted, user=sender, expected=expected)

    outcomes = at_once(*[press] * 5)
    assert sum(isinstance(outcome, Invoice) for outcome in outcomes) == 1
    assert list(Invoice.objects.values_list("number", flat=True)) == [1]


def test_approving_and_withdrawing_at_once(accepted, sender):
    made = drafted(accepted, sender)
    services.variation_send(variation=made, user=sender)

    def approve():
        return services.variation_answer(variation=made, approved=True, typed_name="Ada", address="", browser="")

    def withdraw():
        return services.variation_withdraw(variation=made, user=sender)

    outcomes = at_once(approve, withdraw, approve)
    refused = [outcome for outcome in outcomes if isinstance(outcome, Exception)]
    assert len(refused) == 2
    assert Variation.objects.get().status in ("approved", "withdrawn")


@pytest.fixture
def jobs(accepted):
    """Six jobs with the same accepted quote."""
    revision = Revision.objects.get(job=accepted)
    decision = Decision.objects.get(revision=revision)
    made = [accepted]
    for _ in range(5):
        job = JobFactory()
        revision.pk, revision.job, revision._state.adding = None, job, True
        revision.save()
        decision.pk, decision.revision, decision._state.adding = None, revision, True
        decision.save()
        made.append(job)
    return made


class Broken(Exception):
    """What fails half way through making an invoice."""


def test_a_series_without_a_gap_whoever_presses_and_whatever_fails(jobs, sender, monkeypatch):
    """Six jobs ask for two stages each and take one back, all at once; every third document fails after its number."""
    made = count()

    def frail(document):
        if next(made) % 3 == 2:
            raise Broken
        return fingerprint(document)

    monkeypatch.setattr("contractor.billing.services.fingerprint", frail)

    def ask_and_take_back(job):
        for _ in range(2):
            with suppress(Broken):
                ask(job, sender)
        last = job.invoices.order_by("number").last()
        if last:
            with suppress(Broken):
                services.invoice_credit(invoice=last, user=sender, reason="x")

    at_once(*[partial(ask_and_take_back, job) for job in jobs])
    numbers = list(Invoice.objects.order_by("number").values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1)) and len(numbers) >= 10
    assert billing_settings().next_number == len(numbers) + 1


def test_settings_kept_at_the_same_moment_do_not_wind_the_series_back(jobs, sender):
    stale = billing_settings()
    at_once(
        *[partial(ask, job, sender) for job in jobs],
        *[partial(services.settings_save, settings=stale, user=sender)] * 3,
    )
    assert list(Invoice.objects.values_list("number", flat=True)) == [1, 2, 3, 4, 5, 6]
    assert billing_settings().next_number == 7


def test_one_payment_for_many_presses(accepted, sender):
    invoice = ask(accepted, sender)

    def press():
        payment = Payment(invoice=invoice, amount=Decimal(10))
        payment_services.payment_add(payment=payment, user=sender, expected=invoice.total)

    outcomes = at_once(*[press] * 5)
    assert outcomes.count(None) == 1 and Payment.objects.count() == 1


def test_one_taking_back_and_one_set_off_for_many_presses(accepted, sender):
    first = ask(accepted, sender)
    pay(first, sender, first.total + 50, is_more=True)
    last = ask(accepted, sender)
    set_off = partial(payment_services.set_off, invoice=first, other=last, user=sender, expected=Decimal(-50))
    assert len([moved for moved in at_once(*[set_off] * 4) if moved == 50]) == 1
    there = Payment.objects.get(invoice=last)
    at_once(*[partial(payment_services.payment_take_back, payment=there, user=sender)] * 4)
    assert sum(payment.amount for payment in Payment.objects.all()) == first.total + 50
    assert Payment.objects.count() == 5


def test_a_statement_and_an_invoice_pressed_by_many_go_once(accepted, sender):
    invoice = ask(accepted, sender)
    at_once(*[partial(services.invoice_send, invoice=invoice, user=sender)] * 4)
    assert Message.objects.filter(key__startswith="invoice:").count() == 1
