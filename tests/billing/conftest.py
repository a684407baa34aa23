from decimal import Decimal

import pytest

from contractor.billing import services
from contractor.billing.models import VariationLine
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
