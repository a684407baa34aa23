"""What was found on a surface by knocking, feeling and measuring, beyond its sizes."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from contractor.rooms.models.survey import Surface

CELL_MM = 300  # the grid on which a wall is sounded: common practice


class Finding(models.Model):
    """The tap test of a surface, and what else decides what may be built on it.

    `marks` holds the cells of a grid of CELL_MM, counted from the bottom left from 0: {"hollow": [[column, row], …],
    "damp": […], "skipped": […]}. While `was_tapped`, cells in none of the lists were found sound.
    """

    surface = models.OneToOneField(Surface, on_delete=models.CASCADE, related_name="finding")
    was_tapped = models.BooleanField(default=False)
    marks = models.JSONField(default=dict, blank=True)
    moisture_percent = models.DecimalField(
        "Highest moisture reading",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))],
    )
    has_salts = models.BooleanField("Salts on the face", default=False)
    is_crumbling = models.BooleanField("Plaster crumbles", default=False)
    frame_clear_mm = models.PositiveIntegerField("Clear beside the frame", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"Findings on {self.surface}"
