"""The documents that are frozen: a variation as the homeowner reads it, an invoice as it goes into the books.

Money stands in them as text. No cost and no margin enters them.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal

from contractor.accounts.letterhead import letterhead
from contractor.accounts.models import Firm
from contractor.billing.models import BillingSettings, Invoice, Variation
from contractor.billing.reckoning import Band, bands_of_lines, net_of, priced, total, vat_of
from contractor.jobs.models import Job
from contractor.site.models import SitePhoto

FORMAT = 2  # 2: the logo, what makes up the contract sum, photographs of what was found


def variation_document(
    *,
    variation: Variation,
    job: Job,
    firm: Firm,
    contract_sum: Decimal,
    photos: Iterable[SitePhoto],
    sent_at: datetime | None,
) -> dict:
    """`contract_sum` is what the contract stands at without it; `photos` show what was found."""
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
        "photos": [{"key": str(photo.key), "taken_at": photo.taken_at.isoformat()} for photo in photos],
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
        "makes_up": makes_up(account),
        "contract_sum": str(account.contract_sum),
        "asked_before": str(account.asked_total),
        "asked_after": str(account.asked_total + total(bands)),
    }


def makes_up(account) -> list[dict]:
    """The contract sum in its parts: what was accepted, and each variation approved since."""
    decision = account.contract.decision
    accepted = f"Quote {decision.revision.document['quote']['reference']}, {decision.chosen}"
    parts = [(accepted, account.accepted_total)]
    parts += [(f"Variation {v}", Decimal(v.document["total"])) for v in account.approved]
    return [{"label": label, "total": str(amount)} for label, amount in parts]


def _parties(job: Job, firm: Firm) -> dict:
    return {
        "firm": letterhead(firm),
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
