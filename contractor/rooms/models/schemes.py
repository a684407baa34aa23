"""The treatments proposed for a job, and what was worked out from them and the survey."""

from django.db import models
from django.db.models import Q

from contractor.catalogue.models import BuildUp, Direction
from contractor.jobs.models import Job
from contractor.rooms.models.parts import Opening, Patch
from contractor.rooms.models.survey import SidePath


class PlanOption(models.TextChoices):
    """The options that a plan makes with one press."""

    LESS = "less", "Less"
    RECOMMENDED = "recommended", "Recommended"
    MOST = "most", "Most"


class Scheme(models.Model):
    """A named set of treatments for the whole job; each becomes an option of the quote."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="schemes")
    name = models.CharField(max_length=60)
    summary = models.TextField(blank=True, help_text="One or two sentences for the homeowner.")
    position = models.PositiveSmallIntegerField(default=1)
    # Where it was made from a plan: as which of its options, and a mark of what was made, to tell later edits by.
    plan_option = models.CharField(max_length=12, choices=PlanOption.choices, blank=True)
    plan_mark = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["job", "position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "name"],
                name="scheme_name_once_per_job",
                violation_error_message="This job already has an option of that name.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Treatment(models.Model):
    """What a scheme builds on one patch, in one opening, or does about one side path."""

    scheme = models.ForeignKey(Scheme, on_delete=models.CASCADE, related_name="treatments")
    patch = models.ForeignKey(Patch, null=True, blank=True, on_delete=models.CASCADE, related_name="treatments")
    opening = models.ForeignKey(Opening, null=True, blank=True, on_delete=models.CASCADE, related_name="treatments")
    side_path = models.ForeignKey(SidePath, null=True, blank=True, on_delete=models.CASCADE, related_name="treatments")
    build_up = models.ForeignKey(BuildUp, on_delete=models.PROTECT, related_name="treatments")
    boards_run = models.CharField(max_length=10, choices=Direction.choices, default=Direction.VERTICAL)

    class Meta:
        ordering = ["scheme", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(patch__isnull=False, opening__isnull=True, side_path__isnull=True)
                | Q(patch__isnull=True, opening__isnull=False, side_path__isnull=True)
                | Q(patch__isnull=True, opening__isnull=True, side_path__isnull=False),
                name="treatment_of_one_thing",
            ),
            models.UniqueConstraint(fields=["scheme", "patch"], name="one_treatment_per_patch"),
            models.UniqueConstraint(fields=["scheme", "opening"], name="one_treatment_per_opening"),
            models.UniqueConstraint(fields=["scheme", "side_path"], name="one_treatment_per_side_path"),
        ]

    @property
    def place(self) -> Patch | Opening | SidePath:
        return self.patch or self.opening or self.side_path


class Calculation(models.Model):
    """Prediction and take-off of a scheme, kept until an input changes. `fingerprint` is a hash of every input."""

    scheme = models.OneToOneField(Scheme, on_delete=models.CASCADE, related_name="calculation")
    fingerprint = models.CharField(max_length=64)
    engine_version = models.CharField(max_length=20)
    predictions = models.JSONField(help_text="By room: before, after, uncertainty, paths with shares.")
    takeoff = models.JSONField(help_text="Faces with layers, boards laid out and lengths cut; and what to buy.")
    made_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(fingerprint=""), name="calculation_has_fingerprint")]
