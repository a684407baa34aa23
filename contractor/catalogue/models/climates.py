"""The year outdoors that a damp check reckons with."""

from django.core.exceptions import ValidationError
from django.db import models
from django.urls import reverse

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December")  # fmt: skip


def twelve_numbers(values) -> None:
    if not isinstance(values, list) or len(values) != 12 or not all(isinstance(v, int | float) for v in values):
        raise ValidationError("Give a number for each of the twelve months.")


class Climate(models.Model):
    """Monthly means of a place, January first; one of them is the firm's."""

    class Indoors(models.TextChoices):
        DRY = "dry", "Dry: store, little used"
        LOW = "low", "Few people, well aired"
        NORMAL = "normal", "A dwelling, use not known"
        HIGH = "high", "Many people, much washing and cooking"

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    temperature_c = models.JSONField("temperature", validators=[twelve_numbers])
    humidity_percent = models.JSONField("relative humidity", validators=[twelve_numbers])
    indoors = models.CharField("moisture indoors", max_length=10, choices=Indoors, default=Indoors.NORMAL)
    origin = models.CharField(max_length=160, blank=True)
    is_used = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["is_used"], condition=models.Q(is_used=True), name="one_climate_is_used")
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("catalogue:climate", args=[self.pk])

    @property
    def coldest_c(self) -> float:
        return min(self.temperature_c)

    @property
    def warmest_c(self) -> float:
        return max(self.temperature_c)
