"""The homeowner's letter and answer, through the web as a stranger with nothing but the link."""

import hashlib
import json
import re
from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import AuditEntry
from contractor.quotes import services, signals
from contractor.quotes.cancelling import last_day_to_cancel
from contractor.quotes.models import Decision, ProposalLink, Revision

ACCEPTANCE = {"option": "2", "typed_name": "Ada Pell", "agreed_terms": "on"}


def url(sent, name="proposal"):
    return reverse(f"quotes:{name}", args=[sent.token])


def accept(client, sent, **changes):
    data = {key: value for key, value in (ACCEPTANCE | changes).items() if value is not None}
    return client.post(url(sent, "proposal-accept"), data, headers={"user-agent": "Test browser"})


def ticked(text):
    return len(re.findall(r"<input[^>]*\bchecked", text))


def assert_private(response):
    assert response["Referrer-Policy"] == "no-referrer"
    assert response["Cache-Control"] == "no-store"
    assert "noindex" in response["X-Robots-Tag"]


def test_the_letter_tells_it_in_order(stranger, sent):
    response = stranger.get(url(sent))
    text = response.content.decode()
    told = [
        "What you told us",
        "Where it comes in",
        "What we propose",
        "What you will hear afterwards",
        "What it will not do",
        "Listen",
        "side by side",
        "The price",
        "How long it takes",
        "What we need from you",
        "Cautions",
        "What is not included",
        "Your right to cancel",
        "Ask us",
        "Accept this proposal",
    ]
    places = [text.find(f"{words}</h2>") for words in told]
    assert -1 not in places, told[places.index(-1)]
    assert places == sorted(places)
    assert "how sure we are: of three rooms" in text
    assert "97.5 mm" in text and "A frame that stands clear of the wall." in text
    assert_private(response)
    assert "Sign out" not in text and "Customers" not in text


def test_the_letter_names_the_last_day_to_cancel(stranger, sent):
    day = last_day_to_cancel(timezone.localdate())
    assert day - timezone.localdate() == timedelta(days=14)
    assert f"{day.day} {day:%b %Y}" in stranger.get(url(sent)).content.decode()


def test_nothing_is_chosen_or_ticked_beforehand(stranger, sent):
    text = stranger.get(url(sent)).content.decode()
    assert text.count('type="radio"') == 2
    assert ticked(text) == 0


def test_opening_is_noted_but_not_the_offices_own_look(stranger, office, sent):
    stranger.get(url(sent))
    stranger.get(url(sent))
    office.get(url(sent))
    sent.link.refresh_from_db()
    assert sent.link.times_opened == 2
    assert sent.link.first_opened_at <= sent.link.last_opened_at


def test_accepting_records_who_what_when_and_whence(stranger, sent, job):
    response = accept(stranger, sent, early_start="on")
    assert response.status_code == 302
    assert_private(response)
    decision = Decision.objects.get()
    assert (decision.answer, decision.option, decision.typed_name) == ("accepted", "Wall and void", "Ada Pell")
    assert (decision.agreed_terms, decision.early_start) == (True, True)
    assert decision.document_hash == sent.revision.document_hash
    assert (decision.address, decision.browser) == ("127.0.0.1", "Test browser")
    assert decision.scheme.name == "Wall and void"
    job.refresh_from_db()
    assert job.stage == "accepted"
    assert AuditEntry.objects.filter(action="Quote accepted by the customer").exists()
    page = stranger.get(url(sent)).content.decode()
    assert "Ada Pell accepted “Wall and void”" in page
    assert "Accept this proposal" not in page


def test_both_sides_get_a_copy(stranger, sent, job, firm):
    mail.outbox.clear()
    accept(stranger, sent)
    assert {message.to[0] for message in mail.outbox} == {job.property.customer.email, firm.email}
    for message in mail.outbox:
        name, body, kind = message.attachments[0]
        assert (name, kind) == (f"proposal-{job.number}-1.pdf", "application/pdf")
        assert body.startswith(b"%PDF")


def test_the_floor_above_hears_of_it_once_and_cannot_undo_it(stranger, sent):
    heard = []

    def listen(sender, decision, **kwargs):
        heard.append(decision.option)
        raise RuntimeError("the listener stumbled")

    signals.accepted.connect(listen)
    try:
        accept(stranger, sent)
        accept(stranger, sent)
    finally:
        signals.accepted.disconnect(listen)
    assert heard == ["Wall and void"]
    assert Decision.objects.count() == 1


@pytest.mark.parametrize(
    ("missing", "message"),
    [
        ("option", "Choose one of the options."),
        ("typed_name", "Type your full name."),
        ("agreed_terms", "Tick this to accept."),
    ],
)
def test_what_is_missing_is_said_and_what_was_given_is_kept(stranger, sent, missing, message):
    response = accept(stranger, sent, early_start="on", **{missing: None})
    text = response.content.decode()
    assert response.status_code == 200
    assert message in text
    if missing != "typed_name":
        assert 'value="Ada Pell"' in text
    assert ticked(text) == 3 - (missing in ("option", "agreed_terms"))
    assert not Decision.objects.exists()
    assert_private(response)


def test_an_option_that_was_not_offered_is_refused(stranger, sent):
    assert "Choose one of the options." in accept(stranger, sent, option="9").content.decode()
    assert not Decision.objects.exists()


def test_one_option_needs_no_choosing(stranger, job, sender):
    job.schemes.last().delete()
    sent = services.send(job=job, user=sender, valid_days=30)
    assert 'type="radio"' not in stranger.get(url(sent)).content.decode()
    accept(stranger, sent, option=None)
    assert Decision.objects.get().option == "Party wall"


def test_accepting_twice_keeps_the_first(stranger, sent):
    accept(stranger, sent)
    response = accept(stranger, sent, typed_name="Somebody Else", option="1")
    assert response.status_code == 302
    assert Decision.objects.get().typed_name == "Ada Pell"
    assert "Ada Pell accepted" in stranger.get(url(sent)).content.decode()


def test_accepting_without_a_cookie_or_token_of_the_site_works(sent):
    # Under no-referrer a browser sends "Origin: null", which the usual check of the site would refuse.
    from django.test import Client

    client = Client(enforce_csrf_checks=True)
    response = client.post(url(sent, "proposal-accept"), ACCEPTANCE, headers={"origin": "null"})
    assert response.status_code == 302
    assert Decision.objects.count() == 1


def test_declining_with_a_reason(stranger, sent, job, firm):
    mail.outbox.clear()
    stranger.post(url(sent, "proposal-decline"), {"reason": "Too much depth lost."})
    decision = Decision.objects.get()
    assert (decision.answer, decision.reason) == ("declined", "Too much depth lost.")
    assert Revision.objects.get().status == Revision.Status.DECLINED
    assert [message.to for message in mail.outbox] == [[firm.email]]
    page = stranger.get(url(sent)).content.decode()
    assert "Declined" in page and "Accept this proposal" not in page
    accept(stranger, sent)
    assert Decision.objects.get().answer == "declined"


def test_an_unknown_link(stranger, db):
    response = stranger.get(reverse("quotes:proposal", args=["x" * 43]))
    assert response.status_code == 404
    assert "This link opens nothing" in response.content.decode()
    assert_private(response)


@pytest.mark.parametrize("name", ["proposal", "proposal-pdf"])
def test_a_revoked_link(stranger, sent, sender, name):
    services.link_revoke(link=sent.link, user=sender)
    response = stranger.get(url(sent, name))
    assert response.status_code == 410
    assert "This link has been closed" in response.content.decode()
    assert_private(response)
    accept(stranger, sent)
    assert not Decision.objects.exists()


def test_an_expired_link(stranger, sent):
    ProposalLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    response = stranger.get(url(sent))
    assert response.status_code == 410
    assert "This proposal has run out" in response.content.decode()
    assert accept(stranger, sent).status_code == 410
    assert not Decision.objects.exists()


def test_a_superseded_link_points_to_the_newer(stranger, sent, job, sender):
    services.send(job=job, user=sender, valid_days=30)
    response = stranger.get(url(sent))
    assert "There is a newer proposal" in response.content.decode()
    accept(stranger, sent)
    assert not Decision.objects.exists()


def test_an_accepted_proposal_stays_readable_after_the_price_would_have_run_out(stranger, sent):
    accept(stranger, sent)
    sent.link.refresh_from_db()
    assert sent.link.expires_at > timezone.now() + timedelta(days=300)


def test_a_document_that_was_tampered_with_is_not_accepted(sent):
    document = sent.revision.document | {"terms": "Other terms"}
    Revision.objects.update(document=document)
    with pytest.raises(RuntimeError, match="hash does not match"):
        services.accept(
            link=sent.link, option_key="1", typed_name="A", agreed_terms=True, early_start=False, address="", browser=""
        )
    assert not Decision.objects.exists()


def test_a_document_that_was_tampered_with_is_neither_shown_nor_answered(stranger, office, sent):
    page = reverse("quotes:revision", args=[sent.revision.pk])
    told = office.get(page).content.decode()
    assert "Worked out anew just now: the same" in told
    Revision.objects.update(document=sent.revision.document | {"terms": "Other terms"})
    for response in (stranger.get(url(sent)), stranger.get(url(sent, "proposal-pdf")), accept(stranger, sent)):
        assert response.status_code == 409
        text = response.content.decode()
        assert "needs a look from us" in text and "Other terms" not in text
        assert_private(response)
    assert not Decision.objects.exists()
    told = office.get(page).content.decode()
    assert "Does not fit what is kept now" in told and "What is kept of this quote is not what was sent" in told


def test_anyone_can_work_the_hash_out_anew_from_the_file_of_what_was_shown(office, stranger, sent):
    accept(stranger, sent)
    response = office.get(reverse("quotes:revision-shown", args=[sent.revision.pk]))
    assert "attachment" in response["Content-Disposition"]
    assert hashlib.sha256(response.content).hexdigest() == Decision.objects.get().document_hash
    assert json.loads(response.content) == sent.revision.document


def test_who_answers_second_is_told_so_but_not_who_taps_twice(stranger, sent):
    first = "Another answer came first"
    accept(stranger, sent)
    again = accept(stranger, sent)
    assert first not in stranger.get(again.url).content.decode()
    for late in (
        accept(stranger, sent, typed_name="Bo Pell"),
        accept(stranger, sent, option="1"),
        accept(stranger, sent, early_start="on"),
        accept(stranger, sent, agreed_terms=None),
        stranger.post(url(sent, "proposal-decline"), {"reason": ""}),
    ):
        text = stranger.get(late.url).content.decode()
        assert first in text and "Ada Pell accepted" in text
    assert Decision.objects.count() == 1


def test_who_answers_a_replaced_proposal_is_told_that_nothing_was_ordered(stranger, sent, job, sender):
    services.send(job=job, user=sender, valid_days=30)
    text = accept(stranger, sent).content.decode()
    assert "There is a newer proposal" in text and "What you sent just now was not taken" in text
    assert "was not taken" not in stranger.get(url(sent)).content.decode()


def test_the_letter_repeats_all_that_was_told_of_a_noise(stranger, job, sender):
    job.noises.create(
        kind="music",
        comes_from="the flat above",
        heard_in="the bedroom",
        strongest_at="by the chimney",
        times="Friday nights",
        words="none",
        is_felt=True,
        direction="both",
    )
    text = stranger.get(url(services.send(job=job, user=sender, valid_days=30))).content.decode()
    for told in (
        "Music with bass",
        "from: the flat above",
        "heard in: the bedroom",
        "strongest: by the chimney",
        "when: Friday nights",
        "no words heard",
        "felt as a tremble too",
        "goes both ways",
        "comes in to you",
    ):
        assert told in text, told


def test_the_letter_makes_a_fixed_number_of_queries(stranger, sent, count_queries):
    assert count_queries(stranger, url(sent)) == 3  # the link with its revision, the note that it was opened, questions
