"""What changes in a contract after it is made, what is asked for in stages, and what was paid."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from contractor.jobs.models import Job
from contractor.site.models import Act

PERCENT = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))]


class KeptForever(RuntimeError):
    """Somebody tried to change or delete what stands in the books."""


class KeptRows(models.QuerySet):
    def delete(self):
        raise KeptForever("Invoices and payments are never deleted.")


class Kept(models.Model):
    """A row of the books: written once, set right only by a further row."""

    objects = KeptRows.as_manager()

    class Meta:
        abstract = True

    def save(self, *args, **kwargs) -> None:
        if not self._state.adding:
            raise KeptForever(f"{self} stands in the books and is not changed.")
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        raise KeptForever(f"{self} stands in the books and is not deleted.")


class BillingSettings(models.Model):
    """How the firm asks for money: one row. `next_number` is taken under its lock, so the series has no gap."""

    next_number = models.PositiveIntegerField("Number of the next invoice", default=1)
    days_to_pay = models.PositiveSmallIntegerField("Days to pay", default=14, validators=[MaxValueValidator(120)])
    how_to_pay = models.TextField(
        "How to pay", blank=True, help_text="Account name, sort code and number, as they should stand on an invoice."
    )

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="billing_settings_are_one_row")]

    def __str__(self) -> str:
        return "How the firm bills"


class Variation(models.Model):
    """A change to the accepted contract. Once sent, what the homeowner is shown lies in `document`, frozen."""

    class Cause(models.TextChoices):
        CLIENT = "client", "Asked for by the customer"
        HIDDEN = "hidden", "Found behind what was there"
        PROGRAMME = "programme", "Programme: access, other trades, dates"
        DESIGN = "design", "A change of ours"

    class Status(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Waits for an answer"
        APPROVED = "approved", "Approved"
        DECLINED = "declined", "Declined"
        WITHDRAWN = "withdrawn", "Withdrawn"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="variations")
    number = models.PositiveSmallIntegerField()
    act = models.OneToOneField(
        Act, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="What raised it on site."
    )
    title = models.CharField(max_length=120, help_text="In a few words, such as Rotten joist ends by the window.")
    cause = models.CharField(max_length=10, choices=Cause.choices, default=Cause.HIDDEN)
    why = models.TextField("What is to be done, and why", help_text="As the customer will read it.")
    days = models.SmallIntegerField("Working days more", default=0, help_text="Fewer have a minus before them.")
    status = models.CharField(max_length=10, choices=Status.choices, default=Status.DRAFT)
    document = models.JSONField(default=dict)
    document_hash = models.CharField(max_length=64, blank=True)
    token_hash = models.CharField(max_length=64, blank=True, db_index=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    first_opened_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    typed_name = models.CharField(max_length=120, blank=True)
    reason = models.TextField(blank=True)
    address = models.GenericIPAddressField(null=True, blank=True)
    browser = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["job", "number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="variation_number_once_per_job"),
            models.CheckConstraint(
                condition=~Q(status="approved") | (~Q(typed_name="") & Q(answered_at__isnull=False)),
                name="approval_is_signed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reference} {self.title}"

    @property
    def reference(self) -> str:
        return f"V{self.number:02}"

    @property
    def is_draft(self) -> bool:
        return self.status == self.Status.DRAFT


class VariationLine(models.Model):
    """A line added, or with a quantity below nothing one left out, at the rates of the quote."""

    variation = models.ForeignKey(Variation, on_delete=models.CASCADE, related_name="lines")
    description = models.CharField(max_length=200)
    quantity = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(1))
    unit = models.CharField(max_length=20, default="item")
    unit_price = models.DecimalField("Unit price, ex VAT", max_digits=10, decimal_places=2)
    vat_percent = models.DecimalField("VAT", max_digits=5, decimal_places=2, validators=PERCENT)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.description


class PayStage(models.Model):
    """A part of the contract sum that falls due together. `position` orders them; they add up to 100 %."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="pay_stages")
    position = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=80)
    percent = models.DecimalField(
        max_digits=5, decimal_places=2, validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(100))]
    )

    class Meta:
        ordering = ["job", "position"]
        constraints = [models.UniqueConstraint(fields=["job", "position"], name="one_stage_per_position")]

    def __str__(self) -> str:
        return self.label


class Invoice(Kept):
    """A numbered demand, or a credit that takes one back. Frozen when made; never changed, never deleted."""

    class Kind(models.TextChoices):
        INVOICE = "invoice", "Invoice"
        CREDIT = "credit", "Credit note"

    number = models.PositiveIntegerField(unique=True)
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.INVOICE)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="invoices")
    credits = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="credited_by")
    label = models.CharField(max_length=120)
    upto_percent = models.DecimalField(
        max_digits=5, decimal_places=2, help_text="Share of the contract sum that is asked for up to and with this."
    )
    issued_on = models.DateField()
    due_on = models.DateField()
    document = models.JSONField()
    document_hash = models.CharField(max_length=64)
    net = models.DecimalField(max_digits=11, decimal_places=2)
    vat = models.DecimalField(max_digits=11, decimal_places=2)
    total = models.DecimalField(max_digits=11, decimal_places=2)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(condition=Q(kind="invoice") | Q(credits__isnull=False), name="credit_names_invoice"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"


class Payment(Kept):
    """Money that came in, or below nothing went back, written down by hand. A mistake is set right by an entry that takes
    it back; `against` is the invoice whose money was moved here, or to which it was moved."""

    class How(models.TextChoices):
        TRANSFER = "transfer", "Bank transfer"
        CARD = "card", "Card"
        CASH = "cash", "Cash"
        CHEQUE = "cheque", "Cheque"
        SET_OFF = "setoff", "Set against another invoice"

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="payments")
    amount = models.DecimalField(max_digits=11, decimal_places=2)
    on_date = models.DateField("Day", default=timezone.localdate)
    how = models.CharField(max_length=10, choices=How.choices, default=How.TRANSFER)
    note = models.CharField(max_length=120, blank=True, help_text="Such as the bank's reference.")
    takes_back = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="taken_back_by"
    )
    against = models.ForeignKey(Invoice, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["on_date", "pk"]
        constraints = [models.CheckConstraint(condition=~Q(amount=0), name="payment_is_not_nothing")]

    def __str__(self) -> str:
        return f"{self.kind} of £{abs(self.amount):,.2f} on {self.on_date.isoformat()}"

    @property
    def kind(self) -> str:
        """What this entry is, in a word or two."""
        if self.takes_back_id:
            return "Correction"
        if self.how == self.How.SET_OFF:
            return "Set-off"
        return "Payment" if self.amount > 0 else "Refund"

    @property
    def is_taken_back(self) -> bool:
        """Reads a relation; a list that asks this of many selects `taken_back_by` with them."""
        return hasattr(self, "taken_back_by")
