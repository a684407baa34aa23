"""The survey of a room: its surfaces, what they are built of, and the ways round them."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from contractor.catalogue.models import Construction
from contractor.jobs.models import Job
from contractor.rooms.placing import least_size
from contractor.rooms.rings import Ring, area_of

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
    # The walk round the room as in walk.py; empty where it is a rectangle surveyed by length, width and height alone.
    # With a walk, these three are its greatest extents and its greatest height.
    outline = models.JSONField(default=dict, blank=True)
    volume_mm3 = models.PositiveBigIntegerField(null=True, blank=True, help_text="Of a room with an outline.")

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
        return (self.volume_mm3 or self.length_mm * self.width_mm * self.height_mm) / 1e9


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
    place = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        help_text="Which wall of the walk round the room it is, or which flat part of the ceiling.",
    )
    outline_mm = models.JSONField(
        default=list, blank=True, help_text="Corners [x, y] from its bottom left; empty for a rectangle of its sizes."
    )
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
        """Refuses a size that leaves a patch, an opening or a fixture outside. Reads them (three queries)."""
        if self.pk is None or None in (self.length_mm, self.height_mm):
            return
        clipped = [patch.outline for patch in self.patches.filter(is_rest=False, strip_reason="")]
        whole = [part.outline for part in (*self.openings.all(), *self.fixtures.all())]
        problems = least_size(clipped, whole, self.ring)
        if problems:
            raise ValidationError(problems)

    @property
    def ring(self) -> Ring:
        """Its outline, counter-clockwise from its bottom left corner."""
        if self.outline_mm:
            return tuple((x, y) for x, y in self.outline_mm)
        return ((0, 0), (self.length_mm, 0), (self.length_mm, self.height_mm), (0, self.height_mm))

    @property
    def area_mm2(self) -> int:
        return round(area_of(self.ring))

    @property
    def is_outside(self) -> bool:
        """Whether the cold is on its other side. Reads the openings, which are mostly loaded."""
        return self.faces_outdoors or any(opening.kind == "window" for opening in self.openings.all())

    @property
    def takes_part(self) -> bool:
        return self.role != self.Role.OTHER


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
