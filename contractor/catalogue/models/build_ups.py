"""What we build, layer by layer."""

from decimal import Decimal

from django.db import models
from django.urls import reverse

from contractor.catalogue.models.limits import NOT_NEGATIVE
from contractor.catalogue.models.materials import Material
from contractor.catalogue.models.ties import Connection, Direction


class BuildUp(models.Model):
    """A treatment that we build, as ordered layers from the existing surface to the finished face."""

    class Surface(models.TextChoices):
        WALL = "wall", "Wall"
        CEILING = "ceiling", "Ceiling"
        FLOOR = "floor", "Floor"
        FLOOR_EDGE = "floor_edge", "Floor edge and void"
        BOXING = "boxing", "Pipe boxing"
        BEAM = "beam", "Beam casing"
        REVEAL = "reveal", "Reveal"
        GAP = "gap", "Gaps and leaks"
        ROOF_VOID = "roof_void", "Gap in the roof void"
        DETAIL = "detail", "Detail"
        DOOR = "door", "Door"
        WINDOW = "window", "Window"

    class Unit(models.TextChoices):
        M2 = "m2", "m²"
        M = "m", "m"
        EACH = "each", "each"

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=140)
    surface = models.CharField(max_length=12, choices=Surface.choices)
    unit = models.CharField(max_length=5, choices=Unit.choices, default=Unit.M2)
    depth_mm = models.DecimalField("Depth lost", max_digits=6, decimal_places=1, validators=NOT_NEGATIVE)
    labour_hours_per_unit = models.DecimalField(max_digits=6, decimal_places=2, validators=NOT_NEGATIVE)
    crew_size = models.PositiveSmallIntegerField(default=2)
    replaces_face = models.BooleanField(
        "Takes down the old face",
        default=False,
        help_text="The board, ceiling or deck on the room's side comes off; studs or joists stay.",
    )
    only_on_projections = models.BooleanField(
        "Only for a part that stands out",
        default=False,
        help_text="Such as a chimney breast or a pier: it goes round the front and the sides.",
    )
    use_when = models.TextField(blank=True)
    avoid_when = models.TextField("Do not use when", blank=True)
    plain_words = models.TextField(blank=True, help_text="For the homeowner: what it is, without trade terms.")
    tools = models.TextField(blank=True, help_text="One to a line.")
    origin = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["surface", "depth_mm", "name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("catalogue:build-up", args=[self.pk])


class BuildUpLayer(models.Model):
    class Role(models.TextChoices):
        PREPARE = "prepare", "Preparation"
        AIR = "air", "Clear gap"
        SUPPORT = "support", "Support"
        TRIM = "trim", "Track, strip or tape"
        FILL = "fill", "Absorbing fill"
        MEMBRANE = "membrane", "Membrane"
        BOARD = "board", "Board"
        DAMPING = "damping", "Damping"
        RESILIENT = "resilient", "Resilient layer"
        FINISH = "finish", "Finish"

    build_up = models.ForeignKey(BuildUp, on_delete=models.CASCADE, related_name="layers")
    order = models.PositiveSmallIntegerField()
    role = models.CharField(max_length=10, choices=Role.choices)
    description = models.CharField(max_length=200)
    material = models.ForeignKey(
        Material, null=True, blank=True, on_delete=models.PROTECT, related_name="build_up_layers"
    )
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=2, default=Decimal("0"), validators=NOT_NEGATIVE)
    counts_in_depth = models.BooleanField(default=True)
    quantity_per_unit = models.DecimalField(
        max_digits=9, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE
    )
    quantity_unit = models.CharField(max_length=10, blank=True, help_text="m2, m, tube, bag, each …")
    in_existing_cavity = models.BooleanField(
        default=False, help_text="Fill that goes between the old studs or joists, not into the new gap."
    )
    connection = models.CharField(max_length=20, choices=Connection.choices, default=Connection.NONE)
    spacing_mm = models.PositiveIntegerField(null=True, blank=True)
    direction = models.CharField(max_length=10, choices=Direction.choices, blank=True)
    instruction = models.TextField(blank=True, help_text="For the fitter: how it is fixed.")

    class Meta:
        ordering = ["build_up", "order"]
        constraints = [models.UniqueConstraint(fields=["build_up", "order"], name="build_up_layer_order")]

    def __str__(self) -> str:
        return self.description


class BuildUpFixing(models.Model):
    """Screws and the like, by area; `layer` says which layer they hold."""

    build_up = models.ForeignKey(BuildUp, on_delete=models.CASCADE, related_name="fixings")
    layer = models.ForeignKey(BuildUpLayer, null=True, blank=True, on_delete=models.CASCADE, related_name="fixings")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    per_unit = models.DecimalField(max_digits=8, decimal_places=3, validators=NOT_NEGATIVE)
    screw_length_mm = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["build_up", "pk"]


class HoldPoint(models.Model):
    """Where the work stops to be looked at and photographed before it is covered."""

    build_up = models.ForeignKey(BuildUp, on_delete=models.CASCADE, related_name="hold_points")
    order = models.PositiveSmallIntegerField()
    after_layer = models.ForeignKey(
        BuildUpLayer, null=True, blank=True, on_delete=models.SET_NULL, related_name="hold_points"
    )
    text = models.CharField(max_length=240)

    class Meta:
        ordering = ["build_up", "order"]
