"""What the homeowner keeps when the work is done."""

from django.conf import settings
from django.db import models

from contractor.jobs.models import Job


class CompletionPack(models.Model):
    """A frozen account of what was built, measured and agreed. A later one replaces it; the link goes on to the latest."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="completion_packs")
    number = models.PositiveSmallIntegerField()
    document = models.JSONField()
    document_hash = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["job", "-number"]
        constraints = [models.UniqueConstraint(fields=["job", "number"], name="completion_number_once_per_job")]

    def __str__(self) -> str:
        return f"Completion pack {self.job.number}/{self.number}"


class CompletionLink(models.Model):
    """A key to a job's completion pack. Only the token's hash is kept."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="completion_links")
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
