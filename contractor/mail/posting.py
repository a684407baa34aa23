"""Handing one e-mail to the mail server, and what its answer means."""

import smtplib
from collections.abc import Callable
from contextlib import suppress
from email.utils import parseaddr

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from contractor.mail.models import SECRET_MARK, Message

Attachment = tuple[str, bytes, str]  # file name, content, type
_makers: dict[str, Callable[[str], Attachment | None]] = {}


class TryLater(Exception):
    """It has certainly not gone; another try may succeed."""


class Refused(Exception):
    """It has certainly not gone, and will not."""


class Unsure(Exception):
    """The line broke while it was being handed over: it may have gone."""


def add_attachment_maker(name: str, make: Callable[[str], Attachment | None]) -> None:
    """Called from an app's ready(): `make` turns what stands after "name:" in a message's attachment into a file.

    It answers None where the file cannot be made on this machine; the message then goes without.
    """
    _makers[name] = make


def hand_over(message: Message) -> None:
    """Give the message to the mail server. Returns only when the server took it; else TryLater, Refused or Unsure."""
    try:
        email = _email(message)
    except Exception as error:  # a drawing, a file: nothing has gone yet
        raise TryLater(f"It could not be put together: {error}") from error
    connection = get_connection()
    try:
        connection.open()
    except Exception as error:  # whatever it is, nothing has gone yet
        raise TryLater(str(error) or type(error).__name__) from error
    try:
        connection.send_messages([email])
    except smtplib.SMTPRecipientsRefused as error:
        _answered(max(code for code, _ in error.recipients.values()), error)
    except smtplib.SMTPResponseException as error:
        _answered(error.smtp_code, error)
    except ValueError as error:  # a line break in a heading, an address that is none
        raise Refused(str(error)) from error
    except Exception as error:  # a broken line, or what nobody foresaw: one letter must not hold up those after it
        raise Unsure(str(error) or type(error).__name__) from error
    finally:
        _close(connection)


def _answered(code: int, error: Exception) -> None:
    """RFC 5321, 4.2.1: 4xx asks to try again, 5xx not to."""
    raise (Refused if code >= 500 else TryLater)(str(error)) from error


def _close(connection) -> None:
    """However the line ends, the message is with the server."""
    with suppress(OSError, smtplib.SMTPException):
        connection.close()


def _email(message: Message) -> EmailMessage:
    host = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2]
    email = EmailMessage(
        subject=" ".join(message.subject.split()),
        body=message.body.replace(SECRET_MARK, message.secret) if message.secret else message.body,
        to=[message.to],
        reply_to=[message.reply_to] if message.reply_to else None,
        headers={"Message-ID": f"<{message.message_id}@{host}>"},
    )
    if message.attachment:
        name, _, of_what = message.attachment.partition(":")
        made = _makers[name](of_what)
        if made:
            email.attach(*made)
    return email
