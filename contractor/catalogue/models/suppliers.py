"""Who materials are bought from."""

from django.db import models
from django.urls import reverse


class Supplier(models.Model):
    """A merchant with whom the firm has an account. None is shipped: each firm enters its own."""

    name = models.CharField(
        max_length=80,
        unique=True,
        error_messages={"unique": "Another supplier has this name. Give it one of its own."},
    )
    email = models.EmailField("E-mail for orders", blank=True)
    account_note = models.CharField(
        max_length=200,
        blank=True,
        help_text="Account number, days of delivery, least order: it stands on the order list.",
    )

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("catalogue:supplier", args=[self.pk])
