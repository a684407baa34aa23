"""A job, what is heard, where it stands, what must be cleared first, and the diary."""

from datetime import date, datetime, timedelta
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from contractor.common.files import under
from contractor.customers.models import Property


class Stage(models.TextChoices):
    ENQUIRY = "enquiry", "Enquiry"
    SURVEY_BOOKED = "survey_booked", "Survey booked"
    SURVEYED = "surveyed", "Surveyed"
    SENT = "sent", "Quote sent"
    ACCEPTED = "accepted", "Accepted"
    SCHEDULED = "scheduled", "Scheduled"
    ON_SITE = "on_site", "On site"
    COMPLETE = "complete", "Complete"
    CLOSED = "closed", "Closed"
    ON_HOLD = "on_hold", "On hold"
    LOST = "lost", "Lost"


class Job(models.Model):
    number = models.PositiveIntegerField(unique=True)
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="jobs")
    title = models.CharField(max_length=120, help_text="What it is about in a few words, such as Bedroom party wall.")
    stage = models.CharField(max_length=20, choices=Stage.choices, default=Stage.ENQUIRY, db_index=True)
    wish = models.TextField(
        "What they would like",
        blank=True,
        help_text="In the customer's words: what should not be heard any more.",
    )
    budget = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    is_occupied = models.BooleanField("Lived in during the work", default=True)
    storey = models.PositiveSmallIntegerField("Storeys to carry up", default=0)
    notes = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(condition=models.Q(stage__in=Stage.values), name="job_stage_known"),
        ]

    def __str__(self) -> str:
        return f"Job {self.number}: {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("jobs:job", args=[self.number])


class NoiseHeard(models.Model):
    """One noise that the household hears, or makes and fears is heard."""

    class Kind(models.TextChoices):
        SPEECH = "speech", "Talking"
        TELEVISION = "television", "Television"
        MUSIC = "music", "Music with bass"
        INSTRUMENT = "instrument", "Playing an instrument"
        FOOTSTEPS = "footsteps", "Footsteps"
        FURNITURE = "furniture", "Furniture, doors and cupboards"
        PIPES = "pipes", "Pipes and wastes"
        APPLIANCE = "appliance", "Appliance hum"
        DOG = "dog", "Dog"
        TRAFFIC = "traffic", "Traffic"
        OTHER = "other", "Something else"

    class Direction(models.TextChoices):
        IN = "in", "Comes in"
        OUT = "out", "Goes out"
        BOTH = "both", "Both ways"

    class Words(models.TextChoices):
        NONE = "none", "No words heard"
        MURMUR = "murmur", "A murmur"
        SOME = "some", "Some words"
        ALL = "all", "Every word"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="noises")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    direction = models.CharField(max_length=5, choices=Direction.choices, default=Direction.IN)
    comes_from = models.CharField("From where", max_length=120, blank=True)
    heard_in = models.CharField("Heard in", max_length=120, blank=True)
    times = models.CharField("When", max_length=120, blank=True)
    words = models.CharField("Are words understood", max_length=10, choices=Words.choices, blank=True)
    strongest_at = models.CharField("Strongest where", max_length=120, blank=True)
    is_felt = models.BooleanField("Felt as a shake or tremble too", default=False)

    class Meta:
        verbose_name_plural = "noises heard"
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.get_kind_display()


class StageChange(models.Model):
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="stage_changes")
    from_stage = models.CharField(max_length=20, choices=Stage.choices)
    to_stage = models.CharField(max_length=20, choices=Stage.choices)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]


_paper_path = under("papers")


def paper_path(gate: "Gate", name: str) -> str:
    return _paper_path(name)


class Gate(models.Model):
    """A caution that must be cleared, by someone competent, before work is booked. Software never clears it."""

    class Kind(models.TextChoices):
        ASBESTOS = "asbestos", "Asbestos"
        STRUCTURE = "structure", "Structure"
        FLUE = "flue", "Flue, gas and combustion air"
        ELECTRICS = "electrics", "Electrics"
        VENTILATION = "ventilation", "Ventilation below the floor"
        FIRE = "fire", "Fire"
        CONSENT = "consent", "Consents"

    class Need(models.TextChoices):
        UNKNOWN = "unknown", "Not yet known"
        NEEDED = "needed", "Needed"
        NOT_NEEDED = "not_needed", "Not needed"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="gates")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    need = models.CharField(max_length=12, choices=Need.choices, default=Need.UNKNOWN)
    evidence = models.CharField(max_length=200, blank=True, help_text="Report or certificate and where it is kept.")
    paper = models.FileField(upload_to=paper_path, blank=True)
    paper_name = models.CharField(max_length=80, blank=True)
    cleared_by = models.CharField("Cleared by", max_length=120, blank=True, help_text="Who, and in what capacity.")
    cleared_on = models.DateField("On", null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["job", "kind"], name="one_gate_of_a_kind_per_job")]

    @property
    def is_open(self) -> bool:
        """True while it stops work from being booked."""
        if self.need == self.Need.NOT_NEEDED:
            return False
        return not (self.need == self.Need.NEEDED and self.has_evidence and self.cleared_by and self.cleared_on)

    @property
    def has_evidence(self) -> bool:
        return bool(self.evidence or self.paper)


class Visit(models.Model):
    """A day in the diary: who goes to which job, for what."""

    class Purpose(models.TextChoices):
        SURVEY = "survey", "Survey"
        FITTING = "fitting", "Fitting"
        SOUND_TEST = "test", "Sound test"
        SNAGGING = "snagging", "Snagging"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="visits")
    purpose = models.CharField(max_length=10, choices=Purpose.choices, default=Purpose.FITTING)
    on_date = models.DateField("Day", db_index=True)
    starts_at = models.TimeField("From", default="08:00")
    hours = models.DecimalField(
        "For",
        max_digits=4,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.25")), MaxValueValidator(Decimal(16))],
    )
    people = models.ManyToManyField(settings.AUTH_USER_MODEL, related_name="visits")
    note = models.CharField(max_length=200, blank=True)
    sequence = models.PositiveIntegerField(default=0, editable=False, help_text="How often it was changed.")

    class Meta:
        ordering = ["on_date", "starts_at", "pk"]

    def length(self, day_hours: Decimal) -> timedelta:
        """How long it lasts: as said, or as is usual for its purpose; fitting takes a day of `day_hours`."""
        return timedelta(hours=float(self.hours or USUAL_HOURS.get(self.purpose, day_hours)))

    def span(self, day_hours: Decimal) -> tuple[datetime, datetime]:
        """From when to when, on the clock of the place."""
        begins = datetime.combine(self.on_date, self.starts_at)
        return begins, begins + self.length(day_hours)


USUAL_HOURS = {
    Visit.Purpose.SURVEY: Decimal(2),
    Visit.Purpose.SOUND_TEST: Decimal(2),
    Visit.Purpose.SNAGGING: Decimal(3),
}


class DayOff(models.Model):
    """Days on which the firm is closed, or, with a person, that one is away."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE, related_name="days_off"
    )
    first_day = models.DateField("From", db_index=True)
    last_day = models.DateField("To, the last day included")
    reason = models.CharField("What for", max_length=80)

    class Meta:
        verbose_name_plural = "days off"
        ordering = ["first_day", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="day_off_ends_after_it_begins"
            )
        ]

    def __str__(self) -> str:
        return f"{self.reason}, {self.first_day:%d %b %Y}"

    @property
    def days(self) -> list[date]:
        return [self.first_day + timedelta(days=n) for n in range((self.last_day - self.first_day).days + 1)]


class DiaryLink(models.Model):
    """A key to the household's diary of one job. Only the hash of the token is kept; it is shown once, when made."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="diary_links")
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"Diary link of {self.job}"


class DiaryEntry(models.Model):
    """One time that the household heard something, as they wrote it down."""

    class Loudness(models.IntegerChoices):
        FAINT = 1, "Just noticed it"
        PLAIN = 2, "Heard it plainly"
        LOUD = 3, "Loud: we stopped what we did"
        AWAKE = 4, "So loud that nobody could sleep or talk"

    class Lasted(models.IntegerChoices):
        MINUTES = 5, "A few minutes"
        QUARTER = 15, "A quarter of an hour"
        HALF = 30, "Half an hour"
        HOUR = 60, "An hour"
        TWO_HOURS = 120, "Two hours"
        FOUR_HOURS = 240, "Four hours"
        ALL_NIGHT = 480, "All night, or all day"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="diary_entries")
    link = models.ForeignKey(DiaryLink, null=True, on_delete=models.SET_NULL, related_name="entries")
    heard_on = models.DateField("Day")
    starts_at = models.TimeField("From")
    minutes = models.PositiveSmallIntegerField("For how long", choices=Lasted.choices, default=Lasted.HALF)
    kind = models.CharField("What was it", max_length=20, choices=NoiseHeard.Kind.choices)
    loudness = models.PositiveSmallIntegerField("How loud", choices=Loudness.choices, default=Loudness.PLAIN)
    heard_in = models.CharField("Where were you", max_length=80, blank=True)
    note = models.CharField("Anything else", max_length=300, blank=True)
    written_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name_plural = "diary entries"
        ordering = ["heard_on", "starts_at", "pk"]
        indexes = [models.Index(fields=["link", "written_at"], name="diary_entry_by_link")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.heard_on} {self.starts_at:%H:%M}"
