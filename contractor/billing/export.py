"""Invoices and payments as tables for bookkeeping. The columns are told on the page that offers them."""

from collections.abc import Iterable
from decimal import Decimal

from contractor.billing.models import Invoice
from contractor.billing.selectors import open_of, paid_of
from contractor.common.sheets import harmless, sheet

INVOICE_COLUMNS = [
    ("Number", "number in the series"),
    ("Kind", "invoice or credit note"),
    ("Issued", "day, as 2026-11-25"),
    ("Due", "day, as 2026-11-25"),
    ("Job", "job number"),
    ("Customer", "name"),
    ("For", "stage or reason"),
    ("VAT rate %", "one line for each rate of an invoice"),
    ("Net", "pounds at that rate; a credit is below nothing"),
    ("VAT", "pounds at that rate"),
    ("Gross", "net and VAT of the line"),
    ("Paid", "pounds paid on the whole invoice so far, on its first line only"),
    ("Open", "pounds still to be paid, on its first line only"),
    ("Takes back", "number of the invoice that a credit note takes back"),
]
PAYMENT_COLUMNS = [
    ("Day", "day, as 2026-11-25"),
    ("Amount", "pounds"),
    ("How", "transfer, card, cash or cheque"),
    ("Note", "as written down"),
    ("Invoice", "number in the series"),
    ("Job", "job number"),
    ("Customer", "name"),
]


def invoices_csv(invoices: Iterable[Invoice]) -> str:
    rows = []
    for invoice in invoices:
        for n, band in enumerate(invoice.document["vat"]):
            rows.append(
                [
                    invoice.number, invoice.get_kind_display(), invoice.issued_on.isoformat(),
                    invoice.due_on.isoformat(), invoice.job.number, invoice.document["customer"]["name"], invoice.label,
                    band["percent"], band["net"], band["vat"], f"{_gross(band):.2f}",
                    f"{paid_of(invoice):.2f}" if n == 0 else "", f"{open_of(invoice):.2f}" if n == 0 else "",
                    invoice.credits.number if invoice.credits else "",
                ]
            )  # fmt: skip
    return _table(INVOICE_COLUMNS, rows)


def payments_csv(invoices: Iterable[Invoice]) -> str:
    payments = [(p, invoice) for invoice in invoices for p in invoice.payments.all()]
    payments.sort(key=lambda one: (one[0].on_date, one[0].pk))
    return _table(
        PAYMENT_COLUMNS,
        [
            [
                p.on_date.isoformat(), f"{p.amount:.2f}", p.get_how_display(), p.note, invoice.number,
                invoice.job.number, invoice.document["customer"]["name"],
            ]
            for p, invoice in payments
        ],
    )  # fmt: skip


def _gross(band: dict) -> Decimal:
    return Decimal(band["net"]) + Decimal(band["vat"])


def _table(columns, rows) -> str:
    # Amounts are numbers of ours and may begin with a minus; only words can carry a formula.
    cells = ([cell if _is_amount(cell) else harmless(cell) for cell in row] for row in rows)
    return sheet([name for name, _ in columns], cells)


def _is_amount(cell: object) -> bool:
    try:
        float(str(cell))
    except ValueError:
        return False
    return True
