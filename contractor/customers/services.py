"""What changes customers and their homes."""

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.customers.models import Customer, Property


@transaction.atomic
def customer_save(*, by: User | None, customer: Customer | None = None, **values) -> Customer:
    """Add a customer, or change the one given."""
    action = "Customer changed" if customer else "Customer added"
    customer = customer or Customer()
    _set(customer, values)
    record(user=by, action=action, subject=customer)
    return customer


@transaction.atomic
def property_save(*, by: User | None, customer: Customer, home: Property | None = None, **values) -> Property:
    """Add a home to a customer, or change the one given."""
    action = "Home changed" if home else "Home added"
    home = home or Property(customer=customer)
    _set(home, values)
    record(user=by, action=action, subject=f"{home.one_line} ({customer})")
    return home


def _set(row, values: dict) -> None:
    for name, value in values.items():
        setattr(row, name, value)
    row.full_clean()
    row.save()
