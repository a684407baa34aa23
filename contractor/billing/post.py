"""What is e-mailed about a contract, through the job's outbox."""

import logging

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from contractor.billing.models import Invoice, Variation
from contractor.common.pdf import PdfUnavailable, render_pdf
from contractor.mail.models import SECRET_MARK
from contractor.mail.services import post
from contractor.quotes.mail import office_address

log = logging.getLogger(__name__)
INVOICE_PDF = "invoice-pdf"


def variation_address(token: str) -> str:
    return settings.SITE_URL + reverse("billing:letter", args=[token])


def variation_sent(*, variation: Variation, token: str) -> None:
    """The link to the customer, where an address is known."""
    customer = variation.job.property.customer
    if customer.email:
        context = {"d": variation.document, "customer": customer, "address": SECRET_MARK}
        _post(
            variation,
            f"variation:{variation.pk}",
            f"A change to our contract: {variation.title}",
            render_to_string("billing/mail/variation.txt", context),
            customer.email,
            secret=variation_address(token),
        )


def variation_answered(*, variation: Variation) -> None:
    """To the office what they said, and a copy to the customer of what they approved."""
    context = {"d": variation.document, "variation": variation, "customer": variation.job.property.customer}
    context["address"] = settings.SITE_URL + reverse("billing:variation", args=[variation.pk])
    body = render_to_string("billing/mail/answered_office.txt", context)
    subject = f"{variation.get_status_display()}: {variation.reference}, job {variation.job.number}"
    _post(variation, f"variation-answered:{variation.pk}:office", subject, body, office_address())
    email = variation.job.property.customer.email
    if email and variation.status == Variation.Status.APPROVED:
        body = render_to_string("billing/mail/approved_customer.txt", context)
        _post(
            variation,
            f"variation-answered:{variation.pk}:customer",
            f"You have approved: {variation.title}",
            body,
            email,
        )


def _post(variation: Variation, key: str, subject: str, body: str, to: str, **more: str) -> None:
    reply_to = variation.document["firm"]["email"]
    post(job=variation.job, key=key, to=to, subject=subject, body=body, reply_to=reply_to, **more)


def invoice_sent(*, invoice: Invoice) -> str:
    customer = invoice.job.property.customer
    if not customer.email:
        return ""
    body = render_to_string("billing/mail/invoice.txt", {"d": invoice.document, "invoice": invoice})
    post(
        job=invoice.job,
        key=f"invoice:{invoice.pk}",
        to=customer.email,
        subject=f"{invoice} for {invoice.job.title}",
        body=body,
        reply_to=invoice.document["firm"]["email"],
        attachment=f"{INVOICE_PDF}:{invoice.pk}",
    )
    return customer.email


def invoice_shown(invoice: Invoice) -> dict:
    """What the invoice's paper shows: the frozen document and nothing else."""
    return {"d": invoice.document, "firm": invoice.document["firm"], "invoice": invoice}


def invoice_attachment(invoice_id: str) -> tuple[str, bytes, str] | None:
    """The invoice as a file to attach; None where this machine cannot make PDFs."""
    invoice = Invoice.objects.get(pk=invoice_id)
    try:
        body = render_pdf("print/invoice.html", invoice_shown(invoice))
    except PdfUnavailable:
        log.exception("%s goes without its PDF", invoice)
        return None
    return f"{invoice.kind}-{invoice.number}.pdf", body, "application/pdf"
