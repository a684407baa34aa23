"""What a job's material is asked for, what of it came, what was used, and what a job takes from the van instead."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from contractor.billing.models import Variation
from contractor.catalogue.models import Material, Supplier
from contractor.jobs.models import Job
from contractor.site.models import Act

_PERSON = {"to": settings.AUTH_USER_MODEL, "on_delete": models.PROTECT, "related_name": "+"}


class FromVan(models.Model):
    """Packs of one material that are in the van for this job. Kept by the job: a pack goes to one job only."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="from_van")
    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="+")
    packs = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "material"], name="one_line_from_van_per_material"),
            models.CheckConstraint(condition=models.Q(packs__gt=0), name="something_from_van"),
        ]

    def __str__(self) -> str:
        return f"{self.packs} × {self.material}"


class Order(models.Model):
    """What was asked of one supplier for a job on one day. Names are kept beside the rows that they come from."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="orders")
    number = models.PositiveSmallIntegerField()
    supplier = models.ForeignKey(Supplier, null=True, on_delete=models.SET_NULL, related_name="+")
    supplier_name = models.CharField(max_length=80, blank=True)
    ordered_on = models.DateField("Ordered on")
    due_on = models.DateField("Due on site", null=True, blank=True)
    reference = models.CharField("Supplier’s reference", max_length=60, blank=True)
    made_by = models.ForeignKey(**_PERSON)
    made_at = models.DateTimeField(auto_now_add=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["job", "number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="order_number_once_per_job"),
            models.CheckConstraint(
                condition=Q(cancelled_at=None) | ~Q(cancelled_why=""), name="cancelled_order_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"Order {self.job.number}-{self.number}"

    @property
    def from_whom(self) -> str:
        return self.supplier_name or "no supplier named"


class OrderedLine(models.Model):
    """Whole packs of one material in an order; the price of a pack is what it was thought to cost, ex VAT."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    material_key = models.CharField(max_length=60)
    name = models.CharField(max_length=140)
    packs = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    pack_quantity = models.PositiveIntegerField(default=1)
    pack_unit = models.CharField(max_length=20, default="each")
    pack_price = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    needed_then = models.PositiveIntegerField(help_text="Packs that the job needed in all when this was ordered.")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["order", "material_key"], name="one_ordered_line_per_material"),
            models.CheckConstraint(condition=Q(packs__gt=0), name="something_ordered"),
        ]

    def __str__(self) -> str:
        return f"{self.packs} × {self.name}"


class CheckOff(models.Model):
    """One person's count: how many packs of an ordered line, or with no line of a material out of the van, are on site
    now in all, and how many of those are damaged. Every count is kept; the one made last stands."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="check_offs")
    line = models.ForeignKey(OrderedLine, null=True, on_delete=models.CASCADE, related_name="check_offs")
    material_key = models.CharField(max_length=60)
    here = models.PositiveIntegerField()
    damaged = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(**_PERSON)
    at = models.DateTimeField()
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(damaged__lte=models.F("here")), name="damaged_packs_are_here")
        ]

    @property
    def sound(self) -> int:
        return self.here - self.damaged


class MoreNeeded(models.Model):
    """Packs that the office adds to what the accepted take-off needs: for a variation, or for what was spoiled."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="more_needed")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    packs = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    why = models.CharField("What for", max_length=120)
    variation = models.ForeignKey(
        Variation,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="+",
        help_text="It counts once the customer has approved the variation.",
    )
    made_by = models.ForeignKey(**_PERSON)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name_plural = "more needed"
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=Q(packs__gt=0), name="more_is_something")]

    def __str__(self) -> str:
        return f"{self.packs} × {self.material} more"

    @property
    def counts(self) -> bool:
        """Whether it may be ordered: not for a variation that the customer has not approved."""
        return self.variation is None or self.variation.status == Variation.Status.APPROVED


class UsedMaterial(models.Model):
    """What one person said of a material at the end of the fitting: packs left over whole or in part, and packs bought
    besides what was ordered. What was said last stands; said of nothing, all that came was used."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="used_material")
    material_key = models.CharField(max_length=60)
    left_over = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    bought = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(**_PERSON)
    at = models.DateTimeField()
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "used material"
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["job", "material_key"], name="used_by_job_and_material")]
        constraints = [
            models.CheckConstraint(condition=Q(left_over__gte=0, bought__gte=0), name="used_is_not_below_nothing")
        ]
