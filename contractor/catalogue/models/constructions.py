"""What stands already."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.urls import reverse

from contractor.catalogue.models.limits import NOT_NEGATIVE
from contractor.catalogue.models.materials import Material
from contractor.catalogue.models.ties import Connection


class Construction(models.Model):
    """Something that stands already: a wall, floor, ceiling, door or window as found."""

    class Kind(models.TextChoices):
        WALL = "wall", "Wall"
        FLOOR = "floor", "Floor and ceiling below"
        ROOF = "roof", "Ceiling under a roof"
        DOOR = "door", "Door"
        WINDOW = "window", "Window"

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=140)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    known_weighted_db = models.DecimalField(
        "Known Rw",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="A measured or published rating to anchor the prediction to, if there is one.",
    )
    note = models.CharField(max_length=300, blank=True)
    origin = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("catalogue:construction", args=[self.pk])

    @property
    def thickness_mm(self) -> Decimal:
        """Of all layers together."""
        return sum((layer.thickness_mm for layer in self.layers.all()), Decimal(0))


class ConstructionLayer(models.Model):
    """One layer, from the far side to the room. A cavity has no material of its own, but may hold one as fill."""

    construction = models.ForeignKey(Construction, on_delete=models.CASCADE, related_name="layers")
    order = models.PositiveSmallIntegerField()
    is_cavity = models.BooleanField(default=False)
    material = models.ForeignKey(Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    thickness_mm = models.DecimalField(max_digits=7, decimal_places=2, validators=[MinValueValidator(Decimal("0.1"))])
    fill_thickness_mm = models.DecimalField(
        max_digits=7, decimal_places=2, null=True, blank=True, validators=NOT_NEGATIVE
    )
    connection = models.CharField(max_length=20, choices=Connection.choices, default=Connection.NONE)
    spacing_mm = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["construction", "order"]
        constraints = [
            models.UniqueConstraint(fields=["construction", "order"], name="construction_layer_order"),
            models.CheckConstraint(
                condition=models.Q(is_cavity=True) | models.Q(material__isnull=False),
                name="solid_layer_has_material",
                violation_error_message="Say what a solid layer is made of.",
            ),
        ]
