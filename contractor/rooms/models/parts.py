"""What is on a surface: patches of one construction, openings, and what hangs or stands there."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from contractor.catalogue.models import Construction
from contractor.rooms.models.survey import LENGTH, Surface
from contractor.rooms.placing import Part, beyond, overlap


class Patch(models.Model):
    """A part of a surface with one construction and condition. Exactly one per surface is `rest`: what no other
    patch covers. The others are rectangles, measured from the surface's bottom left corner."""

    class Condition(models.TextChoices):
        SOUND = "sound", "Sound, well-bonded plaster"
        PART_HOLLOW = "part_hollow", "Plaster, under a fifth hollow"
        BLOWN = "blown", "Blown, damp or crumbling plaster"
        BOARD_ON_DABS = "board_on_dabs", "Board on adhesive dabs"
        BOARD = "board", "Board on a frame or joists"
        LATH = "lath", "Lath and plaster"
        BARE = "bare", "Bare masonry"
        BOARDS = "boards", "Timber boards"
        EXISTING_LINING = "existing_lining", "A lining with a void behind it"

    class StripReason(models.TextChoices):
        NIB = "nib", "At a nib or pier"
        CORNICE = "cornice", "Under a cornice or coving"
        UNIT = "unit", "Beside a fitted unit"
        STAIR = "stair", "At a stair string"
        PIPE = "pipe", "At pipes or a radiator"
        AIR_BRICK = "air_brick", "At an air brick, which stays open"
        OTHER = "other", "For another reason"

    surface = models.ForeignKey(Surface, on_delete=models.CASCADE, related_name="patches")
    name = models.CharField(max_length=80)
    is_rest = models.BooleanField(default=False)
    x_mm = models.PositiveIntegerField("From the left", default=0)
    y_mm = models.PositiveIntegerField("From the floor", default=0)
    width_mm = models.PositiveIntegerField(null=True, blank=True, validators=LENGTH)
    height_mm = models.PositiveIntegerField(null=True, blank=True, validators=LENGTH)
    projection_mm = models.PositiveIntegerField(
        "Stands out by",
        default=0,
        help_text="A chimney breast stands out into the room; its two cheeks are lined too.",
    )
    construction = models.ForeignKey(Construction, on_delete=models.PROTECT, related_name="patches")
    condition = models.CharField(max_length=20, choices=Condition.choices, default=Condition.SOUND)
    depth_limit_mm = models.PositiveIntegerField(
        "Depth the customer will give",
        null=True,
        blank=True,
        help_text="Leave empty if nothing may be built here.",
    )

    # A strip left clear, where a lining on another patch must stop short. It is cut out of that patch.
    strip_reason = models.CharField("It stops short", max_length=10, choices=StripReason.choices, blank=True)
    strip_place = models.CharField(max_length=24, blank=True, help_text="An edge of that patch, or round a fixture.")
    strip_mm = models.PositiveIntegerField(null=True, blank=True)
    strip_of = models.ForeignKey("self", null=True, blank=True, on_delete=models.CASCADE, related_name="strips")
    outline_mm = models.JSONField(
        default=list, blank=True, help_text="Corners [x, y] on the surface; empty for a rectangle."
    )

    class Meta:
        verbose_name_plural = "patches"
        ordering = ["surface", "-is_rest", "x_mm", "y_mm", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["surface"], condition=Q(is_rest=True), name="one_rest_per_surface"),
            models.CheckConstraint(
                condition=Q(is_rest=True) | Q(width_mm__gt=0, height_mm__gt=0),
                name="patch_has_size",
                violation_error_message="Give the patch a width and a height.",
            ),
            models.CheckConstraint(
                condition=Q(strip_reason="", strip_of__isnull=True)
                | (~Q(strip_reason="") & Q(strip_of__isnull=False, is_rest=False, depth_limit_mm__isnull=True)),
                name="strip_is_cut_from_a_patch_and_left_clear",
                violation_error_message="A strip left clear has a reason, and nothing is built on it.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def outline(self) -> Part:
        """Where it is; only for a patch that is not the rest."""
        return _part(self, self.name, tuple((x, y) for x, y in self.outline_mm))

    @property
    def is_strip(self) -> bool:
        return bool(self.strip_reason)

    def clean(self) -> None:
        """Refuses a patch that leaves its surface or lies over another. Reads the other patches (one query).

        It may reach past a sloped edge, which cuts it; strips are cut out of what they lie on.
        """
        if self.is_rest or None in (self.x_mm, self.y_mm, self.width_mm, self.height_mm):
            return
        others = self.surface.patches.filter(is_rest=False, strip_of__isnull=not self.is_strip).exclude(pk=self.pk)
        refuse_misplaced(self.outline, self.surface, others, is_clipped=True)


class Opening(models.Model):
    class Kind(models.TextChoices):
        DOOR = "door", "Door"
        WINDOW = "window", "Window"
        FIREPLACE = "fireplace", "Fireplace"
        HATCH = "hatch", "Hatch"
        UNIT = "unit", "Fitted unit that stays"

    surface = models.ForeignKey(Surface, on_delete=models.CASCADE, related_name="openings")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    x_mm = models.PositiveIntegerField("From the left")
    y_mm = models.PositiveIntegerField("From the floor", default=0)
    width_mm = models.PositiveIntegerField(validators=LENGTH)
    height_mm = models.PositiveIntegerField(validators=LENGTH)
    construction = models.ForeignKey(
        Construction,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="openings",
        verbose_name="Made of",
        help_text="For a door or window in a separating surface: sound comes through it.",
    )

    class Meta:
        ordering = ["surface", "x_mm", "y_mm", "pk"]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def outline(self) -> Part:
        name = f"The {self.get_kind_display().lower()} at {self.x_mm:,} mm"
        return _part(self, name)

    def clean(self) -> None:
        """Refuses an opening that leaves its surface or lies over another. Reads the other openings (one query)."""
        if None in (self.x_mm, self.y_mm, self.width_mm, self.height_mm):
            return
        refuse_misplaced(self.outline, self.surface, self.surface.openings.exclude(pk=self.pk))


class Fixture(models.Model):
    """What hangs or stands on a surface and must be dealt with before a lining, or stays in its way."""

    class Kind(models.TextChoices):
        SOCKET = "socket", "Socket"
        SWITCH = "switch", "Switch"
        DATA = "data", "Aerial or data point"
        LIGHT = "light", "Light fitting"
        DOWNLIGHT = "downlight", "Downlight"
        RADIATOR = "radiator", "Radiator"
        PIPE = "pipe", "Pipe"
        NIB = "nib", "Nib or pier"
        BEAM = "beam", "Beam"
        CORNICE = "cornice", "Cornice or coving"
        SKIRTING = "skirting", "Skirting"
        STAIR = "stair", "Stair string"
        UNIT = "unit", "Fitted unit"
        AIR_BRICK = "air_brick", "Air brick"
        OTHER = "other", "Something else"

    class Fate(models.TextChoices):
        STAYS = "stays", "Stays where it is"
        MOVES = "moves", "Moves with the new face, or off it"
        COMES_OFF = "comes_off", "Comes off for good"

    BOXES = (Kind.SOCKET, Kind.SWITCH, Kind.DATA)

    surface = models.ForeignKey(Surface, on_delete=models.CASCADE, related_name="fixtures")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    x_mm = models.PositiveIntegerField("From the left")
    y_mm = models.PositiveIntegerField("From the floor", default=0)
    width_mm = models.PositiveIntegerField(validators=LENGTH)
    height_mm = models.PositiveIntegerField(validators=LENGTH)
    projection_mm = models.PositiveIntegerField("Stands out by", default=0)
    fate = models.CharField("What becomes of it", max_length=10, choices=Fate.choices, default=Fate.MOVES)
    is_back_to_back = models.BooleanField(
        "Back to back with one on the other side", default=False, help_text="Sound passes through the pair of boxes."
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["surface", "x_mm", "y_mm", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(width_mm__gt=0, height_mm__gt=0), name="fixture_has_size"),
            models.CheckConstraint(
                condition=~Q(kind="air_brick") | Q(fate="stays"),
                name="air_brick_stays",
                violation_error_message="An air brick stays, open and clear: it airs the timbers under the floor.",
            ),
            models.CheckConstraint(
                condition=Q(is_back_to_back=False) | Q(kind__in=["socket", "switch", "data"]),
                name="only_boxes_are_back_to_back",
                violation_error_message="Only sockets, switches and data points lie back to back.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def is_box(self) -> bool:
        return self.kind in self.BOXES

    @property
    def outline(self) -> Part:
        return _part(self, f"The {self.get_kind_display().lower()} at {self.x_mm:,} mm")

    def clean(self) -> None:
        """Refuses a fixture that leaves its surface. It may hang over patches, openings and other fixtures."""
        if None not in (self.x_mm, self.y_mm, self.width_mm, self.height_mm):
            refuse_misplaced(self.outline, self.surface, [])


def _part(thing, name: str, ring=()) -> Part:
    return Part(
        x_mm=thing.x_mm, y_mm=thing.y_mm, width_mm=thing.width_mm, height_mm=thing.height_mm, name=name, ring=ring
    )


def refuse_misplaced(part: Part, surface: Surface, others, *, is_clipped: bool = False) -> None:
    """ValidationError beside the field at fault when `part` leaves the surface or lies over one of `others`. One that
    `is_clipped` may reach past a sloped or stepped edge, as long as something of it lies on the surface."""
    problems = beyond(part, surface.ring, is_clipped=is_clipped)
    in_the_way = overlap(part, [other.outline for other in others])
    if in_the_way:
        problems.setdefault("x_mm", in_the_way)
    if problems:
        raise ValidationError(problems)
