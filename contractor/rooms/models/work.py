"""Work in the background on what a scheme needs."""

from django.db import models
from django.utils import timezone

from contractor.rooms.models.schemes import Scheme


class Improvement(models.Model):
    """The better take-off that is being worked out for a scheme: whose inputs, how long it may take, how far it is."""

    scheme = models.OneToOneField(Scheme, on_delete=models.CASCADE, related_name="improvement")
    fingerprint = models.CharField(max_length=64, help_text="Of the inputs, as in the scheme's calculation.")
    asked_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    seconds = models.FloatField(default=0, help_text="At most.")
    step = models.CharField(max_length=40, blank=True)
    problem = models.CharField(max_length=200, blank=True)

    @property
    def percent(self) -> int:
        """How much of its time is over."""
        if self.started_at is None:
            return 0
        spent_s = (timezone.now() - self.started_at).total_seconds()
        return min(int(100 * spent_s / self.seconds), 99) if self.seconds else 0
