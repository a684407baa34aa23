"""What was measured in a home, before and after the work, and what the place asks for."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from contractor.jobs.models import Job
from contractor.rooms.models import Room

QUANTITIES = ("source", "receiving", "background", "reverberation")


class Kind(models.TextChoices):
    AIRBORNE = "airborne", "Airborne: a loudspeaker in the source room"
    IMPACT = "impact", "Impact: a tapping machine on the floor"


class SoundTest(models.Model):
    """One set of readings and the result worked out from them when it was kept.

    `readings` holds, by quantity, positions of levels by band (dB; seconds for reverberation). A comparative check may
    have rows "A" and "C" among its `bands`, and never has a rating.
    """

    class Moment(models.TextChoices):
        BEFORE = "before", "Before the work"
        AFTER = "after", "After the work"

    class Basis(models.TextChoices):
        STANDARD = "standard", "Sound test after ISO 16283, with a class 1 meter"
        COMPARATIVE = "comparative", "Comparative check with a phone or plain meter"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="sound_tests")
    room = models.ForeignKey(
        Room,
        null=True,
        on_delete=models.SET_NULL,
        related_name="sound_tests",
        verbose_name="Receiving room",
    )
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.AIRBORNE)
    basis = models.CharField(max_length=12, choices=Basis.choices, default=Basis.STANDARD)
    moment = models.CharField("When", max_length=6, choices=Moment.choices, default=Moment.AFTER)
    source_room = models.CharField(max_length=120, help_text="Such as next door's living room.")
    measured_on = models.DateField("Measured on", default=timezone.localdate)
    measured_by = models.CharField("Measured by", max_length=120, help_text="Who, and of which body if accredited.")
    instrument = models.CharField(
        max_length=160, blank=True, help_text="Meter and its last calibration; for a phone, which phone."
    )
    volume_m3 = models.DecimalField(
        "Volume of the receiving room",
        max_digits=7,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("1")), MaxValueValidator(Decimal("10000"))],
    )
    area_m2 = models.DecimalField(
        "Area of the separating surface",
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.1"))],
        help_text="For the apparent sound reduction index; leave empty without one.",
    )
    assumed_reverberation_s = models.DecimalField(
        "Reverberation time where it was not measured",
        max_digits=4,
        decimal_places=2,
        default=Decimal("0.50"),
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(Decimal("10"))],
        help_text="0.5 s is usual for a furnished room. It is said beside the result that it was assumed.",
    )
    note = models.TextField(blank=True, help_text="Positions, windows, weather, what ran meanwhile.")
    bands = models.JSONField()
    readings = models.JSONField()
    result = models.JSONField()
    file_name = models.CharField(max_length=120, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["measured_on", "pk"]

    def __str__(self) -> str:
        return f"{self.title}, {self.get_moment_display().lower()}"

    @property
    def title(self) -> str:
        if self.basis == self.Basis.COMPARATIVE:
            return "Comparative check"
        return "Impact sound test" if self.kind == Kind.IMPACT else "Airborne sound test"

    @property
    def noun(self) -> str:
        """A comparative check is never called a test."""
        return "test" if self.is_standard else "check"

    @property
    def is_standard(self) -> bool:
        return self.basis == self.Basis.STANDARD


class ReadingsFile(models.Model):
    """A file or pasted cells between reading and choosing its columns; gone once a test is made of it."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="+")
    batch = models.UUIDField(db_index=True, help_text="Shared by files that were read together.")
    name = models.CharField(max_length=120, blank=True)
    text = models.TextField()
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")


class Target(models.Model):
    """What a regulation or a wish asks of a result. The firm's own data, with where it comes from."""

    class Quantity(models.TextChoices):
        DNT_W = "dnt_w", "DnT,w at least"
        DNT_W_CTR = "dnt_w_ctr", "DnT,w + Ctr at least"
        LNT_W = "lnt_w", "L′nT,w at most"

    name = models.CharField(max_length=120, unique=True)
    place = models.CharField(max_length=80, help_text="Where it applies, such as England.")
    quantity = models.CharField("Asks for", max_length=10, choices=Quantity.choices)
    limit_db = models.PositiveSmallIntegerField("Limit", validators=[MinValueValidator(10), MaxValueValidator(100)])
    source = models.CharField(max_length=200, help_text="Document, table and date, and who checked it.")

    class Meta:
        ordering = ["place", "quantity", "-limit_db", "pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_impact(self) -> bool:
        return self.quantity == self.Quantity.LNT_W
