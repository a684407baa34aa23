"""What is left of boards and lengths, kept for a later job."""

from django.db import models
from django.db.models import Q

from contractor.catalogue.models import Material
from contractor.jobs.models import Job

JOBS_KEPT = 1  # through how many later jobs an offcut is worth its place; common practice


class Offcut(models.Model):
    """A rectangle of board, or with no width a piece of straight stock. `label` is written on it."""

    class Condition(models.TextChoices):
        GOOD = "good", "Good, clean edges"
        DAMAGED = "damaged", "Edge or face damaged"
        WET = "wet", "Has been wet"

    class State(models.TextChoices):
        IN_STORE = "in_store", "In store"
        USED = "used", "Used"
        DISCARDED = "discarded", "Discarded"

    label = models.CharField(max_length=40, unique=True)
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    length_mm = models.PositiveIntegerField(help_text="The long side.")
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    from_job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="offcuts_left")
    condition = models.CharField(max_length=10, choices=Condition.choices, default=Condition.GOOD)
    state = models.CharField(max_length=10, choices=State.choices, default=State.IN_STORE)
    reserved_for = models.ForeignKey(
        Job, null=True, blank=True, on_delete=models.SET_NULL, related_name="offcuts_reserved"
    )
    kept_at = models.DateTimeField(auto_now_add=True)
    gone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["material__name", "-width_mm", "-length_mm", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(length_mm__gt=0), name="offcut_has_length"),
            models.CheckConstraint(
                condition=Q(width_mm__isnull=True) | Q(width_mm__gt=0, width_mm__lte=models.F("length_mm")),
                name="offcut_width_is_short_side",
            ),
            models.CheckConstraint(
                condition=~Q(state="discarded") | Q(reserved_for=None), name="discarded_offcut_is_free"
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def size_words(self) -> str:
        return f"{self.width_mm:,} × {self.length_mm:,}" if self.width_mm else f"{self.length_mm:,}"
