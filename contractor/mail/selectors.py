"""Reads of the outbox."""

from django.db.models import Q
from django.http import Http404

from contractor.jobs.models import Job
from contractor.mail.models import Message


def messages_of(job: Job) -> list[Message]:
    """The job's e-mails, newest first, without their texts."""
    return list(Message.objects.filter(job=job).defer("body", "secret"))


def messages_about(key: str) -> list[Message]:
    """The e-mails that tell of one thing, the newest first: `key` itself and what begins with it and a colon."""
    about = Q(key=key) | Q(key__startswith=f"{key}:")
    return list(Message.objects.filter(about).select_related("job").defer("body", "secret"))


def mails_shown(job: Job) -> dict:
    """What `mail/_mails.html` shows; a page that is open asks again while one is on its way."""
    found = messages_of(job)
    return {"job": job, "mails": found, "is_pending": any(message.is_pending for message in found)}


def message_for(pk: int) -> Message:
    try:
        return Message.objects.select_related("job").defer("secret").get(pk=pk)
    except Message.DoesNotExist:
        raise Http404("There is no such e-mail.") from None
