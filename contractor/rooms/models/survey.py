"""The survey of a room: its surfaces, what they are built of, and the ways round them."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from contractor.catalogue.models import Construction
from contractor.jobs.models import Job
from contractor.rooms.placing import Part, beyond, least_size, overlap

LONGEST_MM = 50_000
LENGTH = [MinValueValidator(1), MaxValueValidator(LONGEST_MM)]


class Room(models.Model):
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="rooms")
    name = models.CharField(max_length=80)
    length_mm = models.PositiveIntegerField(validators=LENGTH)
    width_mm = models.PositiveIntegerField(validators=LENGTH)
    height_mm = models.PositiveIntegerField(validators=LENGTH)
    reverberation_s = models.DecimalField(
        "Reverberation time",
        max_digits=4,
        decimal_places=2,
        default="0.50",
        validators=[MinValueValidator(0.1), MaxValueValidator(10)],
        help_text="0.5 s is usual for a furnished room.",
    )
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "name"],
                name="room_name_once_per_job",
                violation_error_message="This job already has a room of that name.",
            ),
            models.CheckConstraint(condition=Q(length_mm__gt=0, width_mm__gt=0, height_mm__gt=0), name="room_has_size"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def volume_m3(self) -> float:
        return self.length_mm * self.width_mm * self.height_mm / 1e9


class Surface(models.Model):
    """A wall, ceiling or floor of the room, drawn from its bottom left corner as seen from inside."""

    class Face(models.TextChoices):
        WALL = "wall", "Wall"
        CEILING = "ceiling", "Ceiling"
        FLOOR = "floor", "Floor"

    class Role(models.TextChoices):
        SEPARATING = "separating", "Between us and the noise"
        FLANKING = "flanking", "Runs past the separating surface"
        OTHER = "other", "Takes no part"

    class Junction(models.TextChoices):
        """How a flanking surface meets the separating one; the words that the prediction knows."""

        RIGID_CROSS = "rigid_cross", "Rigid cross: both run through"
        RIGID_T = "rigid_t", "Rigid T: it runs past the end"
        FLEXIBLE_T = "flexible_t", "T with a flexible strip"
        LIGHTWEIGHT = "lightweight_facade", "Light element past a heavy one"
        CORNER = "corner", "Corner"
        THICKNESS_CHANGE = "thickness_change", "Change of thickness"

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="surfaces")
    letter = models.CharField(max_length=2)
    name = models.CharField(max_length=80)
    face = models.CharField(max_length=10, choices=Face.choices)
    role = models.CharField(max_length=12, choices=Role.choices)
    length_mm = models.PositiveIntegerField(validators=LENGTH)
    height_mm = models.PositiveIntegerField(validators=LENGTH, help_text="For a ceiling or floor: the other side.")
    boxes = models.PositiveSmallIntegerField("Sockets and switches", default=0)
    out_of_true_mm = models.PositiveSmallIntegerField("Out of true under a 1.8 m level", default=0)

    faces_outdoors = models.BooleanField(
        "Outdoors or an unheated space on the other side",
        default=False,
        help_text="Warmth and damp behind a lining are then looked at. A wall with a window counts in any case.",
    )

    # Only for a flanking surface.
    junction = models.CharField(max_length=20, choices=Junction.choices, blank=True)
    junction_length_mm = models.PositiveIntegerField(null=True, blank=True, validators=LENGTH)
    far_construction = models.ForeignKey(
        Construction,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        verbose_name="On the noise's side it is",
        help_text="Leave empty if it carries on unchanged.",
    )
    far_area_m2 = models.DecimalField(
        "Area on the noise's side",
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0.01)],
        help_text="Leave empty if it is the same.",
    )

    class Meta:
        ordering = ["room", "letter", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["room", "letter"],
                name="surface_letter_once_per_room",
                violation_error_message="Another surface of this room has that letter.",
            ),
            models.CheckConstraint(
                condition=~Q(role="flanking") | (Q(junction_length_mm__isnull=False) & ~Q(junction="")),
                name="flanking_surface_has_junction",
                violation_error_message="Say how this surface meets the separating one, and for what length.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.letter} {self.name}"

    def clean(self) -> None:
        """Refuses a size that leaves a patch or an opening outside. Reads both (two queries)."""
        if self.pk is None or None in (self.length_mm, self.height_mm):
            return
        parts = [part.outline for part in (*self.patches.filter(is_rest=False), *self.openings.all())]
        problems = least_size(parts, length_mm=self.length_mm, height_mm=self.height_mm)
        if problems:
            raise ValidationError(problems)

    @property
    def area_mm2(self) -> int:
        return self.length_mm * self.height_mm

    @property
    def is_outside(self) -> bool:
        """Whether the cold is on its other side. Reads the openings, which are mostly loaded."""
        return self.faces_outdoors or any(opening.kind == Opening.Kind.WINDOW for opening in self.openings.all())

    @property
    def takes_part(self) -> bool:
        return self.role != self.Role.OTHER


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
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def outline(self) -> Part:
        """Where it is; only for a patch that is not the rest."""
        return Part(x_mm=self.x_mm, y_mm=self.y_mm, width_mm=self.width_mm, height_mm=self.height_mm, name=self.name)

    def clean(self) -> None:
        """Refuses a patch that leaves its surface or lies over another. Reads the other patches (one query)."""
        if self.is_rest or None in (self.x_mm, self.y_mm, self.width_mm, self.height_mm):
            return
        others = self.surface.patches.filter(is_rest=False).exclude(pk=self.pk)
        refuse_misplaced(self.outline, self.surface, others)


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
        return Part(x_mm=self.x_mm, y_mm=self.y_mm, width_mm=self.width_mm, height_mm=self.height_mm, name=name)

    def clean(self) -> None:
        """Refuses an opening that leaves its surface or lies over another. Reads the other openings (one query)."""
        if None in (self.x_mm, self.y_mm, self.width_mm, self.height_mm):
            return
        refuse_misplaced(self.outline, self.surface, self.surface.openings.exclude(pk=self.pk))


def refuse_misplaced(part: Part, surface: Surface, others) -> None:
    """ValidationError beside the field at fault when `part` leaves the surface or lies over one of `others`."""
    problems = beyond(part, length_mm=surface.length_mm, height_mm=surface.height_mm)
    in_the_way = overlap(part, [other.outline for other in others])
    if in_the_way:
        problems.setdefault("x_mm", in_the_way)
    if problems:
        raise ValidationError(problems)


class SidePath(models.Model):
    """A way round that no surface carries: the joined floor void, a beam's boxing, a flue, leaks, pipes."""

    class Kind(models.TextChoices):
        VOID = "void", "Joined floor void"
        BEAM = "beam", "Boxing round a beam"
        FLUE = "flue", "Chimney flue"
        ROOF_VOID = "roof_void", "Joined roof void"
        LEAK = "leak", "Gaps and leaks"
        PIPE = "pipe", "Pipes and wastes"

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="side_paths")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    name = models.CharField(max_length=80)
    length_mm = models.PositiveIntegerField(
        "Length along the separating surface", null=True, blank=True, validators=LENGTH
    )
    open_area_mm2 = models.PositiveIntegerField("Open area", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["room", "pk"]

    def __str__(self) -> str:
        return self.name
