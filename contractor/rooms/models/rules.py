"""The firm's own form of a survey rule, and where somebody decided against one."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from contractor.rooms.models.parts import Opening, Patch
from contractor.rooms.models.survey import Room, SidePath


class Rule(models.Model):
    """A rule that the office wrote, or its own form of a shipped one of the same key.

    Shipped rules lie in rooms/rules/shipped.json and hold until the office changes them; only then there is a row.
    `conditions` are rows {"fact", "is", "value", "any"}: all hold, or of those with `any` at least one. `works` are
    rows {"allowance", "amount", "of", "why"}: a labour allowance by key, so much of it for each m² of the whole patch
    or, `of` "hollow", of its hollow part; `why` where the rule's reason does not say it.
    """

    class Effect(models.TextChoices):
        WORK = "work", "Preparation work"
        BLOCK = "block", "Must not be built"
        WARN = "warn", "Warning"
        ADVISE = "advise", "Advice"
        GATE = "gate", "Caution to settle before work is booked"

    class Fabric(models.TextChoices):
        STAYS = "stays", "Stays"
        BROKEN = "broken", "Is broken out in part"
        OFF = "off", "Comes off whole"

    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    position = models.PositiveSmallIntegerField(default=500)
    is_active = models.BooleanField("In force", default=True)
    is_firm = models.BooleanField("Cannot be overridden on a job", default=False)
    effect = models.CharField(max_length=10, choices=Effect.choices)
    conditions = models.JSONField(default=list)
    works = models.JSONField(default=list, blank=True)
    fabric = models.CharField("What stands there", max_length=10, choices=Fabric.choices, default=Fabric.STAYS)
    gate = models.CharField("Which caution", max_length=20, blank=True)
    reason = models.TextField()
    origin = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["position", "key"]

    def __str__(self) -> str:
        return self.name


class RuleOverride(models.Model):
    """A rule set aside on one patch, opening or side path, with the reason and who gave it. Withdrawn ones stay for
    the record."""

    patch = models.ForeignKey(Patch, null=True, blank=True, on_delete=models.CASCADE, related_name="overrides")
    opening = models.ForeignKey(Opening, null=True, blank=True, on_delete=models.CASCADE, related_name="overrides")
    side_path = models.ForeignKey(SidePath, null=True, blank=True, on_delete=models.CASCADE, related_name="overrides")
    rule_key = models.SlugField(max_length=60)
    rule_name = models.CharField(max_length=120)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="override_has_reason"),
            models.UniqueConstraint(
                fields=["patch", "rule_key"], condition=Q(withdrawn_at=None), name="one_override_per_patch_and_rule"
            ),
            models.UniqueConstraint(
                fields=["opening", "rule_key"],
                condition=Q(withdrawn_at=None),
                name="one_override_per_opening_and_rule",
            ),
            models.UniqueConstraint(
                fields=["side_path", "rule_key"],
                condition=Q(withdrawn_at=None),
                name="one_override_per_side_path_and_rule",
            ),
            models.CheckConstraint(
                condition=Q(patch__isnull=False, opening=None, side_path=None)
                | Q(patch=None, opening__isnull=False, side_path=None)
                | Q(patch=None, opening=None, side_path__isnull=False),
                name="override_on_one_place",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rule_name}, set aside"

    @property
    def place(self) -> Patch | Opening | SidePath:
        return self.patch or self.opening or self.side_path

    @property
    def room(self) -> Room:
        return self.place.room if self.side_path_id else self.place.surface.room

    @property
    def where(self) -> str:
        return ", ".join(map(str, filter(None, (self.room, getattr(self.place, "surface", None), self.place))))
