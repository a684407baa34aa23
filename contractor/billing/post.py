"""What is e-mailed about a contract, through the job's outbox."""

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from contractor.accounts.selectors import the_firm
from contractor.billing.models import Invoice, Variation
from contractor.billing.selectors import billing_settings
from contractor.billing.statement import Statement, statement_of
from contractor.common.pdf import render_pdf
from contractor.jobs.models import Job
from contractor.mail.models import SECRET_MARK, Message
from contractor.mail.selectors import messages_about
from contractor.mail.services import post
from contractor.quotes.mail import office_address

INVOICE_PDF = "invoice-pdf"
STATEMENT_PDF = "statement-pdf"


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


def invoice_sent(*, invoice: Invoice, copy: int) -> Message | None:
    body = render_to_string("billing/mail/invoice.txt", {"d": invoice.document, "invoice": invoice})
    return _to_customer(
        job=invoice.job,
        key=_copy_key(f"invoice:{invoice.pk}", copy),
        subject=f"{invoice} for {invoice.job.title}",
        body=body,
        reply_to=invoice.document["firm"]["email"],
        attachment=f"{INVOICE_PDF}:{invoice.pk}",
    )


def statement_sent(*, job: Job, copy: int) -> Message | None:
    statement = statement_of(job)
    return _to_customer(
        job=job,
        key=_copy_key(f"statement:{job.pk}", copy),
        subject=f"Statement for {job.title}",
        body=render_to_string("billing/mail/statement.txt", statement_shown(statement)),
        reply_to=the_firm().email,
        attachment=f"{STATEMENT_PDF}:{job.pk}",
    )


def _to_customer(*, job: Job, **mail: str) -> Message | None:
    email = job.property.customer.email
    return post(job=job, to=email, **mail) if email else None


def _copy_key(about: str, copy: int) -> str:
    return f"{about}:{copy}" if copy else about


def mails_about(what: Invoice | Job) -> list[Message]:
    """The e-mails of an invoice, or of a job's statements, the newest first."""
    return messages_about(f"{'invoice' if isinstance(what, Invoice) else 'statement'}:{what.pk}")


def invoice_shown(invoice: Invoice) -> dict:
    """What the invoice's paper shows: the frozen document and nothing else."""
    return {"d": invoice.document, "firm": invoice.document["firm"], "invoice": invoice}


def statement_shown(statement: Statement) -> dict:
    firm = the_firm()
    return {"s": statement, "firm": firm, "how_to_pay": billing_settings().how_to_pay}


def invoice_attachment(invoice_id: str) -> tuple[str, bytes, str]:
    """The invoice as a file to attach. Raises PdfUnavailable: a letter that says "attached" does not go without."""
    invoice = Invoice.objects.get(pk=invoice_id)
    body = render_pdf("print/invoice.html", invoice_shown(invoice))
    return f"{invoice.kind}-{invoice.number}.pdf", body, "application/pdf"


def statement_attachment(job_id: str) -> tuple[str, bytes, str]:
    job = Job.objects.select_related("property__customer").get(pk=job_id)
    body = render_pdf("print/statement.html", statement_shown(statement_of(job)))
    return f"statement-{job.number}.pdf", body, "application/pdf"
