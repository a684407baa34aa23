"""Freezing a quote: what goes in, what never does, numbers, links and mails."""

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core import mail
from django.utils import timezone

from contractor.accounts.models import AuditEntry
from contractor.common.links import token_hash
from contractor.quotes import services
from contractor.quotes.document import fingerprint
from contractor.quotes.document_rooms import whole_percents
from contractor.quotes.models import ExtraLine, Revision
from contractor.quotes.selectors import Standing, standing_of
from contractor.rooms.models import Calculation
from tests.factories import JobFactory
from tests.quotes.results import calculated_scheme, face, predictions, takeoff


def test_document_holds_what_the_homeowner_is_shown(sent, job):
    document = sent.revision.document
    assert document["quote"]["reference"] == f"{job.number}/1"
    assert document["firm"]["name"] == "Tannery Yard Quiet Rooms"
    assert document["heard"] == [
        {
            "noise": "Talking",
            "details": ["from: next door", "heard in: the back bedroom", "some words", "comes in to you"],
        }
    ]
    assert [option["name"] for option in document["options"]] == ["Party wall", "Wall and void"]
    option = document["options"][0]
    assert option["treatments"][0]["words"] == "A frame that stands clear of the wall"
    assert option["treatments"][0]["places"] == [{"where": "Back bedroom: B Party wall 1", "depth_mm": "97.5"}]
    assert option["rooms"][0]["prediction"]["after"]["weighted_db"] == 53
    assert option["rooms"][0]["words"][0]["noise"] == "Normal talking next door"
    assert document["rooms"][0]["ways_in"][0] == {"name": "Party wall, straight through", "percent": 62}
    assert document["exclusions"] == ["Removal of asbestos", "Decoration"]
    assert document["engine_version"] == "1.0"
    assert Decimal(option["deposit"]) + Decimal(option["balance"]) == Decimal(option["total"])


def test_lines_of_the_document_add_up(sent):
    for option in sent.revision.document["options"]:
        nets = [Decimal(line["net"]) for section in option["sections"] for line in section["lines"]]
        assert sum(nets) == Decimal(option["net"])
        assert Decimal(option["net"]) + Decimal(option["vat_total"]) == Decimal(option["total"])


def test_hash_is_of_the_document_as_the_database_gives_it_back(sent):
    revision = Revision.objects.get(pk=sent.revision.pk)
    assert fingerprint(revision.document) == revision.document_hash
    changed = json.loads(json.dumps(revision.document))
    changed["options"][0]["total"] = "1.00"
    assert fingerprint(changed) != revision.document_hash


def test_cost_and_margin_stand_in_internal_only(sent):
    internal = sent.revision.internal["options"][0]
    text = json.dumps(sent.revision.document).lower()
    for amount in (internal["cost"], internal["margin"], internal["margin_percent"]):
        assert amount not in text
    for word in ("margin", "markup", "profit", "overhead", "trace", "rate_key", "17.5", "23.5", "38.00"):
        assert word not in text, word


def test_only_the_hash_of_the_token_is_kept(sent):
    assert len(sent.token) >= 43  # 32 bytes in base64
    assert sent.link.token_hash == token_hash(sent.token)
    everything = json.dumps([sent.revision.document, sent.revision.internal], default=str)
    everything += json.dumps(list(sent.revision.job.messages.values()), default=str)
    assert sent.token not in everything
    assert not AuditEntry.objects.filter(detail__icontains=sent.token).exists()


def test_customer_gets_the_link_by_mail(sent, job, settings):
    (message,) = mail.outbox
    assert message.to == [job.property.customer.email]
    assert f"{settings.SITE_URL}/p/{sent.token}/" in message.body
    assert sent.emailed_to == job.property.customer.email


def test_without_an_address_nothing_is_mailed(job, sender):
    job.property.customer.email = ""
    job.property.customer.save()
    assert services.send(job=job, user=sender, valid_days=30).emailed_to == ""
    assert mail.outbox == []


def test_a_mail_that_fails_leaves_the_quote_sent_and_says_so(job, sender, monkeypatch):
    def refuse(self, *args, **kwargs):
        raise OSError("no such host")

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.open", refuse, raising=False)
    sent = services.send(job=job, user=sender, valid_days=30)
    assert sent.revision.status == Revision.Status.SENT
    message = job.messages.get()
    assert (message.state, message.problem) == ("waiting", "no such host")


def test_sending_again_supersedes_and_counts_on(sent, job, sender):
    again = services.send(job=job, user=sender, valid_days=30)
    first = Revision.objects.get(pk=sent.revision.pk)
    assert (again.revision.number, first.status) == (2, Revision.Status.SUPERSEDED)
    assert first.document == sent.revision.document
    sent.link.refresh_from_db()
    assert standing_of(sent.link) == Standing.SUPERSEDED


def test_numbers_count_for_each_job(sent, sender):
    other = JobFactory()
    calculated_scheme(other)
    assert services.send(job=other, user=sender, valid_days=30).revision.number == 1


def test_job_moves_on_and_the_record_tells(sent, job, sender):
    job.refresh_from_db()
    assert job.stage == "sent"
    assert AuditEntry.objects.filter(action="Quote sent", user=sender).count() == 1


def test_price_stands_for_the_days_given_and_the_link_to_the_end_of_the_last(sent):
    last = timezone.localdate() + timedelta(days=30)
    assert sent.revision.valid_until == last
    assert timezone.localtime(sent.link.expires_at - timedelta(seconds=1)).date() == last


@pytest.mark.parametrize("known", [0, 5])
def test_a_sending_in_between_is_refused(job, sender, known):
    services.send(job=job, user=sender, valid_days=30)
    with pytest.raises(services.Refused, match="a moment ago"):
        services.send(job=job, user=sender, valid_days=30, after_number=known)


def test_nothing_to_send(firm, standing_calculations, sender):
    job = JobFactory()
    with pytest.raises(services.Refused, match="no option"):
        services.send(job=job, user=sender, valid_days=30)
    calculated_scheme(job, takeoff_json=takeoff([]))
    with pytest.raises(services.Refused, match="has no price"):
        services.send(job=job, user=sender, valid_days=30)


def test_parts_without_a_price_are_left_out_only_on_purpose_and_named(job, sender):
    faces = [face(), face(2, problem="The wall is taller than the longest board.")]
    Calculation.objects.filter(scheme=job.schemes.first()).update(takeoff=takeoff(faces))
    with pytest.raises(services.Refused, match="not complete"):
        services.send(job=job, user=sender, valid_days=30)
    sent = services.send(job=job, user=sender, valid_days=30, leave_out_unpriced=True)
    assert sent.revision.document["options"][0]["not_included"] == [
        "Back bedroom, B Party wall 2: Independent steel lining, two dense boards"
    ]


def test_an_extra_line_stands_in_its_option_only(job, sender):
    second = job.schemes.last()
    ExtraLine.objects.create(job=job, section="testing", description="Sound test", unit_price=Decimal("95"))
    ExtraLine.objects.create(
        job=job, scheme=second, section="waste", description="Skip", unit_price=Decimal("180"), vat_percent=5
    )
    one, two = services.send(job=job, user=sender, valid_days=30).revision.document["options"]
    assert [section["label"] for section in one["sections"]][-1] == "Testing"
    assert "Waste" in [section["label"] for section in two["sections"]]
    assert [band["percent"] for band in two["vat"]] == ["20", "5"]


def test_after_acceptance_nothing_more_is_sent(sent, job, sender):
    services.accept(
        link=sent.link, option_key="1", typed_name="A B", agreed_terms=True, early_start=False, address="", browser=""
    )
    with pytest.raises(services.Refused, match="variation"):
        services.send(job=job, user=sender, valid_days=30)


def test_a_further_link_opens_the_same_revision_and_a_revoked_one_nothing(sent, sender):
    token = services.link_new(revision=sent.revision, user=sender)
    assert token_hash(token) != sent.link.token_hash
    services.link_revoke(link=sent.link, user=sender)
    first, second = sent.revision.links.order_by("pk")
    assert (standing_of(first), standing_of(second)) == (Standing.REVOKED, Standing.OPEN)


def test_shares_as_whole_percents_add_up_to_a_hundred():
    assert whole_percents([0.335, 0.335, 0.33]) == [34, 33, 33]
    assert sum(whole_percents([1 / 7] * 7)) == 100
    assert whole_percents([]) == []


def test_remarks_on_the_model_stay_in_the_office_and_the_rest_is_put_plainly(job, sender):
    stored = predictions()
    stored["1"]["notices"] = [
        {"code": "not_validated", "text": "No published measurement was found."},
        {"code": "worse_low", "text": "Below 200 Hz the treatment makes some bands worse."},
    ]
    Calculation.objects.filter(scheme__job=job).update(predictions=stored)
    room = services.send(job=job, user=sender, valid_days=30).revision.document["options"][0]["rooms"][0]
    assert room["notices"] == ["Some low notes may come through a little more than today."]
    assert room["limit_text"].endswith("comes by this way: Joined floor void.")
