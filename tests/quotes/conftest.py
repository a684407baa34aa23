from decimal import Decimal

import pytest

from contractor.accounts.models import Firm
from contractor.quotes import services
from tests.factories import BuildUpFactory, JobFactory, LabourRateFactory, UserFactory
from tests.quotes.results import calculated_scheme, predictions, stored_calculations


@pytest.fixture
def firm(db):
    made, _ = Firm.objects.update_or_create(
        pk=1,
        defaults={
            "name": "Tannery Yard Quiet Rooms",
            "address": "Unit 4, Tannery Yard\nFenwick Marsh",
            "email": "office@tannery.example.com",
            "phone": "01632 960144",
            "vat_number": "GB 000 0000 00",
            "exclusions": "Removal of asbestos\nDecoration",
            "terms": "Changes are priced and agreed before they are done.",
            "materials_markup_percent": Decimal("17.5"),
            "overhead_profit_percent": Decimal("23.5"),
        },
    )
    return made


@pytest.fixture
def standing_calculations(monkeypatch):
    """Price what stands in the database: these tests are about quotes, not about working a room out."""

    monkeypatch.setattr("contractor.rooms.services.calculate", lambda *, scheme: scheme.calculation)
    monkeypatch.setattr("contractor.rooms.services.calculate_all", stored_calculations)


@pytest.fixture
def job(firm, standing_calculations):
    """A job with two priced options, a noise heard, and words for what is built."""
    LabourRateFactory()
    BuildUpFactory(key="independent-steel-lining-95", plain_words="A frame that stands clear of the wall.")
    made = JobFactory(wish="Reading in bed without following the talk next door.", stage="surveyed")
    made.noises.create(kind="speech", comes_from="next door", heard_in="the back bedroom", words="some")
    calculated_scheme(made, "Party wall", 1)
    calculated_scheme(made, "Wall and void", 2, predictions_json=predictions(56))
    return made


@pytest.fixture
def sender(db):
    return UserFactory()


@pytest.fixture
def sent(job, sender):
    return services.send(job=job, user=sender, valid_days=30)
