"""What is offered, what was sent exactly as it was sent, who may see it, and what they decided."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from contractor.jobs.models import Job
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


class ExtraLine(models.Model):
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

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.description


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
