"""What is e-mailed about a quote. A mail that fails never undoes what it tells of; the failure stands in the record."""

import logging
import smtplib

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse

from contractor.accounts.selectors import the_firm
from contractor.accounts.services import record
from contractor.common.pdf import PdfUnavailable
from contractor.quotes.models import Decision, Revision
from contractor.quotes.paper import pdf_filename, proposal_pdf

log = logging.getLogger(__name__)


def proposal_address(token: str) -> str:
    """The full address of a proposal, as it goes into a mail or is copied by the office."""
    return settings.SITE_URL + reverse("quotes:proposal", args=[token])


def send_proposal(*, revision: Revision, token: str) -> str:
    """Mail the link to the customer; the address it went to, or nothing where none is known or it failed."""
    customer = revision.job.property.customer
    if not customer.email:
        return ""
    context = {"document": revision.document, "customer": customer, "address": proposal_address(token)}
    body = render_to_string("quotes/mail/proposal.txt", context)
    subject = f"Our proposal: {revision.job.title}"
    return customer.email if _deliver(revision, subject, body, customer.email) else ""


def send_acceptance(*, decision: Decision) -> None:
    """A copy of what was accepted, as a PDF, to the customer and to the office."""
    revision = decision.revision
    customer = revision.job.property.customer
    context = {"document": revision.document, "decision": decision, "customer": customer}
    context["address"] = settings.SITE_URL + reverse("quotes:revision", args=[revision.pk])
    copy = _pdf(revision, decision)
    if customer.email:
        body = render_to_string("quotes/mail/accepted_customer.txt", context)
        _deliver(revision, f"You have accepted: {revision.job.title}", body, customer.email, copy)
    body = render_to_string("quotes/mail/accepted_office.txt", context)
    _deliver(revision, f"Accepted: job {revision.job.number}, {revision.job.title}", body, office_address(), copy)


def send_declined(*, decision: Decision) -> None:
    revision = decision.revision
    context = {"decision": decision, "customer": revision.job.property.customer, "revision": revision}
    context["address"] = settings.SITE_URL + reverse("quotes:revision", args=[revision.pk])
    body = render_to_string("quotes/mail/declined_office.txt", context)
    _deliver(revision, f"Declined: job {revision.job.number}, {revision.job.title}", body, office_address())


def office_address() -> str:
    return the_firm().email or settings.DEFAULT_FROM_EMAIL


def _pdf(revision: Revision, decision: Decision) -> tuple[str, bytes, str] | None:
    try:
        return pdf_filename(revision), proposal_pdf(revision, decision), "application/pdf"
    except PdfUnavailable:
        log.exception("The copy of %s goes without its PDF", revision)
        return None


def _deliver(revision: Revision, subject: str, body: str, to: str, attachment: tuple | None = None) -> bool:
    message = EmailMessage(subject=" ".join(subject.split()), body=body, to=[to])
    firm_email = revision.document["firm"]["email"]
    if firm_email:
        message.reply_to = [firm_email]
    if attachment:
        message.attach(*attachment)
    try:
        message.send()
    except (OSError, smtplib.SMTPException):
        log.exception("E-mail “%s” was not sent", subject)
        record(user=None, action="E-mail not sent", subject=revision, title=subject, to=to)
        return False
    record(user=None, action="E-mail sent", subject=revision, title=subject, to=to)
    return True
