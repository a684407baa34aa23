"""What writes down the money that came in, went back or was set against another invoice.

Nothing here changes or deletes an entry: a mistake is taken back by a further one. `expected` is what the invoice stood
open at when whoever pressed was shown it; another figure raises Refused, so that a second press writes nothing down.
"""

from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.billing import selectors
from contractor.billing.models import Invoice, Payment
from contractor.billing.selectors import open_of, paid_of
from contractor.billing.services import Refused, locked


class MoreThanOpen(Refused):
    """More came in than the invoice asks for, and nobody has said that it is so."""


def _as_shown(invoice: Invoice, expected: Decimal) -> Invoice:
    """The invoice as it is now, with its job locked. Raises Refused where it no longer stands as it was shown."""
    locked(invoice.job)
    found = selectors.invoice_for(invoice.pk)
    if found.kind == Invoice.Kind.CREDIT:
        raise Refused("Nothing is paid on a credit note: write it down on the invoice.")
    if open_of(found) != expected:
        raise Refused("Something was written down meanwhile: look at what is open before you write more.")
    return found


@transaction.atomic
def payment_add(*, payment: Payment, user: User, expected: Decimal, is_more: bool = False) -> None:
    """Write down what came in. Raises Refused, and MoreThanOpen where it exceeds what is open and `is_more` is false."""
    invoice = _as_shown(payment.invoice, expected)
    if hasattr(invoice, "credited_by"):
        raise Refused("The invoice was taken back. Write it down on the one that stands.")
    if payment.amount > open_of(invoice) and not is_more:
        raise MoreThanOpen(f"Only £{open_of(invoice):,.2f} is open on this invoice. If more came in, say so below.")
    _write(payment, user)


@transaction.atomic
def payment_back(*, payment: Payment, user: User, expected: Decimal) -> None:
    """Write down what was given back; `payment.amount` as a positive sum. Raises Refused where less was paid."""
    paid = paid_of(_as_shown(payment.invoice, expected))
    if payment.amount > paid:
        raise Refused(f"Only £{paid:,.2f} was paid on this invoice.")
    payment.amount = -payment.amount
    _write(payment, user)


@transaction.atomic
def set_off(*, invoice: Invoice, other: Invoice, user: User, expected: Decimal) -> Decimal:
    """Set what is over on an invoice against another of the same job; how much. Raises Refused."""
    over = -open_of(_as_shown(invoice, expected))
    found = selectors.invoice_for(other.pk)
    moved = min(over, open_of(found))
    if found.job_id != invoice.job_id or moved <= 0:
        raise Refused("There is nothing over here, or nothing open there.")
    for one, against, amount in ((invoice, found, -moved), (found, invoice, moved)):
        _write(Payment(invoice=one, against=against, amount=amount, how=Payment.How.SET_OFF), user)
    return moved


@transaction.atomic
def payment_take_back(*, payment: Payment, user: User) -> None:
    """Set a mistake right by an entry of the opposite amount, today; both sides of a set-off. Raises Refused."""
    locked(payment.invoice.job)
    found = selectors.payment_for(payment.pk)
    _take_back(found, user)
    if found.against_id:
        other_side = Payment.objects.filter(
            invoice=found.against_id,
            against=found.invoice_id,
            amount=-found.amount,
            takes_back=None,
            taken_back_by=None,
        )
        _take_back(other_side.latest("pk"), user)


def _take_back(found: Payment, user: User) -> None:
    if found.takes_back_id or Payment.objects.filter(takes_back=found).exists():
        raise Refused("It was taken back already, or takes one back itself.")
    taking = Payment(
        invoice=found.invoice, against=found.against, amount=-found.amount, how=found.how, takes_back=found,
        note="Written down by mistake",
    )  # fmt: skip
    _write(taking, user)


def _write(payment: Payment, user: User) -> None:
    payment.created_by = user
    payment.on_date = payment.on_date or timezone.localdate()
    payment.save()
    record(
        user=user, action=f"{payment.kind} written down", subject=payment.invoice.job, invoice=payment.invoice.number,
        amount=str(payment.amount), on=payment.on_date.isoformat(),
    )  # fmt: skip
