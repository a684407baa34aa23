"""Rules of the survey in the quote: what was set aside, what must not be built, what contradicts a caution."""

import json

import pytest
from django.urls import reverse

from contractor.accounts.selectors import the_firm
from contractor.catalogue.models import Construction
from contractor.catalogue.services import load_seed
from contractor.jobs.services import gate_update
from contractor.quotes.gaps import gaps_of
from contractor.quotes.options import options_of
from contractor.quotes.services import send
from contractor.rooms.inputs import build_ups_with_layers
from contractor.rooms.rules.book import shipped
from contractor.rooms.services import override_withdraw, rule_set_aside
from tests.factories import PatchFactory, RoomFactory, SchemeFactory, SurfaceFactory, TreatmentFactory, UserFactory

pytestmark = pytest.mark.django_db
REASON = "The landlord forbids taking it off"


@pytest.fixture
def patch(job):
    wall = SurfaceFactory(room=RoomFactory(job=job, name="Study"), letter="B", name="Party wall")
    return PatchFactory(surface=wall, condition="board_on_dabs")


def said(job):
    return [gap.text for gap in gaps_of(job, the_firm(), [])]


def test_a_rule_set_aside_is_told_before_sending_until_it_holds_again(job, patch):
    override = rule_set_aside(place=patch, rule=shipped()["board-on-dabs-off"], reason=REASON, by=UserFactory())
    (text,) = [text for text in said(job) if REASON in text]
    assert text.startswith("Study, B Party wall, Whole wall: “Board on dabs comes off” is set aside by Sam")
    override_withdraw(override=override, by=UserFactory())
    assert not [text for text in said(job) if REASON in text]


def test_it_is_frozen_with_what_was_sent_for_the_office_alone(office, stranger, job, patch):
    override = rule_set_aside(place=patch, rule=shipped()["board-on-dabs-off"], reason=REASON, by=UserFactory())
    sent = send(job=job, user=UserFactory(), valid_days=30)
    override_withdraw(override=override, by=UserFactory())

    sent.revision.refresh_from_db()
    (kept,) = sent.revision.internal["set_aside"]
    assert (kept["rule"], kept["reason"]) == ("Board on dabs comes off", REASON)
    assert REASON not in json.dumps(sent.revision.document)
    assert REASON in office.get(reverse("quotes:revision", args=[sent.revision.pk])).content.decode()
    assert REASON not in stranger.get(reverse("quotes:proposal", args=[sent.token])).content.decode()


def test_what_must_not_be_built_is_told_with_its_reason_and_where_to_set_it_aside(office, firm):
    load_seed()
    stud = Construction.objects.get(key="stud-partition")
    wall = SurfaceFactory(letter="B", name="Party wall")
    patch = PatchFactory(surface=wall, construction=stud, condition="board")
    lining = build_ups_with_layers().get(key="independent-steel-lining-95")
    job = wall.room.job
    TreatmentFactory(scheme=SchemeFactory(job=job, name="Deep"), patch=patch, build_up=lining)

    def told():
        found = gaps_of(job, firm, options_of(job))
        return [gap for gap in found if "must not be built here" in gap.text]

    assert [gap.url.rsplit("/", 2)[1] for gap in told()] == ["no-triple-leaf", "damp-a-ringing-base"]
    assert told()[0].text.startswith("Deep. B Party wall, Whole wall: ") and "triple leaf" in told()[0].text
    assert all(office.get(gap.url).status_code == 200 for gap in told())

    for rule in ("no-triple-leaf", "damp-a-ringing-base"):
        rule_set_aside(place=patch, rule=shipped()[rule], reason=REASON, by=UserFactory())
    assert told() == []


def test_a_caution_waved_away_against_what_was_found_is_told(job, patch):
    gate_update(job=job, kind="asbestos", by=None, need="not_needed", evidence="They say so")
    assert any(text.startswith("Asbestos is written down as not needed, yet: The home was built") for text in said(job))
    gate_update(job=job, kind="asbestos", by=None, need="needed")
    assert not any("written down as not needed" in text for text in said(job))


def test_every_gap_leads_to_a_page(office, job, patch):
    job.property.customer.email = ""
    firm = the_firm()
    firm.address = firm.terms = firm.vat_number = ""
    found = gaps_of(job, firm, [])
    assert len(found) >= 5
    assert {gap.url: office.get(gap.url).status_code for gap in found} == {gap.url: 200 for gap in found}
