"""What is bought, what stands already, what we build, and what labour costs. All editable by the office."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.urls import reverse

NOT_NEGATIVE = [MinValueValidator(Decimal(0))]


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
    note = models.CharField(max_length=300, blank=True)
    origin = models.TextField(blank=True, help_text="Where the figures come from.")

    class Meta:
        ordering = ["kind", "name"]
        indexes = [models.Index(fields=["kind", "name"], name="material_kind_name")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("catalogue:material", args=[self.pk])


class Connection(models.TextChoices):
    """What crosses a cavity; the words that the prediction knows."""

    NONE = "none", "Nothing"
    TIMBER_STUD = "timber_stud", "Timber studs"
    STEEL_STUD = "steel_stud", "Steel studs"
    RESILIENT_BAR = "resilient_bar", "Resilient bars"
    JOIST = "joist", "Joists"
    CLIP = "clip", "Isolating clips"
    HANGER = "hanger", "Rubber hangers"
    PAD = "pad", "Battens on pads"
    STAGGERED = "staggered", "Staggered studs"
    SEPARATE = "separate", "Separate frames"
    TIE = "tie", "Wall ties"


class Direction(models.TextChoices):
    VERTICAL = "vertical", "Upright"
    HORIZONTAL = "horizontal", "Across"


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


class LabourRate(models.Model):
    """What an hour, point or visit of a trade is charged at."""

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=20, default="hour")
    rate = models.DecimalField(max_digits=8, decimal_places=2, validators=NOT_NEGATIVE)
    set_on = models.DateField()
    is_illustrative = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class LabourAllowance(models.Model):
    """Hours for work that is no build-up: stripping, lifting boards, skimming, clearing away."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    unit = models.CharField(max_length=10)
    hours_per_unit = models.DecimalField(max_digits=6, decimal_places=3, validators=NOT_NEGATIVE)
    rate = models.ForeignKey(LabourRate, on_delete=models.PROTECT, related_name="allowances")
    origin = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class LabourFactor(models.Model):
    """A multiplier on hours for a circumstance, such as a small area or a stairwell."""

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    factor = models.DecimalField(max_digits=5, decimal_places=3, validators=[MinValueValidator(Decimal("0.1"))])
    origin = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
