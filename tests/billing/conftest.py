from decimal import Decimal

import pytest

from contractor.billing import payment_services, services
from contractor.billing.models import Invoice, Payment, VariationLine
from contractor.billing.selectors import account_of, contract_of, invoice_for, open_of
from contractor.quotes.services import accept
from tests.quotes.conftest import firm, job, sender, sent, standing_calculations  # noqa: F401  (fixtures)


@pytest.fixture(autouse=True)
def no_acceptance_copy(monkeypatch):
    """The PDF of each copy takes a second and touches no row."""
    monkeypatch.setattr("contractor.quotes.mail.proposal_pdf", lambda revision, decision: b"%PDF")


@pytest.fixture
def accepted(sent):  # noqa: F811
    """The job of an accepted quote, option 1."""
    accept(
        link=sent.link, option_key="1", typed_name="Ada Holt", agreed_terms=True, early_start=False, address="",
        browser="",
    )  # fmt: skip
    return sent.revision.job


def drafted(job, user, price="100.00", quantity="1", **changes):  # noqa: F811
    """A draft variation with one line."""
    values = {"title": "Rotten joist ends", "cause": "hidden", "why": "Two joist ends are soft.", "days": 1} | changes
    made = services.variation_start(job=job, user=user, **values)
    VariationLine.objects.create(
        variation=made, description="Splice joist end", quantity=Decimal(quantity), unit="item",
        unit_price=Decimal(price), vat_percent=Decimal(20),
    )  # fmt: skip
    return made


def approved(job, user, **changes):  # noqa: F811
    made = drafted(job, user, **changes)
    services.variation_send(variation=made, user=user)
    return services.variation_answer(variation=made, approved=True, typed_name="Ada Holt", address="", browser="")


def said(response) -> str:
    return " ".join(response.content.decode().split())


def account(job):  # noqa: F811
    return account_of(job, contract_of(job))


def ask(job, user) -> Invoice:  # noqa: F811
    """The next invoice of the job."""
    now = account(job)
    expected = next((stage.amount for stage in now.stages if stage.is_next), now.still_to_ask)
    return services.invoice_next(job=job, user=user, expected=expected)


def pay(invoice, user, amount, *, is_more=False, **changes) -> Payment:
    """Write down what came in on an invoice as it stands now."""
    payment = Payment(invoice=invoice, amount=Decimal(amount), **changes)
    expected = open_of(invoice_for(invoice.pk))
    payment_services.payment_add(payment=payment, user=user, expected=expected, is_more=is_more)
    return payment
