"""The week's clash “material not there”: it rests on the orders and on what was counted of them."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from contractor.jobs.models import Visit
from contractor.orders.models import MoreNeeded
from contractor.orders.selectors import placed_of
from contractor.site.services import act_take
from contractor.weeks.selectors import clashes, facts_of
from tests.factories import MaterialFactory, UserFactory, VisitFactory
from tests.fitting.conftest import accepted_job, takeoff  # noqa: F401  (a fixture)
from tests.orders.placed import line, ordered

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


@pytest.fixture
def job(takeoff):  # noqa: F811
    takeoff["buy"] = [
        takeoff["buy"][0] | {"material_key": "board", "material": "Board", "packs": 6, "lead_time_days": 2}
    ]
    made = accepted_job(takeoff).revision.job
    VisitFactory(job=made, on_date=TODAY() + timedelta(days=10), people=[UserFactory()])
    return made


def told(job) -> str:
    visits = list(Visit.objects.filter(job=job).select_related("job").prefetch_related("people"))
    found = clashes(visits, facts_of([job]), [], 8)
    return " ".join(sentence for sentences in found.values() for sentence in sentences if "cancel" not in sentence)


def test_ordered_in_time_nothing_stands_against_the_day(job):
    ordered(job, line("board", 6), due_in=3)
    assert "Order" not in told(job) and "ordered" not in told(job)


def test_an_order_due_too_late_without_a_day_or_overdue_is_told(job):
    order = ordered(job, line("board", 6), due_in=12)
    assert f"{order} from no supplier named is due on" in told(job)
    order.due_on = None
    order.save()
    assert "No day is known for" in told(job)
    order.due_on = TODAY() - timedelta(days=1)
    order.save()
    assert "is not all here: 1 of 1 lines outstanding" in told(job)


def test_a_partly_delivered_order_stays_outstanding_until_all_is_counted(job):
    order = ordered(job, line("board", 6), due_in=12)

    def count(here):
        payload = {"line": str(order.lines.get().pk), "here": here}
        act_take(key=uuid4(), job=job, person=UserFactory(), kind="came", payload=payload, done_at=timezone.now())

    count("5")
    assert "1 of 1 lines outstanding" in told(job)
    count("6")
    assert placed_of(job)[0].outstanding == [] and "outstanding" not in told(job)


def test_what_is_not_ordered_beside_an_order_is_named(job):
    ordered(job, line("board", 4), due_in=3)
    Visit.objects.update(on_date=TODAY() + timedelta(days=1))
    assert "Not ordered yet: Board: the slowest takes 2 working days" in told(job)
    ordered(job, line("board", 2), due_in=0)
    assert "Not ordered" not in told(job)
    joist = MaterialFactory(name="Joist", lead_time_days=4)
    MoreNeeded.objects.create(job=job, material=joist, packs=1, why="Splice", made_by=UserFactory())
    assert "Not ordered yet: Joist" in told(job)


def test_a_cancelled_order_is_no_order(job):
    order = ordered(job, line("board", 6), due_in=12)
    order.cancelled_at, order.cancelled_why = timezone.now(), "Wrong"
    order.save()
    assert str(order) not in told(job)
