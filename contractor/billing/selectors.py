"""Reads of what a contract stands at: sum, stages, invoices, payments, variations."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch, QuerySet
from django.http import Http404
from django.utils import timezone

from contractor.billing.models import BillingSettings, Invoice, Payment, PayStage, Variation
from contractor.billing.reckoning import Band, bands_of_document, net_of, to_ask, together, total, vat_of
from contractor.common.links import token_hash
from contractor.jobs.models import Job
from contractor.quotes.agreed import agreed_option
from contractor.quotes.models import Decision
from contractor.quotes.prices import NOTHING
from contractor.site.models import SitePhoto


@dataclass(frozen=True, kw_only=True)
class Contract:
    """What was accepted, and the accepted option of the frozen document with the extras that were chosen."""

    decision: Decision
    option: dict

    @property
    def bands(self) -> list[Band]:
        return bands_of_document(self.option["vat"])

    @property
    def lines(self) -> list[dict]:
        """The quote's lines, whose rates variations are priced at."""
        return [line for section in self.option["sections"] for line in section["lines"]]


@dataclass(frozen=True, kw_only=True)
class Stage:
    """`upto_percent` is the share up to and with it; `asked_by` the invoice that asked for it, if it still stands."""

    row: PayStage
    upto_percent: Decimal
    amount: Decimal
    asked_by: Invoice | None
    is_next: bool


@dataclass(frozen=True, kw_only=True)
class Account:
    """Where the job's money stands."""

    contract: Contract
    variations: list[Variation]
    stages: list[Stage]
    invoices: list[Invoice]
    bands: list[Band]
    asked: list[Band]

    @property
    def accepted_total(self) -> Decimal:
        return total(self.contract.bands)

    @property
    def approved(self) -> list[Variation]:
        return [v for v in self.variations if v.status == Variation.Status.APPROVED]

    @property
    def sum_net(self) -> Decimal:
        return net_of(self.bands)

    @property
    def sum_vat(self) -> Decimal:
        return vat_of(self.bands)

    @property
    def contract_sum(self) -> Decimal:
        return total(self.bands)

    @property
    def days(self) -> int:
        return sum(v.days for v in self.approved)

    @property
    def asked_total(self) -> Decimal:
        return total(self.asked)

    @property
    def paid(self) -> Decimal:
        return sum((paid_of(invoice) for invoice in self.invoices), NOTHING)

    @property
    def owed(self) -> Decimal:
        return self.asked_total - self.paid

    @property
    def still_to_ask(self) -> Decimal:
        return self.contract_sum - self.asked_total

    @property
    def over(self) -> Decimal:
        """What came in beyond all that is asked for, to be given back or set against what comes."""
        return max(-self.owed, NOTHING)

    @property
    def overdue(self) -> Decimal:
        today = timezone.localdate()
        return sum((open_of(i) for i in self.invoices if i.due_on < today and open_of(i) > 0), NOTHING)

    @property
    def next_due(self) -> Invoice | None:
        """The open invoice that is to be paid first."""
        waiting = [invoice for invoice in self.invoices if open_of(invoice) > 0]
        return min(waiting, key=lambda invoice: (invoice.due_on, invoice.number), default=None)

    @property
    def is_all_staged(self) -> bool:
        """Whether every stage is asked for, so that only what was varied since is left to ask."""
        return bool(self.stages) and all(stage.asked_by for stage in self.stages)


def contract_of(job: Job) -> Contract | None:
    decision = (
        Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED)
        .select_related("revision")
        .defer("revision__internal")
        .order_by("-at")
        .first()
    )
    if decision is None:
        return None
    return Contract(decision=decision, option=agreed_option(decision))


def account_of(job: Job, contract: Contract) -> Account:
    """The account in four queries. Stages that were never laid down are those of the accepted quote."""
    variations = list(job.variations.prefetch_related("lines").order_by("number"))
    invoices = list(_with_payments(job.invoices.select_related("credits", "credited_by")).order_by("number"))
    rows = list(job.pay_stages.order_by("position")) or stages_as_accepted(job, contract)
    approved = [bands_of_document(v.document["vat"]) for v in variations if v.status == Variation.Status.APPROVED]
    bands = together(contract.bands, *approved)
    asked = together(*(bands_of_document(invoice.document["vat"]) for invoice in invoices))
    return Account(
        contract=contract,
        variations=variations,
        stages=_stages(rows, invoices, bands, asked),
        invoices=invoices,
        bands=bands,
        asked=asked,
    )


def stages_as_accepted(job: Job, contract: Contract) -> list[PayStage]:
    """Deposit and balance, as the accepted letter says; unsaved."""
    whole = Decimal(contract.option["total"])
    deposit = Decimal(contract.option["deposit"])
    percent = (100 * deposit / whole).quantize(Decimal("0.01")) if whole else Decimal(0)
    parts = [("Deposit with the order", percent), ("When the work is done", 100 - percent)]
    kept = [(label, part) for label, part in parts if part]
    return [PayStage(job=job, position=n, label=label, percent=p) for n, (label, p) in enumerate(kept, start=1)]


def _stages(rows, invoices, bands: list[Band], asked: list[Band]) -> list[Stage]:
    standing = [i for i in invoices if i.kind == Invoice.Kind.INVOICE and not hasattr(i, "credited_by")]
    stages, upto, is_found = [], Decimal(0), False
    for row in rows:
        upto += row.percent
        by = next((i for i in standing if i.upto_percent >= upto), None)
        is_next = by is None and not is_found
        is_found = is_found or is_next
        part = to_ask(bands, asked, upto) if is_next else []
        whole = total(bands) * row.percent / 100
        amount = total(part) if is_next else (by.total if by and by.upto_percent == upto else whole)
        stages.append(Stage(row=row, upto_percent=upto, amount=amount, asked_by=by, is_next=is_next))
    return stages


def paid_of(invoice: Invoice) -> Decimal:
    return sum((payment.amount for payment in invoice.payments.all()), NOTHING)


def open_of(invoice: Invoice) -> Decimal:
    """What is still to be paid on an invoice; below nothing what is over, as all that was paid on one taken back."""
    if invoice.kind == Invoice.Kind.CREDIT:
        return NOTHING
    return (NOTHING if hasattr(invoice, "credited_by") else invoice.total) - paid_of(invoice)


def _with_payments(invoices: QuerySet[Invoice]) -> QuerySet[Invoice]:
    entries = Payment.objects.select_related("taken_back_by", "against")
    return invoices.prefetch_related(Prefetch("payments", entries))


def open_beside(invoice: Invoice) -> list[Invoice]:
    """The job's other invoices that still ask for something, the oldest first."""
    others = _with_payments(invoice.job.invoices.select_related("credited_by")).exclude(pk=invoice.pk)
    return [other for other in others.order_by("number") if open_of(other) > 0]


def variations_of(job: Job) -> QuerySet[Variation]:
    return job.variations.order_by("number")


def variation_for(pk: int) -> Variation:
    try:
        return (
            Variation.objects.select_related("job__property__customer", "created_by", "act")
            .prefetch_related("lines")
            .get(pk=pk)
        )
    except Variation.DoesNotExist:
        raise Http404("There is no such variation.") from None


def variation_behind(token: str) -> Variation | None:
    """The variation that a token opens, job and customer loaded; None for a token that opens nothing."""
    return (
        Variation.objects.select_related("job__property__customer")
        .filter(token_hash=token_hash(token))
        .exclude(token_hash="")
        .first()
    )


def photos_of(variation: Variation) -> list[SitePhoto]:
    """What was photographed on site with the act that raised it."""
    if variation.act_id is None:
        return []
    return list(SitePhoto.objects.filter(job=variation.job_id, about=str(variation.act.key)).order_by("taken_at", "pk"))


def photo_shown(variation: Variation, key) -> SitePhoto:
    """A photograph that the sent variation shows; Http404 for any other."""
    shown = {photo["key"] for photo in variation.document.get("photos", [])}
    found = SitePhoto.objects.filter(job=variation.job_id, key=key).first() if str(key) in shown else None
    if found is None:
        raise Http404("There is no such photograph here.")
    return found


def photos_shown(variation: Variation) -> list[SitePhoto]:
    """The photographs of the sent variation, as far as they are still kept."""
    keys = [photo["key"] for photo in variation.document.get("photos", [])]
    return list(SitePhoto.objects.filter(job=variation.job_id, key__in=keys).order_by("taken_at", "pk"))


def line_for(variation: Variation, pk: int):
    found = next((line for line in variation.lines.all() if line.pk == pk), None)
    if found is None:
        raise Http404("There is no such line.")
    return found


def invoice_for(pk: int) -> Invoice:
    try:
        found = Invoice.objects.select_related("job__property__customer", "credits", "credited_by", "created_by")
        return _with_payments(found).get(pk=pk)
    except Invoice.DoesNotExist:
        raise Http404("There is no such invoice.") from None


def payment_for(pk: int) -> Payment:
    try:
        return Payment.objects.select_related("invoice__job").get(pk=pk)
    except Payment.DoesNotExist:
        raise Http404("There is no such payment.") from None


def billing_settings() -> BillingSettings:
    return BillingSettings.objects.get_or_create(pk=1)[0]


def series_is_begun() -> bool:
    return Invoice.objects.exists()


def invoices_between(first: date | None, last: date | None) -> QuerySet[Invoice]:
    """By the day on which they were issued."""
    found = Invoice.objects.select_related("job__property__customer", "credits", "credited_by")
    return _between(_with_payments(found), "issued_on", first, last).order_by("number")


def payments_between(first: date | None, last: date | None) -> QuerySet[Payment]:
    """By their own day, whenever the invoice was issued."""
    found = Payment.objects.select_related("invoice__job", "against", "takes_back")
    return _between(found, "on_date", first, last).order_by("on_date", "pk")


def _between(rows: QuerySet, field: str, first: date | None, last: date | None) -> QuerySet:
    limits = {f"{field}__gte": first, f"{field}__lte": last}
    return rows.filter(**{name: day for name, day in limits.items() if day})
