"""The documents that are frozen: a variation as the homeowner reads it, an invoice as it goes into the books.

Money stands in them as text. No cost and no margin enters them.
"""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal

from contractor.accounts.models import Firm
from contractor.billing.models import BillingSettings, Invoice, Variation
from contractor.billing.reckoning import Band, bands_of_lines, net_of, priced, total, vat_of
from contractor.jobs.models import Job

FORMAT = 1
FIRM_FIELDS = ("name", "address", "phone", "email", "company_number", "vat_number")


def variation_document(
    *, variation: Variation, job: Job, firm: Firm, contract_sum: Decimal, sent_at: datetime | None
) -> dict:
    """`contract_sum` is what the contract stands at without it."""
    lines = [
        priced(
            description=line.description,
            quantity=line.quantity,
            unit=line.unit,
            unit_price=line.unit_price,
            vat_percent=line.vat_percent,
        )
        for line in variation.lines.all()
    ]
    bands = bands_of_lines(lines)
    return {
        "format": FORMAT,
        **_parties(job, firm),
        "reference": variation.reference,
        "title": variation.title,
        "cause": variation.get_cause_display(),
        "why": variation.why,
        "days": variation.days,
        "lines": [
            {
                "description": line.description,
                "quantity": f"{line.quantity.normalize():f}",
                "unit": line.unit,
                "unit_price": str(line.unit_price),
                "vat_percent": f"{line.vat_percent.normalize():f}",
                "net": str(line.net),
            }
            for line in lines
        ],
        **_sums(bands),
        "contract_before": str(contract_sum),
        "contract_after": str(contract_sum + total(bands)),
        "sent_at": sent_at.isoformat() if sent_at else "",
    }


def invoice_document(
    *,
    number: int,
    job: Job,
    firm: Firm,
    settings: BillingSettings,
    label: str,
    bands: Sequence[Band],
    account,
    issued_on: date,
    due_on: date,
    credits: Invoice | None,
) -> dict:
    return {
        "format": FORMAT,
        **_parties(job, firm),
        "number": number,
        "credits": credits.number if credits else None,
        "label": label,
        "quote": account.contract.decision.revision.document["quote"]["reference"],
        "issued_on": issued_on.isoformat(),
        "due_on": due_on.isoformat(),
        "how_to_pay": settings.how_to_pay,
        **_sums(bands),
        "contract_sum": str(account.contract_sum),
        "asked_before": str(account.asked_total),
    }


def _parties(job: Job, firm: Firm) -> dict:
    return {
        "firm": {field: getattr(firm, field) for field in FIRM_FIELDS},
        "customer": {"name": job.property.customer.name},
        "property": {"lines": job.property.lines},
        "job": {"number": job.number, "title": job.title},
    }


def _sums(bands: Sequence[Band]) -> dict:
    return {
        "vat": [{"percent": f"{b.percent.normalize():f}", "net": str(b.net), "vat": str(b.vat)} for b in bands],
        "net": str(net_of(bands)),
        "vat_total": str(vat_of(bands)),
        "total": str(total(bands)),
    }
