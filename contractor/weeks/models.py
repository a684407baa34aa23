"""The key of a person's calendar feed."""

from django.conf import settings
from django.db import models


class CalendarLink(models.Model):
    """A secret address under which a calendar program reads one person's visits. Only the token's hash is kept."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_links")
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=models.Q(revoked_at=None), name="one_live_calendar_link_per_person"
            )
        ]

    def __str__(self) -> str:
        return f"Calendar of {self.person}"
