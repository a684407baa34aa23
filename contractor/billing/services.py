"""What changes variations, stages, invoices and payments.

Whatever depends on the contract sum holds the lock of the job's row first, as the quote's services do, so that approving,
invoicing and paying at the same moment come one after the other.
"""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.db.models.functions import Coalesce
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.selectors import the_firm
from contractor.accounts.services import record
from contractor.billing import post, selectors
from contractor.billing.documents import invoice_document, variation_document
from contractor.billing.models import BillingSettings, Invoice, PayStage, Variation, VariationLine
from contractor.billing.reckoning import Band, bands_of_document, net_of, taken_back, to_ask, total, vat_of
from contractor.billing.selectors import account_of, contract_of
from contractor.common.links import new_token, token_hash
from contractor.jobs.models import Job
from contractor.quotes.document import fingerprint

Status = Variation.Status


class Refused(Exception):
    """What cannot be done, with the reason for the office."""


class NotOpen(Exception):
    """The variation cannot be answered any more."""


def locked(job: Job) -> Job:
    return Job.objects.select_for_update(of=("self",)).select_related("property__customer").get(pk=job.pk)


@transaction.atomic
def variation_start(*, job: Job, user: User, **values) -> Variation:
    """A draft with the next number of the job. Raises Refused where nothing was accepted."""
    job = locked(job)
    if contract_of(job) is None:
        raise Refused("There is no contract to vary: the customer has not accepted a quote yet.")
    number = job.variations.aggregate(newest=Coalesce(Max("number"), 0))["newest"] + 1
    made = Variation.objects.create(job=job, number=number, created_by=user, **values)
    record(user=user, action="Variation begun", subject=job, variation=str(made))
    return made


@transaction.atomic
def variation_change(*, variation: Variation, user: User) -> None:
    _draft(variation)
    variation.save(update_fields=["title", "cause", "why", "days"])
    record(user=user, action="Variation changed", subject=variation.job, variation=str(variation))


@transaction.atomic
def line_save(*, line: VariationLine, user: User) -> None:
    _draft(line.variation)
    line.save()
    record(
        user=user,
        action="Line of variation kept",
        subject=line.variation.job,
        variation=line.variation.reference,
        line=line.description,
        quantity=str(line.quantity),
        unit_price=str(line.unit_price),
    )


@transaction.atomic
def line_delete(*, line: VariationLine, user: User) -> None:
    _draft(line.variation)
    record(user=user, action="Line of variation deleted", subject=line.variation.job, line=line.description)
    line.delete()


def _draft(variation: Variation) -> None:
    found = Variation.objects.select_for_update().get(pk=variation.pk)
    if found.status != Status.DRAFT:
        raise Refused("It was sent and stands as it was sent. Withdraw it and begin another.")


@transaction.atomic
def variation_send(*, variation: Variation, user: User) -> str:
    """Freeze it, make its link and post it; the token, to be shown once. Raises Refused."""
    job = locked(variation.job)
    _draft(variation)
    variation.refresh_from_db()  # lines and words may have changed since it was looked at
    if not variation.lines.exists() and not variation.days:
        raise Refused("There is nothing in it yet: add a line, or say how many days it changes.")
    account = account_of(job, contract_of(job))
    token = new_token()
    now = timezone.now()
    variation.document = variation_document(
        variation=variation, job=job, firm=the_firm(), contract_sum=account.contract_sum,
        photos=selectors.photos_of(variation), sent_at=now,
    )  # fmt: skip
    variation.document_hash = fingerprint(variation.document)
    variation.token_hash = token_hash(token)
    variation.status, variation.sent_at = Status.SENT, now
    variation.save()
    record(
        user=user, action="Variation sent", subject=job, variation=str(variation), hash=variation.document_hash,
        total=variation.document["total"],
    )  # fmt: skip
    post.variation_sent(variation=variation, token=token)
    return token


@transaction.atomic
def variation_withdraw(*, variation: Variation, user: User) -> None:
    """Take back a draft or one that waits for an answer."""
    locked(variation.job)
    found = Variation.objects.get(pk=variation.pk)
    if found.status not in (Status.DRAFT, Status.SENT):
        raise Refused(f"It is {found.get_status_display().lower()} already.")
    found.status = Status.WITHDRAWN
    found.save(update_fields=["status"])
    record(user=user, action="Variation withdrawn", subject=variation.job, variation=str(variation))


def note_opened(*, variation: Variation) -> None:
    Variation.objects.filter(pk=variation.pk, first_opened_at=None).update(first_opened_at=timezone.now())


@transaction.atomic
def variation_answer(
    *, variation: Variation, approved: bool, typed_name: str = "", reason: str = "", address: str, browser: str
) -> Variation:
    """The homeowner's answer, once. Raises NotOpen where it was answered or withdrawn first."""
    locked(variation.job)
    found = Variation.objects.select_related("job__property__customer").get(pk=variation.pk)
    if found.status != Status.SENT:
        raise NotOpen(found.get_status_display())
    if fingerprint(found.document) != found.document_hash:
        raise RuntimeError(f"{found} is not the document that was frozen; its hash does not match.")
    found.status = Status.APPROVED if approved else Status.DECLINED
    found.typed_name, found.reason = typed_name, reason
    found.answered_at = timezone.now()
    found.address, found.browser = address or None, browser[:300]
    found.save()
    record(
        user=None, action=f"Variation {found.status} by the customer", subject=found.job, variation=str(found),
        hash=found.document_hash,
    )  # fmt: skip
    post.variation_answered(variation=found)
    return found


@transaction.atomic
def stages_set(*, job: Job, stages: Sequence[tuple[str, Decimal]], user: User) -> None:
    """Lay down how the contract sum is asked for. Raises Refused once something was asked for."""
    job = locked(job)
    if job.invoices.exists():
        raise Refused("A stage was invoiced already. What is left to ask for can no longer be split anew.")
    job.pay_stages.all().delete()
    PayStage.objects.bulk_create(
        PayStage(job=job, position=n, label=label, percent=percent) for n, (label, percent) in enumerate(stages, 1)
    )
    record(user=user, action="Payment stages set", subject=job, stages=[f"{label}: {p} %" for label, p in stages])


@transaction.atomic
def invoice_next(*, job: Job, user: User, expected: Decimal) -> Invoice:
    """Ask for the next stage, or, when all stages are asked for, for what was varied since.

    `expected` is the amount that whoever pressed was shown; another one raises Refused, so that a variation approved in
    the same minute, or a second press, is never invoiced unseen.
    """
    job = locked(job)
    contract = contract_of(job)
    if contract is None:
        raise Refused("Nothing was accepted, so there is nothing to ask for.")
    account = account_of(job, contract)
    stage = next((stage for stage in account.stages if stage.is_next), None)
    label, upto = (stage.row.label, stage.upto_percent) if stage else ("Variations since the last stage", Decimal(100))
    bands = to_ask(account.bands, account.asked, upto)
    if total(bands) != expected:
        raise Refused("Something changed meanwhile: look at the amount again before you ask for it.")
    if total(bands) <= 0:
        raise Refused("There is nothing to ask for. What was asked for too much is taken back by a credit note.")
    if any(band.vat for band in bands) and not the_firm().vat_number:
        raise Refused("It charges VAT, and the firm's settings hold no VAT number to stand on it.")
    if not job.pay_stages.exists():
        PayStage.objects.bulk_create(selectors.stages_as_accepted(job, contract))
    return _issue(job=job, user=user, label=label, upto=upto, bands=bands, account=account)


def _issue(*, job, user, label, upto, bands: list[Band], account, credits: Invoice | None = None) -> Invoice:
    """Take the next number of the series and freeze the invoice under it, in the caller's transaction."""
    settings = BillingSettings.objects.select_for_update().get_or_create(pk=1)[0]
    number, settings.next_number = settings.next_number, settings.next_number + 1
    settings.save(update_fields=["next_number"])
    today = timezone.localdate()
    due_on = today if credits else today + timedelta(days=settings.days_to_pay)
    document = invoice_document(
        number=number, job=job, firm=the_firm(), settings=settings, label=label, bands=bands, account=account,
        issued_on=today, due_on=due_on, credits=credits,
    )  # fmt: skip
    made = Invoice.objects.create(
        number=number,
        kind=Invoice.Kind.CREDIT if credits else Invoice.Kind.INVOICE,
        job=job,
        credits=credits,
        label=label,
        upto_percent=upto,
        issued_on=today,
        due_on=due_on,
        document=document,
        document_hash=fingerprint(document),
        net=net_of(bands),
        vat=vat_of(bands),
        total=total(bands),
        created_by=user,
    )
    record(user=user, action=f"{made.get_kind_display()} made", subject=job, number=number, total=str(made.total))
    return made


@transaction.atomic
def invoice_credit(*, invoice: Invoice, user: User, reason: str) -> Invoice:
    """Take back a whole invoice by a credit note of the same series. Raises Refused.

    What was paid on it stands over, until it is given back or set against another invoice.
    """
    job = locked(invoice.job)
    found = Invoice.objects.get(pk=invoice.pk)
    if found.kind == Invoice.Kind.CREDIT or Invoice.objects.filter(credits=found).exists():
        raise Refused("It was taken back already, or takes one back itself.")
    later = job.invoices.filter(kind=Invoice.Kind.INVOICE, number__gt=found.number, credited_by=None).exists()
    if later:
        raise Refused("A later invoice builds on it. Take that one back first.")
    bands = taken_back(bands_of_document(found.document["vat"]))
    account = account_of(job, contract_of(job))
    label = f"Takes back invoice {found.number}: {reason}"[:120]
    return _issue(
        job=job, user=user, label=label, upto=Decimal(0), bands=bands, account=account, credits=found
    )  # fmt: skip


@transaction.atomic
def invoice_send(*, invoice: Invoice, user: User, copy: int = 0) -> str:
    """Post it to the customer with its PDF; the address, or nothing where none is known.

    `copy` counts the e-mails of it that whoever pressed knew of: pressed twice, it goes once.
    """
    message = post.invoice_sent(invoice=invoice, copy=copy)
    if message is None:
        return ""
    record(user=user, action=f"{invoice.get_kind_display()} posted", subject=invoice.job, number=invoice.number)
    return message.to


@transaction.atomic
def statement_send(*, job: Job, user: User, copy: int = 0) -> str:
    """Post the statement as it stands when it goes; as invoice_send."""
    message = post.statement_sent(job=job, copy=copy)
    if message is None:
        return ""
    record(user=user, action="Statement posted", subject=job)
    return message.to


@transaction.atomic
def settings_save(*, settings: BillingSettings, user: User) -> None:
    """Keep how the firm bills. Where the series begins is the firm's to say until the first invoice, and never after."""
    kept = BillingSettings.objects.select_for_update().get_or_create(pk=1)[0]
    kept.days_to_pay, kept.how_to_pay = settings.days_to_pay, settings.how_to_pay
    if not Invoice.objects.exists():
        kept.next_number = settings.next_number
    kept.save()
    record(user=user, action="Billing settings changed", subject=kept, next_number=kept.next_number)
