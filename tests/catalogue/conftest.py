"""The shipped catalogue, loaded once for all the tests of a module that only read it."""

import pytest
from django.db import transaction

from contractor.catalogue.seeding import load_seed


@pytest.fixture(scope="module")
def _shipped(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        load_seed()
        yield
        transaction.set_rollback(True)


@pytest.fixture
def seed(_shipped, db) -> None:
    """Each test's own changes are undone after it; the catalogue goes after the module."""
