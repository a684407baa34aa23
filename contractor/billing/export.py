"""Invoices and payments as tables for bookkeeping. The columns are told on the page that offers them."""

from collections.abc import Iterable
from decimal import Decimal

from contractor.billing.models import Invoice, Payment
from contractor.billing.selectors import open_of, paid_of
from contractor.common.sheets import sheet
from contractor.quotes.prices import pence

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
    ("Paid", "pounds paid on the whole invoice so far, less what went back; on its first line only"),
    ("Open", "pounds still to be paid, below nothing what is over; on its first line only"),
    ("Takes back", "number of the invoice that a credit note takes back"),
]
PAYMENT_COLUMNS = [
    ("Day", "day, as 2026-11-25"),
    ("Kind", "payment, refund, set-off, or the correction of one written down by mistake"),
    ("Amount", "pounds; what went back is below nothing"),
    ("How", "transfer, card, cash, cheque, or set against another invoice"),
    ("Note", "as written down"),
    ("Invoice", "number in the series"),
    ("Other invoice", "number of the one whose money was moved here, or to which it was moved"),
    ("Job", "job number"),
    ("Customer", "name"),
]


def invoices_csv(invoices: Iterable[Invoice]) -> str:
    rows = []
    for invoice in invoices:
        for n, band in enumerate(invoice.document["vat"]):
            net, vat = Decimal(band["net"]), Decimal(band["vat"])
            rows.append(
                [
                    invoice.number, invoice.get_kind_display(), invoice.issued_on.isoformat(),
                    invoice.due_on.isoformat(), invoice.job.number, invoice.document["customer"]["name"], invoice.label,
                    Decimal(band["percent"]), net, vat, net + vat,
                    "" if n else pence(paid_of(invoice)), "" if n else pence(open_of(invoice)),
                    invoice.credits.number if invoice.credits else "",
                ]
            )  # fmt: skip
    return sheet([name for name, _ in INVOICE_COLUMNS], rows)


def payments_csv(payments: Iterable[Payment]) -> str:
    rows = [
        [
            p.on_date.isoformat(), p.kind, pence(p.amount), p.get_how_display(), p.note, p.invoice.number,
            p.against.number if p.against else "", p.invoice.job.number, p.invoice.document["customer"]["name"],
        ]
        for p in payments
    ]  # fmt: skip
    return sheet([name for name, _ in PAYMENT_COLUMNS], rows)
