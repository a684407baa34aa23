"""What is offered, what was sent exactly as it was sent, who may see it, and what they decided."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from contractor.jobs.models import Job
from contractor.quotes.vat import VatEvidence
from contractor.rooms.models import Scheme


class Section(models.TextChoices):
    """The order in which a quote is read."""

    PRELIMINARIES = "preliminaries", "Setting up and protection"
    PREPARATION = "preparation", "Preparation and strip-out"
    LININGS = "linings", "Linings and treatments"
    DETAILS = "details", "Details"
    BY_OTHERS = "by_others", "Electrics and plumbing"
    FINISHING = "finishing", "Finishing"
    WASTE = "waste", "Waste"
    TESTING = "testing", "Testing"
    PROVISIONAL = "provisional", "Provisional sums"


class ExtraLine(VatEvidence):
    """A line the office adds by hand. It stands in every option, or in one."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="extra_lines")
    scheme = models.ForeignKey(
        Scheme,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="extra_lines",
        verbose_name="Option",
        help_text="Leave empty to put it in every option.",
    )
    section = models.CharField(max_length=20, choices=Section.choices)
    description = models.CharField(max_length=200)
    quantity = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal("1"))
    unit = models.CharField(max_length=20, default="item")
    unit_price = models.DecimalField("Unit price, ex VAT", max_digits=10, decimal_places=2)
    vat_percent = models.DecimalField(
        "VAT",
        max_digits=5,
        decimal_places=2,
        default=Decimal("20"),
        validators=[MinValueValidator(Decimal(0))],
    )
    is_optional = models.BooleanField(
        "An optional extra: the customer chooses whether to have it",
        default=False,
        help_text="It is in no total until they tick it. No discount is taken off it.",
    )
    about = models.CharField("What it is, for the customer", max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.description


class VatBasis(VatEvidence):
    """The rate of VAT on a job's worked-out lines where it is not the firm's own, with who decided it and why."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="vat_basis")
    vat_percent = models.DecimalField("VAT", max_digits=5, decimal_places=2, validators=[MinValueValidator(Decimal(0))])
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    decided_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"VAT of {self.job}"


class LineOverride(models.Model):
    """A worked-out line whose quantity or unit price the office sets itself; what it costs stays as taken off.

    `line_key` finds the line again each time the option is priced. What the line was then is kept, so that a line that
    is gone can be named and one that has moved since is told of.
    """

    scheme = models.ForeignKey(Scheme, on_delete=models.CASCADE, related_name="line_overrides")
    line_key = models.CharField(max_length=40)
    line_name = models.CharField(max_length=400, help_text="What the line said and where, for when it is gone.")
    quantity = models.DecimalField(max_digits=10, decimal_places=3, null=True)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    was_quantity = models.DecimalField(max_digits=20, decimal_places=9)
    was_unit_price = models.DecimalField(max_digits=12, decimal_places=2)
    reason = models.CharField(max_length=300)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["scheme", "line_key"], name="one_override_per_line"),
            models.CheckConstraint(condition=~Q(reason=""), name="override_has_a_reason"),
            models.CheckConstraint(
                condition=Q(quantity__isnull=False) | Q(unit_price__isnull=False), name="override_sets_something"
            ),
        ]

    def __str__(self) -> str:
        return self.line_name


class Discount(models.Model):
    """Taken off every option, or off one: a part of its net price, or a sum before VAT."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="discounts")
    scheme = models.ForeignKey(
        Scheme, null=True, blank=True, on_delete=models.CASCADE, related_name="discounts", verbose_name="Option"
    )
    percent = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    amount = models.DecimalField("Amount, ex VAT", max_digits=10, decimal_places=2, null=True, blank=True)
    reason = models.CharField(max_length=200)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="discount_has_a_reason"),
            models.CheckConstraint(
                condition=Q(percent__gt=0, percent__lte=100, amount=None) | Q(amount__gt=0, percent=None),
                name="discount_is_percent_or_amount",
            ),
        ]

    def __str__(self) -> str:
        return f"Discount: {self.reason}"


class Draft(models.Model):
    """The quote as the office last looked at it: prices, predictions and texts. What survey, plan or rates change
    afterwards is told against it, and is not sent before the office has brought it up to date."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="quote_draft")
    document = models.JSONField()
    kept_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    kept_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"Draft of {self.job}"


class Revision(models.Model):
    """One sending of the quote. Everything the homeowner was shown lies in `document`, frozen, with its hash."""

    class Status(models.TextChoices):
        SENT = "sent", "Sent"
        SUPERSEDED = "superseded", "Superseded"
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    status = models.CharField(max_length=12, choices=Status.choices, default=Status.SENT)
    document = models.JSONField()
    internal = models.JSONField(default=dict, help_text="Costs and margins at sending; never shown outside the office.")
    document_hash = models.CharField(max_length=64)
    sent_at = models.DateTimeField()
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    valid_until = models.DateField()

    class Meta:
        ordering = ["job", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="revision_number_once_per_job"),
            models.UniqueConstraint(fields=["job"], condition=Q(status="sent"), name="one_live_revision_per_job"),
        ]

    def __str__(self) -> str:
        return f"Quote {self.job.number}/{self.number}"

    @property
    def is_expired(self) -> bool:
        """Sent, not answered, and its price has run out."""
        return self.status == self.Status.SENT and self.valid_until < timezone.localdate()


class ProposalLink(models.Model):
    """A key to one revision. Only the hash of the token is kept; the token itself is shown once, when made."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="links")
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    first_opened_at = models.DateTimeField(null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)
    times_opened = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-created_at", "-pk"]


class Decision(models.Model):
    """What the homeowner said to a revision, and the evidence of it."""

    class Answer(models.TextChoices):
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"

    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, related_name="decision")
    answer = models.CharField(max_length=10, choices=Answer.choices)
    option = models.CharField(max_length=60, blank=True, help_text="Name of the option accepted.")
    scheme = models.ForeignKey(Scheme, null=True, on_delete=models.SET_NULL, related_name="+")
    typed_name = models.CharField(max_length=120, blank=True)
    agreed_terms = models.BooleanField(default=False)
    early_start = models.BooleanField(default=False)
    extras = models.JSONField(default=list, help_text="The optional extras chosen, as the document has them.")
    contract_sum = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    agreed_hash = models.CharField(max_length=64, blank=True, help_text="Of all that was agreed: see agreed.py.")
    reason = models.TextField(blank=True)
    document_hash = models.CharField(max_length=64)
    at = models.DateTimeField(auto_now_add=True)
    address = models.GenericIPAddressField(null=True)
    browser = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(answer="accepted") | (~Q(typed_name="") & Q(agreed_terms=True) & ~Q(option="")),
                name="acceptance_is_signed",
            ),
        ]

    @property
    def says(self) -> tuple:
        """The answer itself, without who sent it from where and when: a second tap says the same as the first."""
        extras = [extra["key"] for extra in self.extras]
        return self.answer, self.option, extras, self.typed_name, self.early_start, self.reason

    @property
    def chosen(self) -> str:
        """The option with the extras in words: “Recommended” with “Paint” and “Shelf”."""
        names = [f"“{extra['description']}”" for extra in self.extras]
        extras = " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
        return f"“{self.option}”" + (f" with {extras}" if extras else "")


class Question(models.Model):
    """What the homeowner asks about a proposal through its link, and what the office answers."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="questions")
    link = models.ForeignKey(ProposalLink, on_delete=models.CASCADE, related_name="questions")
    name = models.CharField(max_length=120)
    text = models.TextField()
    asked_at = models.DateTimeField(auto_now_add=True)
    address = models.GenericIPAddressField(null=True)
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(answer="", answered_at=None, answered_by=None)
                | (~Q(answer="") & Q(answered_at__isnull=False, answered_by__isnull=False)),
                name="answer_says_who_and_when",
            ),
        ]

    def __str__(self) -> str:
        return f"Question of {self.name} about {self.revision}"
