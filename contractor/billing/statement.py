"""The statement of a job: everything asked for and everything paid in order of days, and what it comes to."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from contractor.billing.documents import makes_up
from contractor.billing.models import Invoice, Payment
from contractor.billing.selectors import Account, account_of, contract_of
from contractor.jobs.models import Job
from contractor.quotes.prices import NOTHING


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A line of the statement; one of `asked` and `paid` is None. `balance` is what was owed after it."""

    day: date
    document: Invoice
    words: str
    due_on: date | None
    asked: Decimal | None
    paid: Decimal | None
    balance: Decimal


@dataclass(frozen=True, kw_only=True)
class Statement:
    job: Job
    day: date
    account: Account
    entries: list[Entry]

    @property
    def makes_up(self) -> list[dict]:
        return makes_up(self.account)


def statement_of(job: Job) -> Statement:
    """Raises ValueError for a job without a contract."""
    contract = contract_of(job)
    if contract is None:
        raise ValueError(f"{job} has no contract to make a statement of.")
    account = account_of(job, contract)
    return Statement(job=job, day=timezone.localdate(), account=account, entries=entries_of(account, mistakes=False))


def entries_of(account: Account, *, mistakes: bool = True) -> list[Entry]:
    """In order of days; on one day invoices before payments, each in the order in which they were made.

    The customer's paper is without `mistakes`: what was written down wrongly and what took it back.
    """
    entries, balance = [], NOTHING
    for day, document, words, due_on, asked, paid in sorted(_rows(account, mistakes), key=lambda row: row[0]):
        balance += (asked or NOTHING) - (paid or NOTHING)
        entry = Entry(day=day, document=document, words=words, due_on=due_on, asked=asked, paid=paid, balance=balance)
        entries.append(entry)
    return entries


def _rows(account: Account, mistakes: bool) -> Iterator[tuple]:
    for invoice in account.invoices:
        due_on = invoice.due_on if invoice.kind == Invoice.Kind.INVOICE else None
        yield invoice.issued_on, invoice, invoice.label, due_on, invoice.total, None
    for invoice in account.invoices:
        for payment in invoice.payments.all():
            if not mistakes and (payment.takes_back_id or payment.is_taken_back):
                continue
            yield payment.on_date, invoice, paid_words(payment), None, None, payment.amount


def paid_words(payment: Payment) -> str:
    if payment.against:
        return f"{'Correction, set' if payment.takes_back_id else 'Set'} against {payment.against}"
    return ", ".join(part for part in (payment.kind, payment.get_how_display().lower(), payment.note) if part)
