"""Questions through the link, answers of the office, and what the office is reminded of."""

from datetime import date, datetime, timedelta
from types import SimpleNamespace

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import AuditEntry
from contractor.mail.models import Message
from contractor.quotes import asking, services
from contractor.quotes.following import reminders_of
from contractor.quotes.models import ProposalLink, Question, Revision
from contractor.quotes.selectors import latest_revision
from contractor.quotes.steps import look_at_quote

ASKED = {"text": "Does the radiator come off?", "name": "Ada Pell"}


def url(sent, name="proposal"):
    return reverse(f"quotes:{name}", args=[sent.token])


def ask(client, sent, **changes):
    return client.post(url(sent, "proposal-ask"), ASKED | changes)


def test_a_question_threads_into_the_job_and_goes_to_the_office_by_mail(stranger, office, sent, job, firm):
    response = ask(stranger, sent)
    assert response.status_code == 302 and response.url.endswith("#questions")
    assert response["Referrer-Policy"] == "no-referrer"
    question = Question.objects.get()
    assert (question.text, question.name, question.address) == (*ASKED.values(), "127.0.0.1")
    message = Message.objects.get(key=f"question:{question.pk}:office")
    assert (message.job, message.to, message.reply_to) == (job, firm.email, job.property.customer.email)
    assert ASKED["text"] in message.body and reverse("quotes:question", args=[question.pk]) in message.body
    assert AuditEntry.objects.filter(action="Question by the customer").exists()
    letter = stranger.get(url(sent)).content.decode()
    assert ASKED["text"] in letter and "We have it and will answer" in letter
    page = office.get(reverse("quotes:quote", args=[job.number])).content.decode()
    assert "Answer Ada Pell" in page and "Answer the question" in page
    assert look_at_quote(job) == ("now", "Quote 1: a question waits")


def test_the_answer_stands_in_the_letter_and_goes_by_mail(stranger, office, sent, job):
    ask(stranger, sent)
    question = Question.objects.get()
    mail.outbox.clear()
    address = reverse("quotes:question", args=[question.pk])
    assert "Write the answer first." in office.post(address, {"answer": " "}).content.decode()
    assert office.post(address, {"answer": "Yes, and it goes back on."}).status_code == 302
    question.refresh_from_db()
    assert (question.answer, question.answered_by) == ("Yes, and it goes back on.", office.user)
    message = Message.objects.get(key=f"question:{question.pk}:answer")
    assert message.to == job.property.customer.email
    assert ASKED["text"] in message.body and "Yes, and it goes back on." in message.body
    assert sent.token not in message.body, "the link is kept nowhere, and not sent again"
    assert "Yes, and it goes back on." in stranger.get(url(sent)).content.decode()
    assert look_at_quote(job)[1].startswith("Quote 1 opened")


def test_two_of_the_office_answer_once(stranger, office, owner, sent):
    ask(stranger, sent)
    question = Question.objects.get()
    asking.question_answer(question=question, text="Yes.", by=office.user)
    with pytest.raises(asking.AlreadyAnswered):
        asking.question_answer(question=question, text="No.", by=owner.user)
    response = owner.post(reverse("quotes:question", args=[question.pk]), {"answer": "No."}, follow=True)
    assert "Somebody else answered first" in response.content.decode()
    question.refresh_from_db()
    assert question.answer == "Yes."
    assert Message.objects.filter(key__endswith=":answer").count() == 1


def test_asking_the_same_twice_is_asking_once(stranger, sent):
    ask(stranger, sent)
    ask(stranger, sent)
    assert Question.objects.count() == 1


@pytest.mark.parametrize(("missing", "said"), [("text", "Write your question here."), ("name", "Tell us who asks.")])
def test_what_is_missing_is_said_and_what_was_typed_is_kept(stranger, sent, missing, said):
    response = ask(stranger, sent, **{missing: ""})
    text = response.content.decode()
    assert response.status_code == 200 and said in text
    kept = next(value for key, value in ASKED.items() if key != missing)
    assert kept in text
    assert not Question.objects.exists()


def test_a_link_asks_only_so_often(stranger, sent):
    for n in range(5):
        assert ask(stranger, sent, text=f"Question {n}").status_code == 302
    response = ask(stranger, sent, text="One more")
    assert response.status_code == 200
    assert "as many questions as we can take" in response.content.decode()
    assert "One more" in response.content.decode()
    assert Question.objects.count() == 5
    Question.objects.update(asked_at=timezone.now() - timedelta(hours=2))
    assert ask(stranger, sent, text="Later on").status_code == 302
    Question.objects.update(asked_at=timezone.now() - timedelta(hours=2))
    for n in range(9):
        Question.objects.create(revision=sent.revision, link=sent.link, name="A", text=f"More {n}")
    Question.objects.update(asked_at=timezone.now() - timedelta(hours=2))
    assert ask(stranger, sent, text="The sixteenth of the day").status_code == 200


def test_what_is_asked_is_shown_as_text(stranger, office, sent):
    ask(stranger, sent, text="<script>alert(1)</script>")
    question = Question.objects.get()
    for page in (stranger.get(url(sent)), office.get(reverse("quotes:question", args=[question.pk]))):
        assert "<script>alert" not in page.content.decode()


def test_asking_needs_no_cookie_of_the_site(sent):
    client = Client(enforce_csrf_checks=True)
    response = client.post(url(sent, "proposal-ask"), ASKED, headers={"origin": "null"})
    assert response.status_code == 302


def test_a_closed_link_takes_no_question(stranger, sent, sender):
    services.link_revoke(link=sent.link, user=sender)
    assert ask(stranger, sent).status_code == 410
    assert not Question.objects.exists()


def test_questions_stay_when_the_quote_is_sent_again(stranger, sent, job, sender):
    ask(stranger, sent)
    again = services.send(job=job, user=sender, valid_days=30)
    assert ASKED["text"] in stranger.get(url(again)).content.decode()


SENT_ON = date(2026, 3, 2)


def revision(**changes):
    """As selectors.followed makes it, sent on 2 March with a price until 1 April."""
    noon = timezone.make_aware(datetime(2026, 3, 2, 12))
    standing = {
        "status": "sent",
        "sent_at": noon,
        "valid_until": date(2026, 4, 1),
        "first_opened_at": None,
        "open_questions": 0,
        "first_asked_at": None,
        "decision": None,
    }
    return SimpleNamespace(**standing | changes)


@pytest.mark.parametrize(
    ("changes", "today", "due"),
    [
        ({}, date(2026, 3, 4), []),
        ({}, date(2026, 3, 5), ["Ring: not opened yet"]),
        ({"first_opened_at": timezone.make_aware(datetime(2026, 3, 3, 20))}, date(2026, 3, 9), []),
        (
            {"first_opened_at": timezone.make_aware(datetime(2026, 3, 3, 20))},
            date(2026, 3, 10),
            ["Ring: opened, no answer yet"],
        ),
        (
            {"first_opened_at": timezone.make_aware(datetime(2026, 3, 3, 20))},
            date(2026, 3, 27),
            ["Ring: opened, no answer yet", "Ring: the price runs out soon"],
        ),
        ({}, date(2026, 4, 2), ["The price has run out: send it again, or close the job"]),
        (
            {"open_questions": 2, "first_asked_at": timezone.make_aware(datetime(2026, 3, 3, 9))},
            date(2026, 3, 3),
            ["Answer the questions"],
        ),
        ({"status": "declined"}, date(2026, 3, 20), []),
        ({"status": "superseded"}, date(2026, 3, 20), []),
    ],
)
def test_what_is_due(changes, today, due):
    assert [r.what for r in reminders_of(revision(**changes), today) if r.is_due] == due


def test_work_may_begin_once_the_time_to_cancel_is_over():
    # Fourteen days, the first the day after acceptance: accepted on 2 March, the last day is 16 March.
    decision = SimpleNamespace(at=timezone.make_aware(datetime(2026, 3, 2, 18)), early_start=False)
    accepted = revision(status="accepted", decision=decision)
    [reminder] = reminders_of(accepted, date(2026, 3, 10))
    assert (reminder.on, reminder.is_due) == (date(2026, 3, 17), False)
    decision.early_start = True
    assert reminders_of(accepted, date(2026, 3, 10)) == []


def test_the_office_sees_what_waits(office, stranger, sent, job):
    stranger.get(url(sent))
    ask(stranger, sent)
    Revision.objects.update(sent_at=timezone.now() - timedelta(days=20))
    ProposalLink.objects.update(first_opened_at=timezone.now() - timedelta(days=10))
    text = " ".join(office.get(reverse("quotes:proposals")).content.decode().split())
    for told in (
        job.title,
        job.property.customer.name,
        "1 time, last",
        "Answer the question",
        "Ring: opened, no answer yet",
    ):
        assert told in text, told
    assert latest_revision(job).open_questions == 1


def test_an_accepted_proposal_waits_only_while_a_question_does(office, stranger, sent, job):
    data = {"option": "2", "typed_name": "Ada Pell", "agreed_terms": "on"}
    stranger.post(url(sent, "proposal-accept"), data)
    assert job.title not in office.get(reverse("quotes:proposals")).content.decode()
    ask(stranger, sent)
    assert job.title in office.get(reverse("quotes:proposals")).content.decode()


def test_nothing_waits(office, db):
    assert "None does at the moment" in office.get(reverse("quotes:proposals")).content.decode()


def test_the_list_costs_the_same_for_one_and_for_three(office, sent, job, sender, count_queries, standing_calculations):
    from tests.factories import JobFactory
    from tests.quotes.results import calculated_scheme

    one = count_queries(office, reverse("quotes:proposals"))
    for _ in range(2):
        other = JobFactory()
        calculated_scheme(other)
        services.send(job=other, user=sender, valid_days=30)
    assert count_queries(office, reverse("quotes:proposals")) == one <= 5
