"""A supplier's price list between being read and being taken over."""

from django.conf import settings
from django.db import models

from contractor.catalogue.models.suppliers import Supplier


class PriceList(models.Model):
    """The text of a list as it was sent in. Kept until another is read for the same supplier."""

    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="price_lists")
    name = models.CharField(max_length=120)
    text = models.TextField()
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.name} of {self.supplier}"
