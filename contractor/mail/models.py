"""The outbox: each e-mail of a job, written down before it is sent, with what became of it."""

import uuid

from django.db import models
from django.db.models import Q
from django.utils import timezone

from contractor.jobs.models import Job

SECRET_MARK = "[private link]"


class Message(models.Model):
    """One e-mail to one address. `key` says what it tells of, so that the same thing is told once."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting to go"
        SENDING = "sending", "Being sent"
        SENT = "sent", "Sent"
        UNSURE = "unsure", "May have gone"
        FAILED = "failed", "Not sent"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="messages")
    key = models.CharField(max_length=120, unique=True)
    to = models.EmailField()
    reply_to = models.EmailField(blank=True)
    subject = models.CharField(max_length=200)
    body = models.TextField(help_text=f"Holds {SECRET_MARK} where the secret goes.")
    secret = models.TextField(blank=True, help_text="Put into the body as it is sent, and kept no longer than that.")
    attachment = models.CharField(
        max_length=80, blank=True, help_text="Name of its maker, a colon, what it is made of."
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    problem = models.TextField(blank=True, help_text="What the mail server or the network said last.")
    created_at = models.DateTimeField(auto_now_add=True)
    next_try_at = models.DateTimeField(default=timezone.now)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    message_id = models.UUIDField(default=uuid.uuid4, help_text="The same at every try: receivers drop a second copy.")

    class Meta:
        ordering = ["-created_at", "-pk"]
        indexes = [models.Index(fields=["state", "next_try_at"], name="message_due")]
        constraints = [
            models.CheckConstraint(condition=~Q(key=""), name="message_has_key"),
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_at__isnull=False, secret=""), name="sent_message_keeps_no_secret"
            ),
        ]

    def __str__(self) -> str:
        return f"“{self.subject}” to {self.to}"

    @property
    def is_pending(self) -> bool:
        return self.state in (self.State.WAITING, self.State.SENDING)

    @property
    def can_go_again(self) -> bool:
        return self.state in (self.State.UNSURE, self.State.FAILED)
