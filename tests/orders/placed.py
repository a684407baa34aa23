"""Orders for tests, each placed as the office does."""

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from contractor.jobs.models import Job
from contractor.orders.lists import OrderLine
from contractor.orders.models import Order
from contractor.orders.selectors import last_number
from contractor.orders.services import order_place
from tests.factories import UserFactory


def line(key: str = "dense-board-15", packs: int = 6, **changes) -> OrderLine:
    values = {
        "material": None, "key": key, "name": key.replace("-", " ").capitalize(), "accepted": packs, "changes": (),
        "from_van": 0, "ordered": 0, "pack_quantity": 1, "pack_unit": "sheet", "pack_price": Decimal("20.25"),
        "has_price": True, "is_illustrative": False, "pack_mass_kg": Decimal("36.9"), "lead_time_days": 3,
        "order_by": None,
    }  # fmt: skip
    return OrderLine(**values | changes)


def ordered(job: Job, *lines: OrderLine, due_in: int | None = 3, supplier=None) -> Order:
    today = timezone.localdate()
    return order_place(
        job=job, supplier=supplier, lines=[(each, each.packs) for each in lines or [line()]], ordered_on=today,
        due_on=None if due_in is None else today + timedelta(days=due_in), reference="", last_seen=last_number(job),
        by=UserFactory(),
    )  # fmt: skip
