"""What changes the orders of a job."""

from collections.abc import Iterable
from datetime import date

from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.selectors import the_firm
from contractor.accounts.services import record
from contractor.billing.models import Variation
from contractor.catalogue.models import Material, Supplier
from contractor.jobs.models import Job
from contractor.mail.services import post
from contractor.orders.lists import OrderLine
from contractor.orders.models import FromVan, MoreNeeded, Order, OrderedLine
from contractor.orders.selectors import last_number
from contractor.quotes.models import Decision


class NotNow(Exception):
    """It is not possible as things stand; the message says why."""


@transaction.atomic
def van_set(*, job: Job, packs: dict[Material, int], by: User) -> None:
    """Say how many packs of each of these materials come from the van; none takes the line away."""
    _locked(job)
    FromVan.objects.filter(job=job, material__in=[m for m, count in packs.items() if not count]).delete()
    for material, count in packs.items():
        if count:
            FromVan.objects.update_or_create(job=job, material=material, defaults={"packs": count})
    taken = {material.key: count for material, count in packs.items() if count}
    record(user=by, action="van stock set", subject=job, packs=taken)


@transaction.atomic
def order_place(
    *,
    job: Job,
    supplier: Supplier | None,
    lines: Iterable[tuple[OrderLine, int]],
    ordered_on: date,
    due_on: date | None,
    reference: str,
    last_seen: int,
    by: User,
    mail: bool = False,
) -> Order:
    """Write down an order of so many packs of each line; with `mail`, send it to the supplier's address too.

    `last_seen` is the number of the last order that whoever pressed was shown. Raises NotNow where nothing is accepted,
    where nothing is asked for, and where somebody has ordered since: a second press orders nothing twice.
    """
    _locked(job)
    if not Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED).exists():
        raise NotNow("Nothing is ordered before the customer has accepted.")
    last = last_number(job)
    if last != last_seen:
        raise NotNow(f"Order {job.number}-{last} was written down meanwhile. Look at what is left to order.")
    asked = [(line, packs) for line, packs in lines if packs]
    if not asked:
        raise NotNow("Say of at least one material how many packs are ordered.")
    order = Order.objects.create(
        job=job, number=last + 1, supplier=supplier, supplier_name=supplier.name if supplier else "",
        ordered_on=ordered_on, due_on=due_on, reference=reference, made_by=by,
    )  # fmt: skip
    OrderedLine.objects.bulk_create(
        OrderedLine(
            order=order, material_key=line.key, name=line.name, packs=packs, pack_quantity=line.pack_quantity,
            pack_unit=line.pack_unit, pack_price=line.pack_price if line.has_price else None, needed_then=line.needed,
        )
        for line, packs in asked
    )  # fmt: skip
    if mail and supplier and supplier.email:
        _mail(order, supplier.email)
    packs_by_key = {line.key: packs for line, packs in asked}
    record(user=by, action="Ordered", subject=job, order=str(order), from_whom=order.from_whom, packs=packs_by_key)
    return order


def _mail(order: Order, to: str) -> None:
    firm = the_firm()
    body = render_to_string("orders/mail/order.txt", {"order": order, "job": order.job, "firm": firm})
    subject = f"{order} from {firm.name}"
    post(job=order.job, key=f"order:{order.pk}", to=to, subject=subject, body=body, reply_to=firm.email)


@transaction.atomic
def order_update(*, order: Order, due_on: date | None, reference: str, by: User) -> None:
    """When it is due and under what reference, as the supplier says by now."""
    found = Order.objects.select_for_update(of=("self",)).get(pk=order.pk)
    was, found.due_on, found.reference = found.due_on, due_on, reference
    found.save(update_fields=["due_on", "reference"])
    days = [day.isoformat() if day else "" for day in (was, due_on)]
    record(user=by, action="Order changed", subject=order.job, order=str(order), due_on=days, reference=reference)


@transaction.atomic
def order_cancel(*, order: Order, why: str, by: User) -> bool:
    """What it asked for is to order again. False where it was cancelled already; NotNow where some of it came."""
    _locked(order.job)
    if order.lines.filter(check_offs__here__gt=0).exists():
        raise NotNow("Some of it was counted on site already. What is too much goes back to the supplier.")
    if not Order.objects.filter(pk=order.pk, cancelled_at=None).update(cancelled_at=timezone.now(), cancelled_why=why):
        return False
    record(user=by, action="Order cancelled", subject=order.job, order=str(order), why=why)
    return True


@transaction.atomic
def more_add(*, job: Job, material: Material, packs: int, why: str, variation: Variation | None, by: User) -> None:
    MoreNeeded.objects.create(job=job, material=material, packs=packs, why=why, variation=variation, made_by=by)
    record(user=by, action="More material needed", subject=job, material=material.key, packs=packs, why=why)


@transaction.atomic
def more_remove(*, more: MoreNeeded, by: User) -> None:
    if MoreNeeded.objects.filter(pk=more.pk).delete()[0]:
        detail = {"material": more.material.key, "packs": more.packs, "why": more.why}
        record(user=by, action="More material not needed", subject=more.job, **detail)


def _locked(job: Job) -> None:
    Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
