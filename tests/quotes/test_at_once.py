"""Two people at the same moment: one clear outcome, whoever wins. Runs on SQLite and on PostgreSQL."""

from functools import partial
from threading import Event
from time import sleep

import pytest
from django.test import Client
from django.urls import reverse

from contractor.accounts.selectors import the_firm
from contractor.quotes import asking, drafts, services
from contractor.quotes.document import fingerprint, today_in_short
from contractor.quotes.models import Decision, Draft, ProposalLink, Question, Revision
from contractor.quotes.options import options_of
from tests.at_once import at_once as run_at_once

pytestmark = pytest.mark.django_db(transaction=True)
REFUSALS = (services.NotOpen, services.Refused, asking.TooMany, asking.AlreadyAnswered)
at_once = partial(run_at_once, refusals=REFUSALS)


@pytest.fixture(autouse=True)
def no_paper(monkeypatch):
    """The PDF of each copy takes a second and touches no row."""
    monkeypatch.setattr("contractor.quotes.mail.proposal_pdf", lambda revision, decision: b"%PDF")


def accepting(link_pk, name, option="1"):
    def act():
        link = ProposalLink.objects.select_related("revision").get(pk=link_pk)
        return services.accept(
            link=link, option_key=option, typed_name=name, agreed_terms=True, early_start=False, address="", browser=""
        )

    return act


def declining(link_pk):
    def act():
        link = ProposalLink.objects.select_related("revision").get(pk=link_pk)
        return services.decline(link=link, reason="No", address="", browser="")

    return act


def test_many_taps_make_one_acceptance(sent, job):
    names = [f"Person {n}" for n in range(6)]
    outcomes = at_once(*(accepting(sent.link.pk, name, "1" if n % 2 else "2") for n, name in enumerate(names)))
    decisions = [outcome for outcome in outcomes if isinstance(outcome, Decision)]
    assert len(decisions) == 1
    assert Decision.objects.get().typed_name == decisions[0].typed_name
    assert job.stage_changes.filter(to_stage="accepted").count() == 1


def test_accepting_and_declining_at_once(sent):
    outcomes = at_once(accepting(sent.link.pk, "Ada"), declining(sent.link.pk))
    assert sum(isinstance(outcome, Decision) for outcome in outcomes) == 1
    assert Decision.objects.get().answer == Revision.objects.get().status


def test_accepting_while_the_office_sends_anew(sent, job, sender):
    accepted, resent = at_once(
        accepting(sent.link.pk, "Ada"), lambda: services.send(job=job, user=sender, valid_days=30)
    )
    statuses = dict(Revision.objects.values_list("number", "status"))
    if isinstance(accepted, Decision):
        assert isinstance(resent, services.Refused)
        assert statuses == {1: "accepted"}
    else:
        assert statuses == {1: "superseded", 2: "sent"}
        assert not Decision.objects.exists()


def held_open(monkeypatch, name, then=lambda: None):
    """Make the service wait in its transaction at the function `name`; the event is set once it is there."""
    within, real = Event(), getattr(services, name)

    def slow(*args, **kwargs):
        within.set()
        sleep(0.5)
        then()
        return real(*args, **kwargs)

    monkeypatch.setattr(services, name, slow)
    return within


def test_revoking_waits_for_an_answer_that_is_under_way(sent, sender, monkeypatch):
    seen = []
    under_way = held_open(
        monkeypatch, "is_as_frozen", lambda: seen.append(ProposalLink.objects.get(pk=sent.link.pk).revoked_at)
    )

    def revoking():
        assert under_way.wait(10)
        services.link_revoke(link=sent.link, user=sender)

    accepted, _ = at_once(accepting(sent.link.pk, "Ada"), revoking)
    assert isinstance(accepted, Decision)
    assert seen == [None], "the link was closed under an answer that had found it open"
    assert ProposalLink.objects.get(pk=sent.link.pk).revoked_at > accepted.at


def test_accepting_at_the_instant_of_revoking(sent, sender):
    accepted, _ = at_once(accepting(sent.link.pk, "Ada"), lambda: services.link_revoke(link=sent.link, user=sender))
    status = Revision.objects.get().status
    assert ProposalLink.objects.get().revoked_at
    if isinstance(accepted, Decision):
        assert status == "accepted" and Decision.objects.count() == 1
    else:
        assert accepted.standing == "revoked" and status == "sent" and not Decision.objects.exists()


def test_no_link_is_made_to_a_proposal_that_is_being_replaced(sent, job, sender, monkeypatch):
    replacing = held_open(monkeypatch, "build_document")

    def linking():
        assert replacing.wait(10)
        return services.link_new(revision=Revision.objects.get(pk=sent.revision.pk), user=sender)

    _, linked = at_once(lambda: services.send(job=job, user=sender, valid_days=30), linking)
    assert isinstance(linked, services.Refused)
    assert sent.revision.links.count() == 1


def test_all_who_open_at_once_read_it_and_are_counted(sent):
    address = reverse("quotes:proposal", args=[sent.token])
    responses = at_once(*[lambda: Client().get(address)] * 5)
    assert {response.status_code for response in responses} == {200}
    assert ProposalLink.objects.get().times_opened == 5


def posting(sent, name, **data):
    def act():
        return Client().post(reverse(f"quotes:{name}", args=[sent.token]), data, follow=True)

    return act


def test_each_of_a_household_sees_the_one_answer_and_the_others_that_theirs_came_late(sent):
    ticks = {"option": "1", "agreed_terms": "on"}
    pages = at_once(
        posting(sent, "proposal-accept", typed_name="Ada Pell", **ticks),
        posting(sent, "proposal-accept", typed_name="Bo Pell", **ticks),
        posting(sent, "proposal-decline", reason="Too dear"),
    )
    decision = Decision.objects.get()
    told = f"{decision.typed_name} accepted" if decision.typed_name else "<h2>Declined</h2>"
    texts = [page.content.decode() for page in pages]
    assert all(page.status_code == 200 for page in pages) and all(told in text for text in texts)
    assert sum("Another answer came first" in text for text in texts) == 2


def test_double_taps_of_one_person_all_end_on_their_acceptance(sent, job):
    tap = posting(sent, "proposal-accept", typed_name="Ada Pell", option="1", agreed_terms="on")
    texts = [page.content.decode() for page in at_once(*[tap] * 4)]
    assert all("Ada Pell accepted" in text and "Another answer" not in text for text in texts)
    assert Decision.objects.count() == 1
    assert job.messages.filter(key__startswith="accepted:").count() == 2  # one to the customer, one to the office


def test_who_accepts_while_it_is_replaced_or_closed_reads_what_became_of_it(sent, job, sender):
    page, resent = at_once(
        posting(sent, "proposal-accept", typed_name="Ada Pell", option="1", agreed_terms="on"),
        lambda: services.send(job=job, user=sender, valid_days=30),
    )
    text = page.content.decode()
    if isinstance(resent, services.Refused):
        assert "Ada Pell accepted" in text
    else:
        assert "There is a newer proposal" in text and "What you sent just now was not taken" in text
        assert not Decision.objects.exists()


def test_two_in_the_office_sending_at_once(job, sender):
    def send():
        return services.send(job=job, user=sender, valid_days=30, after_number=0)

    outcomes = at_once(send, send)
    assert sorted(type(outcome).__name__ for outcome in outcomes) == ["Refused", "Sent"]
    assert list(Revision.objects.values_list("number", "status")) == [(1, "sent")]


def test_numbers_run_on_without_gap_or_double(job, sender):
    def send():
        return services.send(job=job, user=sender, valid_days=30)

    at_once(*[send] * 5)
    assert sorted(Revision.objects.values_list("number", flat=True)) == [1, 2, 3, 4, 5]
    assert Revision.objects.filter(status="sent").count() == 1


def asking_about(link_pk, text):
    def act():
        link = ProposalLink.objects.select_related("revision").get(pk=link_pk)
        return asking.question_ask(link=link, name="Ada", text=text, address="")

    return act


def test_a_question_sent_by_many_taps_is_one(sent, job):
    outcomes = at_once(*(asking_about(sent.link.pk, "When?") for _ in range(5)))
    assert {outcome.pk for outcome in outcomes} == {Question.objects.get().pk}
    assert job.messages.filter(key__endswith=":office").count() == 1


def test_questions_at_once_stay_within_the_limit(sent):
    outcomes = at_once(*(asking_about(sent.link.pk, f"Question {n}") for n in range(8)))
    assert sum(isinstance(outcome, asking.TooMany) for outcome in outcomes) == 3
    assert Question.objects.count() == 5


def test_two_answers_at_once_are_one(sent, sender, job):
    question = asking_about(sent.link.pk, "When?")()

    def answering(text):
        return lambda: asking.question_answer(question=Question.objects.get(pk=question.pk), text=text, by=sender)

    outcomes = at_once(answering("In May."), answering("In June."))
    assert sum(isinstance(outcome, asking.AlreadyAnswered) for outcome in outcomes) == 1
    told = next(outcome for outcome in outcomes if isinstance(outcome, Question))
    assert Question.objects.get().answer == told.answer
    assert told.answer in job.messages.get(key__endswith=":answer").body


def test_two_first_looks_and_two_bringing_up_to_date_keep_one_draft(job, sender):
    options = options_of(job)
    today = today_in_short(job, the_firm(), options)
    seen = fingerprint(today)
    looked = at_once(*[lambda: drafts.first_look(job=job, options=options, today=today, user=sender)] * 4)
    assert {draft.pk for draft in looked} == {Draft.objects.get().pk}
    at_once(*[lambda: drafts.bring_up_to_date(job=job, seen=seen, user=sender)] * 4)
    assert Draft.objects.get().document == today
