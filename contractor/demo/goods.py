"""The demo's orders: placed from the accepted take-off, checked off at the door, and what was left of it. All invented."""

from datetime import timedelta
from uuid import uuid4

from django.utils import timezone

from contractor.accounts.models import User
from contractor.jobs.models import Job
from contractor.orders import selectors
from contractor.orders.lists import order_lists
from contractor.orders.services import order_place, van_set
from contractor.site.services import act_take


def ordered(job: Job, office: User, *, is_done: bool, person: User) -> None:
    """Everything is ordered, some of it out of the van. Of a finished job all came; of one on site a board of the first
    order is broken, and the last order is not there yet."""
    today, accepted = timezone.localdate(), selectors.accepted_of(job)
    materials = selectors.materials_for(row["material_key"] for row in accepted.takeoff["buy"])
    sealant = next((m for m in materials.values() if m.form == m.Form.TUBE), None)
    if sealant:
        van_set(job=job, packs={sealant: 1}, by=office)
    lists = order_lists(accepted.takeoff["buy"], materials, selectors.from_van(job), None, today)
    days = 40 if is_done else 4
    for number, each in enumerate(order for order in lists if order.to_order):
        is_last = number == len(lists) - 1
        due_on = today + timedelta(days=1) if is_last and not is_done else today - timedelta(days=days - 3)
        order_place(
            job=job, supplier=each.supplier, lines=[(line, line.packs) for line in each.to_order],
            ordered_on=today - timedelta(days=days), due_on=due_on, reference="", last_seen=number, by=office,
        )  # fmt: skip
    _counted(job, person, is_done)
    if is_done:
        _used(job, person)


def _counted(job: Job, person: User, is_done: bool) -> None:
    done_at = timezone.now() - timedelta(days=30 if is_done else 0, hours=5)
    for placed in selectors.placed_of(job):
        if not is_done and placed.order.due_on >= timezone.localdate():
            continue
        for number, line in enumerate(placed.lines):
            damaged = int(not is_done and placed.order.number == 1 and number == 0)
            note = "One came with a broken corner" if damaged else ""
            payload = {"line": line.key, "seen": "", "here": str(line.packs), "damaged": str(damaged), "note": note}
            act_take(key=uuid4(), job=job, person=person, kind="came", payload=payload, done_at=done_at)


def _used(job: Job, person: User) -> None:
    """A little is left of the first two materials, and of the third one pack was fetched besides."""
    said = [{"left_over": "1", "note": "To the van"}, {"left_over": "0.5"}, {"bought": "1", "note": "One short"}]
    for row, what in zip(selectors.material_of(job), said, strict=False):
        payload = {"material": row.key, **what}
        act_take(key=uuid4(), job=job, person=person, kind="used", payload=payload, done_at=timezone.now())
