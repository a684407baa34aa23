"""The outbox: told once, tried again where that makes sense, never sent twice."""

import smtplib
from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import call_command
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import AuditEntry
from contractor.mail import services
from contractor.mail.models import SECRET_MARK, Message
from contractor.mail.posting import add_attachment_maker
from tests.at_once import at_once
from tests.factories import JobFactory

State = Message.State


def post(job, key="news:1", **more):
    values = {
        "to": "ada@example.com",
        "subject": "News",
        "body": f"Read it at {SECRET_MARK}",
        "secret": "https://x/abc",
    }
    return services.post(job=job, key=key, **values | more)


def due(message) -> Message:
    """The message as the database has it, its next try come."""
    Message.objects.filter(pk=message.pk).update(next_try_at=timezone.now())
    return Message.objects.get(pk=message.pk)


@pytest.fixture
def server(monkeypatch):
    """A mail server that answers with the errors put into the list, one a message, then takes what comes."""
    errors = []
    send = mail.backends.locmem.EmailBackend.send_messages

    def answer(self, messages):
        if errors:
            raise errors.pop(0)
        return send(self, messages)

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.send_messages", answer)
    return errors


@pytest.fixture
def no_tries_by_itself(monkeypatch):
    monkeypatch.setattr("contractor.mail.services.later", lambda *args, **more: None)


def test_it_goes_with_its_secret_which_is_then_forgotten(db):
    message = post(JobFactory(), reply_to="office@example.com")
    (sent,) = mail.outbox
    assert (sent.to, sent.body, sent.reply_to) == (
        ["ada@example.com"],
        "Read it at https://x/abc",
        ["office@example.com"],
    )
    message.refresh_from_db()
    assert (message.state, message.secret, message.attempts) == (State.SENT, "", 1)
    assert "abc" not in str(Message.objects.values())
    assert str(message.message_id) in sent.extra_headers["Message-ID"]
    assert AuditEntry.objects.filter(action="E-mail sent").count() == 1


def test_the_same_thing_is_told_once(db):
    job = JobFactory()
    assert post(job).pk == post(job, subject="News again").pk
    assert len(mail.outbox) == 1


@pytest.mark.django_db(transaction=True)
def test_nothing_goes_when_what_it_tells_of_is_undone():
    with pytest.raises(RuntimeError), transaction.atomic():
        post(JobFactory())
        raise RuntimeError
    assert mail.outbox == [] and not Message.objects.exists()


# RFC 5321, 4.2.1: a code of 4xx means not now, one of 5xx means not at all.
@pytest.mark.parametrize(
    ("error", "state"),
    [
        (smtplib.SMTPRecipientsRefused({"ada@example.com": (450, b"mailbox busy")}), State.WAITING),
        (smtplib.SMTPRecipientsRefused({"ada@example.com": (550, b"no such user")}), State.FAILED),
        (smtplib.SMTPSenderRefused(552, b"too much", "office@example.com"), State.FAILED),
        (smtplib.SMTPDataError(451, b"try again"), State.WAITING),
        (smtplib.SMTPServerDisconnected("the line broke"), State.UNSURE),
        (TimeoutError("timed out"), State.UNSURE),
        (ValueError("a line break in a heading"), State.FAILED),
        (RuntimeError("nobody foresaw it"), State.UNSURE),
    ],
)
def test_what_the_server_says_decides(db, server, error, state):
    server.append(error)
    message = post(JobFactory())
    message.refresh_from_db()
    assert message.state == state
    assert message.problem
    assert mail.outbox == []


def test_tries_come_further_apart_and_end(db, server):
    refusal = smtplib.SMTPDataError(451, b"try again")
    server += [refusal] * 6
    message = post(JobFactory())
    waits = []
    while (message := Message.objects.get(pk=message.pk)).state == State.WAITING:
        waits.append((message.next_try_at - timezone.now()) / timedelta(minutes=1))
        assert services.deliver_due() == 0, "it went before its time"
        due(message)
        services.deliver_due()
    assert waits == pytest.approx([1, 5, 15, 60, 240], abs=0.2)
    assert (message.state, message.attempts) == (State.FAILED, 6)


def test_a_later_try_sends_it_and_it_stays_sent(db, server):
    server.append(smtplib.SMTPDataError(451, b"try again"))
    message = due(post(JobFactory()))
    call_command("send_mail", verbosity=0)
    assert [len(mail.outbox), Message.objects.get(pk=message.pk).state] == [1, State.SENT]
    due(message)
    services.deliver_due()
    assert len(mail.outbox) == 1


def test_what_cannot_be_put_together_is_tried_later_and_goes_without_a_missing_copy(db):
    def make(of_what):
        if of_what == "broken":
            raise OSError("disk full")
        return None if of_what == "none" else ("copy.pdf", b"%PDF", "application/pdf")

    add_attachment_maker("test", make)
    job = JobFactory()
    broken = post(job, "1", attachment="test:broken")
    post(job, "2", attachment="test:none")
    post(job, "3", attachment="test:7")
    broken.refresh_from_db()
    assert (broken.state, broken.problem) == (State.WAITING, "It could not be put together: disk full")
    assert [[name for name, _, _ in message.attachments] for message in mail.outbox] == [[], ["copy.pdf"]]


def test_what_a_dead_process_was_sending_is_left_to_the_office(db, no_tries_by_itself):
    message = post(JobFactory())
    long_ago = timezone.now() - timedelta(minutes=11)
    Message.objects.filter(pk=message.pk).update(state=State.SENDING, claimed_at=long_ago)
    services.deliver_due()
    message.refresh_from_db()
    assert message.state == State.UNSURE
    assert mail.outbox == []


def test_a_crash_between_the_server_and_the_mark_sends_no_second_one(db, no_tries_by_itself, monkeypatch):
    """The rule: what may have gone is never sent again by itself. The office sees it and decides."""
    message = post(JobFactory())
    with monkeypatch.context() as dies, pytest.raises(KeyboardInterrupt):

        def die(*args):
            raise KeyboardInterrupt

        dies.setattr("contractor.mail.services._close", die)
        services.deliver_due()
    assert (len(mail.outbox), Message.objects.get().state) == (1, State.SENDING)
    for _ in range(2):
        Message.objects.update(claimed_at=timezone.now() - timedelta(minutes=11), next_try_at=timezone.now())
        services.deliver_due()
    message.refresh_from_db()
    assert (len(mail.outbox), message.state) == (1, State.UNSURE)


def test_one_that_nobody_foresaw_holds_up_no_other(db, server, no_tries_by_itself):
    job = JobFactory()
    post(job, "1")
    post(job, "2")
    server.append(RuntimeError("nobody foresaw it"))
    assert services.deliver_due() == 1
    assert [m.state for m in Message.objects.order_by("pk")] == [State.UNSURE, State.SENT]


def test_the_office_sends_again_once(office, db, server):
    server.append(smtplib.SMTPServerDisconnected("the line broke"))
    message = post(JobFactory())
    url = reverse("mail:again", args=[message.pk])
    answers = [office.post(url, follow=True).content.decode() for _ in range(2)]
    assert "on its way again" in answers[0] and "Nothing to do" in answers[1]
    assert len(mail.outbox) == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("count", [12])
def test_many_workers_at_once_send_each_once(count, no_tries_by_itself):
    """On SQLite and on PostgreSQL: one UPDATE claims a message, so no two workers hold the same."""
    job = JobFactory()
    for n in range(count):
        post(job, f"news:{n}", to=f"person{n}@example.com")
    went = at_once(*[services.deliver_due] * 6)
    assert sum(went) == count
    assert sorted(m.to[0] for m in mail.outbox) == sorted(f"person{n}@example.com" for n in range(count))
    assert set(Message.objects.values_list("state", "attempts")) == {(State.SENT, 1)}


@pytest.mark.django_db(transaction=True)
def test_many_at_once_tell_the_same_thing_once():
    job = JobFactory()
    at_once(*[lambda: post(job)] * 6)
    assert Message.objects.count() == len(mail.outbox) == 1


@pytest.mark.django_db(transaction=True)
def test_a_worker_on_the_database_sends_it(settings):
    settings.TASKS = {"default": {"BACKEND": settings.TASK_BACKENDS["database"]}}
    post(JobFactory())
    assert mail.outbox == []
    call_command("db_worker", "--batch", "--no-startup-delay", "--interval", "0")
    assert len(mail.outbox) == 1


def test_the_job_shows_each_with_its_state(office, server, count_queries):
    server += [smtplib.SMTPDataError(451, b"greylisted"), smtplib.SMTPSenderRefused(552, b"too much", "x")]
    job = JobFactory()
    post(job, "1", subject="Waits")
    post(job, "2", subject="Failed")
    url = reverse("mail:outbox", args=[job.number])
    page = office.get(url).content.decode()
    assert "greylisted" in page and "next at" in page and "Not sent" in page and "Send again" in page
    assert "every 3s" in page  # one is on its way
    queries = count_queries(office, url)
    post(job, "3", subject="Sent")
    assert count_queries(office, url) == queries
    assert "Waits" in office.get(reverse("jobs:job", args=[job.number])).content.decode()
    region = office.get(url, headers={"HX-Request": "true", "HX-Target": "mails"}).content.decode()
    assert "<html" not in region and "Failed" in region


def test_a_message_is_read_without_its_secret(office):
    message = post(JobFactory())
    page = office.get(reverse("mail:message", args=[message.pk])).content.decode()
    assert SECRET_MARK in page and "abc" not in page


def test_a_job_without_mail_says_what_belongs_here(office):
    job = JobFactory()
    assert "None yet" in office.get(reverse("mail:outbox", args=[job.number])).content.decode()
