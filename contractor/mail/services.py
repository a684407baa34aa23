"""What changes the outbox. Sending happens in a task, never in the request that asked for it.

A message is claimed by one UPDATE that only succeeds while it waits, so of many workers one sends it. What was claimed
and never answered for, since its process died, is not sent again by itself: the office is asked.
"""

from datetime import timedelta

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.common.background import later
from contractor.jobs.models import Job
from contractor.mail.models import Message
from contractor.mail.posting import Refused, TryLater, Unsure, hand_over

State = Message.State
WAITS = [timedelta(minutes=m) for m in (1, 5, 15, 60, 240)]  # before the second try, the third, …
DEAD_AFTER = timedelta(minutes=10)  # a hand-over that has said nothing for so long has lost its process


def post(
    *,
    job: Job,
    key: str,
    to: str,
    subject: str,
    body: str,
    reply_to: str = "",
    secret: str = "",
    attachment: str = "",
) -> Message:
    """Write an e-mail into the outbox, in the transaction of what it tells; it goes once that is committed.

    A `key` that is known already posts nothing. `secret` replaces posting.SECRET_MARK in the body and is forgotten as
    soon as the message has gone. `attachment` is "maker:argument", see posting.add_attachment_maker.
    """
    from contractor.mail.tasks import deliver_mail  # the task calls this module

    values = {"job": job, "to": to, "subject": subject[:200], "body": body}
    values |= {"reply_to": reply_to, "secret": secret, "attachment": attachment}
    message, is_new = Message.objects.get_or_create(key=key, defaults=values)
    if is_new:
        later(deliver_mail)
    return message


def deliver_due() -> int:
    """Send everything that waits and is due; how many went. Safe to call at any time, by many at once."""
    from contractor.mail.tasks import deliver_mail

    now = timezone.now()
    for message in Message.objects.filter(state=State.SENDING, claimed_at__lt=now - DEAD_AFTER):
        _close(message, State.UNSURE, "The server stopped while it was being sent.")
    sent = 0
    for pk in (
        Message.objects.filter(state=State.WAITING, next_try_at__lte=now).order_by("pk").values_list("pk", flat=True)
    ):
        message = _claim(pk)
        if message is None:
            continue
        try:
            hand_over(message)
        except TryLater as problem:
            if message.attempts <= len(WAITS):
                wait = WAITS[message.attempts - 1]
                Message.objects.filter(pk=pk).update(
                    state=State.WAITING, next_try_at=timezone.now() + wait, problem=str(problem)
                )
                later(deliver_mail, delay=wait)
            else:
                _close(message, State.FAILED, str(problem))
        except Refused as problem:
            _close(message, State.FAILED, str(problem))
        except Unsure as problem:
            _close(message, State.UNSURE, str(problem))
        else:
            sent += 1
            _close(message, State.SENT)
    return sent


def _claim(pk: int) -> Message | None:
    """The message, now ours to send; None when another has it."""
    now = timezone.now()
    claimed = Message.objects.filter(pk=pk, state=State.WAITING, next_try_at__lte=now)
    if not claimed.update(state=State.SENDING, claimed_at=now, attempts=F("attempts") + 1):
        return None
    return Message.objects.select_related("job").get(pk=pk)


@transaction.atomic
def _close(message: Message, state: str, problem: str = "") -> None:
    """Say once what became of a message that was claimed."""
    values = {"state": state, "problem": problem}
    if state == State.SENT:
        values |= {"sent_at": timezone.now(), "secret": ""}
    if Message.objects.filter(pk=message.pk, state=State.SENDING).update(**values):
        action = {State.SENT: "E-mail sent", State.UNSURE: "E-mail may have gone"}.get(state, "E-mail not sent")
        detail = {"problem": problem} if problem else {}
        record(user=None, action=action, subject=message.job, title=message.subject, to=message.to, **detail)


@transaction.atomic
def send_again(*, message: Message, by: User) -> bool:
    """Let a message that failed, or may have gone, wait to be sent anew; False where somebody did so already."""
    from contractor.mail.tasks import deliver_mail

    found = Message.objects.filter(pk=message.pk, state__in=(State.UNSURE, State.FAILED))
    if not found.update(state=State.WAITING, next_try_at=timezone.now(), attempts=0, problem=""):
        return False
    record(user=by, action="E-mail sent again", subject=message.job, title=message.subject, to=message.to)
    later(deliver_mail)
    return True
