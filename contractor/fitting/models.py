"""What the fitters carry: the steps and cut list of the accepted option, frozen, and their ticks."""

from django.conf import settings
from django.db import models

from contractor.jobs.models import Job
from contractor.quotes.models import Revision


class WorkPack(models.Model):
    """Steps and cut list as accepted, so that ticks keep their meaning; only a surface measured again on site changes
    its pieces. Holds no price."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="work_pack")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    option = models.CharField(max_length=60)
    document = models.JSONField(help_text="As made by fitting.pack.pack_document.")
    step_count = models.PositiveIntegerField(default=0, help_text="Kept here so that lists need not read documents.")
    made_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"Work on job {self.job.number}"


class Tick(models.Model):
    """A step done or a piece cut: the last word on one key of the pack."""

    pack = models.ForeignKey(WorkPack, on_delete=models.CASCADE, related_name="ticks")
    key = models.CharField(max_length=80)
    is_done = models.BooleanField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["pack", "key"], name="one_tick_per_key")]
