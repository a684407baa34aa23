"""What labour costs and how long it takes."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from contractor.catalogue.models.limits import NOT_NEGATIVE


class LabourRate(models.Model):
    """What an hour, point or visit of a trade is charged at."""

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=20, default="hour")
    rate = models.DecimalField(max_digits=8, decimal_places=2, validators=NOT_NEGATIVE)
    set_on = models.DateField()
    is_illustrative = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class LabourAllowance(models.Model):
    """Hours for work that is no build-up: stripping, lifting boards, skimming, clearing away."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=10)
    hours_per_unit = models.DecimalField(max_digits=6, decimal_places=3, validators=NOT_NEGATIVE)
    rate = models.ForeignKey(LabourRate, on_delete=models.PROTECT, related_name="allowances")
    origin = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class LabourFactor(models.Model):
    """A multiplier on hours for a circumstance, such as a small area or a stairwell."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    factor = models.DecimalField(max_digits=5, decimal_places=3, validators=[MinValueValidator(Decimal("0.1"))])
    origin = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
