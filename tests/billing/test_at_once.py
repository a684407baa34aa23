"""Two at the same moment: one outcome, an unbroken series. Runs on SQLite and on PostgreSQL."""

from functools import partial

import pytest

from contractor.billing import services
from contractor.billing.models import Invoice, Variation
from tests.at_once import at_once as run_at_once
from tests.billing.conftest import account, drafted

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
