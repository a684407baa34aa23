"""What is e-mailed about a quote. It is written into the job's outbox with what it tells of, and sent from there."""

import logging
from decimal import Decimal

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from contractor.accounts.selectors import the_firm
from contractor.common.pdf import PdfUnavailable
from contractor.common.pdf_process import DrawingFailed
from contractor.jobs.models import Job
from contractor.mail.models import SECRET_MARK
from contractor.mail.services import post
from contractor.quotes.agreed import agreed_option
from contractor.quotes.models import Decision, ProposalLink, Question, Revision
from contractor.quotes.paper import pdf_filename, proposal_pdf

log = logging.getLogger(__name__)
ACCEPTED_COPY = "accepted-copy"


def proposal_address(token: str) -> str:
    """The full address of a proposal, as it goes into a mail or is copied by the office."""
    return settings.SITE_URL + reverse("quotes:proposal", args=[token])


def post_proposal(*, revision: Revision, link: ProposalLink, token: str) -> str:
    """Post the link to the customer; the address it goes to, or nothing where none is known."""
    customer = revision.job.property.customer
    if not customer.email:
        return ""
    context = {"document": revision.document, "customer": customer, "address": SECRET_MARK}
    body = render_to_string("quotes/mail/proposal.txt", context)
    subject = f"Our proposal: {revision.job.title}"
    key, secret = f"proposal:{revision.pk}:{link.pk}", proposal_address(token)
    _post(revision, key, subject, body, customer.email, secret=secret)
    return customer.email


def post_acceptance(*, decision: Decision) -> None:
    """A copy of what was accepted, as a PDF, to the customer and to the office."""
    revision = decision.revision
    customer = revision.job.property.customer
    has_vat = Decimal(agreed_option(decision)["vat_total"]) != 0
    context = {"document": revision.document, "decision": decision, "customer": customer, "has_vat": has_vat}
    context["address"] = settings.SITE_URL + reverse("quotes:revision", args=[revision.pk])
    copy = f"{ACCEPTED_COPY}:{decision.pk}"
    if customer.email:
        body = render_to_string("quotes/mail/accepted_customer.txt", context)
        subject = f"You have accepted: {revision.job.title}"
        _post(revision, f"accepted:{decision.pk}:customer", subject, body, customer.email, attachment=copy)
    body = render_to_string("quotes/mail/accepted_office.txt", context)
    subject = f"Accepted: job {revision.job.number}, {revision.job.title}"
    _post(revision, f"accepted:{decision.pk}:office", subject, body, office_address(), attachment=copy)


def post_declined(*, decision: Decision) -> None:
    revision = decision.revision
    context = {"decision": decision, "customer": revision.job.property.customer, "revision": revision}
    context["address"] = settings.SITE_URL + reverse("quotes:revision", args=[revision.pk])
    body = render_to_string("quotes/mail/declined_office.txt", context)
    subject = f"Declined: job {revision.job.number}, {revision.job.title}"
    _post(revision, f"declined:{decision.pk}:office", subject, body, office_address())


def post_question(*, question: Question, job: Job) -> None:
    """Tell the office, who can answer the e-mail too: it goes to the customer."""
    context = {"question": question, "job": job}
    context["address"] = settings.SITE_URL + reverse("quotes:question", args=[question.pk])
    body = render_to_string("quotes/mail/question_office.txt", context)
    subject = f"Question: job {job.number}, {job.title}"
    customer = job.property.customer
    post(
        job=job,
        key=f"question:{question.pk}:office",
        to=office_address(),
        subject=subject,
        body=body,
        reply_to=customer.email,
    )


def post_answer(*, question: Question) -> None:
    revision = question.revision
    customer = revision.job.property.customer
    if customer.email:
        context = {"question": question, "document": revision.document}
        body = render_to_string("quotes/mail/answer.txt", context)
        subject = f"Your question: {revision.job.title}"
        _post(revision, f"question:{question.pk}:answer", subject, body, customer.email)


def office_address() -> str:
    return the_firm().email or settings.DEFAULT_FROM_EMAIL


def accepted_copy(decision_id: str) -> tuple[str, bytes, str] | None:
    """The accepted proposal as a file to attach; None where it cannot be made here."""
    decision = Decision.objects.select_related("revision__job__property__customer").get(pk=decision_id)
    try:
        return pdf_filename(decision.revision), proposal_pdf(decision.revision, decision), "application/pdf"
    except (PdfUnavailable, DrawingFailed):
        log.exception("The copy of %s goes without its PDF", decision.revision)
        return None


def _post(revision: Revision, key: str, subject: str, body: str, to: str, **more: str) -> None:
    reply_to = revision.document["firm"]["email"]
    post(job=revision.job, key=key, to=to, subject=subject, body=body, reply_to=reply_to, **more)
