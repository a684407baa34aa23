"""What people on site do and find, as it reaches the office: sometimes hours later, always once."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from contractor.common.files import under
from contractor.jobs.models import Job

_PERSON = {"to": settings.AUTH_USER_MODEL, "on_delete": models.PROTECT, "related_name": "+"}
photo_path = under("site")


def picture_path(instance, name: str) -> str:
    return photo_path(name)


class Act(models.Model):
    """One thing done on a phone, under the key that the phone gave it: sent twice, it is done once. Kept whatever came
    of it, so that nothing said on site is lost."""

    class Outcome(models.TextChoices):
        APPLIED = "applied", "Done"
        CONFLICT = "conflict", "Two people said different things"
        REFUSED = "refused", "Not possible"

    key = models.UUIDField(unique=True)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="acts")
    person = models.ForeignKey(**_PERSON)
    kind = models.CharField(max_length=20)
    payload = models.JSONField()
    done_at = models.DateTimeField(help_text="When it was done, by the phone's clock.")
    received_at = models.DateTimeField(auto_now_add=True)
    outcome = models.CharField(max_length=10, choices=Outcome.choices, default=Outcome.APPLIED)
    told = models.TextField(blank=True, help_text="What the person is told of it.")
    looked_at = models.DateTimeField(null=True, blank=True, help_text="When the office looked at a conflict.")

    class Meta:
        ordering = ["received_at", "pk"]
        indexes = [models.Index(fields=["job", "outcome"], name="act_by_outcome")]

    def __str__(self) -> str:
        return f"{self.kind} by {self.person}"


class TimeEntry(models.Model):
    """Time that a person worked on a job, by task."""

    class Task(models.TextChoices):
        PREPARE = "prepare", "Protecting, stripping, preparing"
        FRAME = "frame", "Frames, bars and wool"
        BOARD = "board", "Boards and sealing"
        FINISH = "finish", "Finishing and putting back"
        CARRY = "carry", "Carrying and clearing up"
        OTHER = "other", "Something else"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="time_entries")
    person = models.ForeignKey(**_PERSON)
    on_date = models.DateField("Day")
    task = models.CharField(max_length=10, choices=Task.choices)
    minutes = models.PositiveSmallIntegerField(validators=[MinValueValidator(5), MaxValueValidator(24 * 60)])
    note = models.CharField(max_length=200, blank=True)
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["on_date", "pk"]

    @property
    def hours(self) -> Decimal:
        return Decimal(self.minutes) / 60


class SiteNote(models.Model):
    """A note, or a snag that stays open until it is put right."""

    class Kind(models.TextChoices):
        NOTE = "note", "Note"
        SNAG = "snag", "Snag"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="site_notes")
    kind = models.CharField(max_length=4, choices=Kind.choices, default=Kind.NOTE)
    where = models.CharField(max_length=120, blank=True)
    text = models.TextField()
    is_done = models.BooleanField(default=False)
    by = models.ForeignKey(**_PERSON)
    at = models.DateTimeField()
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]


class Delivery(models.Model):
    """What came, checked off at the door."""

    class State(models.TextChoices):
        ALL_HERE = "all", "All here and sound"
        SHORT = "short", "Something is missing"
        DAMAGED = "damaged", "Something is damaged"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="deliveries")
    what = models.CharField(max_length=120)
    state = models.CharField(max_length=8, choices=State.choices)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(**_PERSON)
    at = models.DateTimeField()
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "deliveries"


class Override(models.Model):
    """A hold point passed without what it asks for: who let it pass, and why. The office sees each."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="overrides")
    row_key = models.CharField(max_length=80)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(**_PERSON)
    at = models.DateTimeField()
    act = models.OneToOneField(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "row_key"], name="one_override_per_hold_point")]


class SitePhoto(models.Model):
    """A photograph taken on site, of a row of the work pack or of what a note tells."""

    key = models.UUIDField(unique=True)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="site_photos")
    about = models.CharField(max_length=80, blank=True, help_text="Key of a row of the pack, or of a note's act.")
    caption = models.CharField(max_length=120, blank=True)
    by = models.ForeignKey(**_PERSON)
    taken_at = models.DateTimeField()
    full = models.FileField(upload_to=picture_path)
    small = models.FileField(upload_to=picture_path)

    class Meta:
        ordering = ["taken_at", "pk"]


class Upload(models.Model):
    """A photograph on its way in, by pieces. Gone once it has become a SitePhoto."""

    key = models.UUIDField(unique=True)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="+")
    person = models.ForeignKey(**_PERSON)
    size = models.PositiveIntegerField()
    about = models.CharField(max_length=80, blank=True)
    caption = models.CharField(max_length=120, blank=True)
    taken_at = models.DateTimeField()
    body = models.BinaryField(default=b"")
    begun_at = models.DateTimeField(auto_now_add=True)
