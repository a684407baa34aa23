"""Anything a layer is made of."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.urls import reverse

from contractor.catalogue.models.limits import NOT_NEGATIVE
from contractor.catalogue.models.suppliers import Supplier


class Material(models.Model):
    """Anything a layer is made of: bought goods with a pack and price, or existing fabric with neither."""

    class Kind(models.TextChoices):
        FABRIC = "fabric", "Existing fabric"
        BOARD = "board", "Boards"
        TIMBER_SHEET = "timber_sheet", "Timber sheets"
        MEMBRANE = "membrane", "Membranes"
        DAMPING = "damping", "Damping"
        RESILIENT = "resilient", "Resilient layers"
        INSULATION = "insulation", "Insulation"
        FRAMING = "framing", "Framing"
        FIXING = "fixing", "Fixings"
        SEALANT = "sealant", "Sealants and backing"
        ISOLATION = "isolation", "Isolation strips and pads"
        TAPE = "tape", "Tapes"
        ADHESIVE = "adhesive", "Adhesives"
        PLASTER = "plaster", "Plaster and mortar"
        ELECTRICAL = "electrical", "Electrical"
        JOINERY = "joinery", "Joinery"
        GLAZING = "glazing", "Glazing"
        VENTILATION = "ventilation", "Ventilation"
        SITE = "site", "Site protection"
        WASTE = "waste", "Waste"

    class Form(models.TextChoices):
        """How it comes, which decides how it is taken off."""

        NONE = "none", "Not bought"
        SHEET = "sheet", "Sheet"
        LENGTH = "length", "Straight length"
        ROLL = "roll", "Roll"
        BATT = "batt", "Slab or batt"
        TUBE = "tube", "Tube"
        BAG = "bag", "Bag or tub"
        EACH = "each", "Each"

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=140)
    kind = models.CharField(max_length=20, choices=Kind.choices)
    form = models.CharField(max_length=10, choices=Form.choices, default=Form.EACH)

    length_mm = models.PositiveIntegerField(null=True, blank=True)
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    thickness_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE)
    mass_kg_m2 = models.DecimalField(
        "Mass per area", max_digits=8, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE
    )
    mass_kg_m = models.DecimalField(
        "Mass per length", max_digits=8, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE
    )
    mass_kg_each = models.DecimalField(
        "Mass each", max_digits=8, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE
    )
    volume_ml = models.PositiveIntegerField("Contents of a tube", null=True, blank=True)

    # What the prediction needs. Left empty for goods that are no part of a leaf or a cavity.
    density_kg_m3 = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True, validators=NOT_NEGATIVE)
    coincidence_m_hz = models.DecimalField(
        "Critical frequency × thickness",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
    )
    loss_factor = models.DecimalField(max_digits=6, decimal_places=4, null=True, blank=True, validators=NOT_NEGATIVE)
    flow_resistivity_pa_s_m2 = models.PositiveIntegerField("Airflow resistivity", null=True, blank=True)
    shear_modulus_pa = models.PositiveBigIntegerField("Shear modulus", null=True, blank=True)
    dynamic_stiffness_mn_m3 = models.DecimalField(
        "Dynamic stiffness", max_digits=7, decimal_places=2, null=True, blank=True, validators=NOT_NEGATIVE
    )
    is_masonry = models.BooleanField(default=False)

    pack_quantity = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    pack_unit = models.CharField(max_length=20, default="each")
    price = models.DecimalField(
        "Price of a pack, ex VAT",
        max_digits=10,
        decimal_places=2,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
    )
    price_set_on = models.DateField(null=True, blank=True)
    price_is_illustrative = models.BooleanField(default=False)
    coverage = models.DecimalField(
        "One pack covers", max_digits=9, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE
    )
    coverage_unit = models.CharField(max_length=10, blank=True, help_text="m2, m or each")
    waste_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("0"), validators=NOT_NEGATIVE)
    lead_time_days = models.PositiveSmallIntegerField("Lead time, working days", default=1)
    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="materials", verbose_name="Bought from"
    )
    supplier_code = models.CharField(
        "Article number there",
        max_length=40,
        blank=True,
        help_text="As the supplier's price list names it, so that a list finds it.",
    )
    note = models.CharField(max_length=300, blank=True)
    origin = models.TextField(blank=True, help_text="Where the figures come from.")

    class Meta:
        ordering = ["kind", "name"]
        indexes = [models.Index(fields=["kind", "name"], name="material_kind_name")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("catalogue:material", args=[self.pk])
