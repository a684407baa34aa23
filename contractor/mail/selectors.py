"""Reads of the outbox."""

from django.http import Http404

from contractor.jobs.models import Job
from contractor.mail.models import Message


def messages_of(job: Job) -> list[Message]:
    """The job's e-mails, newest first, without their texts."""
    return list(Message.objects.filter(job=job).defer("body", "secret"))


def mails_shown(job: Job) -> dict:
    """What `mail/_mails.html` shows; a page that is open asks again while one is on its way."""
    found = messages_of(job)
    return {"job": job, "mails": found, "is_pending": any(message.is_pending for message in found)}


def message_for(pk: int) -> Message:
    try:
        return Message.objects.select_related("job").defer("secret").get(pk=pk)
    except Message.DoesNotExist:
        raise Http404("There is no such e-mail.") from None
