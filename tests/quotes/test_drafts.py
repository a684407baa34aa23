"""The draft: what changes after the office looked at it is told line by line, waits, and is never sent in silence."""

import re

import pytest
from django.urls import reverse

from contractor.quotes import services
from contractor.quotes.models import Discount, Draft, ExtraLine, LineOverride, Revision
from contractor.quotes.options import options_of
from contractor.rooms.models import Calculation
from tests.quotes.results import face, takeoff

LINE = {"section": "waste", "description": "Skip", "quantity": "1", "unit": "item", "unit_price": "90"}
LINE |= {"vat_percent": "20", "vat_reason": "standard"}
WAITS = "The draft waits to be brought up to date"


def quote_page(client, job):
    return client.get(reverse("quotes:quote", args=[job.number])).content.decode()


def survey_changes(job, quantity="9.60"):
    """The wall is measured again and comes out longer."""
    Calculation.objects.filter(scheme=job.schemes.first()).update(takeoff=takeoff([face(quantity=quantity)]))


def bring_up_to_date(client, job, page):
    seen = re.search(r'name="seen" value="(\w+)"', page)[1]
    return client.post(reverse("quotes:up-to-date", args=[job.number]), {"seen": seen}, follow=True).content.decode()


@pytest.fixture
def looked_at(office, job):
    assert WAITS not in quote_page(office, job)
    return Draft.objects.get()


def test_what_changed_is_told_line_by_line_and_waits(office, job, looked_at):
    survey_changes(job)
    page = quote_page(office, job)
    assert WAITS in page
    assert "8.64 m² → 9.6" in re.sub(r"\s+", " ", page)
    assert WAITS in quote_page(office, job)  # looking alone changes nothing
    assert WAITS not in bring_up_to_date(office, job, page)
    assert WAITS not in quote_page(office, job)


def test_nothing_that_changed_is_sent_in_silence(office, job, looked_at):
    page = quote_page(office, job)
    survey_changes(job)
    form = {"valid_days": "30", "after_number": "0"}
    page = office.post(reverse("quotes:send", args=[job.number]), form).content.decode()
    assert "Something changed since the draft was last brought up to date" in page and WAITS in page
    assert not Revision.objects.exists()
    bring_up_to_date(office, job, page)
    office.post(reverse("quotes:send", args=[job.number]), form)
    assert Revision.objects.get().document["options"][0]["sections"]
    assert not Draft.objects.exists()  # from now on changes are told against what was sent


def test_what_was_not_seen_is_not_brought_up_to_date(office, job, looked_at):
    survey_changes(job)
    page = quote_page(office, job)
    survey_changes(job, "10.20")
    answer = bring_up_to_date(office, job, page)
    assert "It changed again in the meantime" in answer and WAITS in answer
    assert Draft.objects.get().document == looked_at.document


def test_what_the_office_sets_by_hand_is_no_surprise(office, job, looked_at, sender):
    office.post(reverse("quotes:line-new", args=[job.number]), LINE)
    office.post(reverse("quotes:discount-new", args=[job.number]), {"percent": "5", "reason": "Empty week"})
    vat = {"vat_percent": "5", "vat_reason": "empty_two_years", "vat_evidence": "Letter"}
    office.post(reverse("quotes:vat", args=[job.number]), vat)
    option = options_of(job)[0]
    line = next(line for line in option.priced.lines if line.section == "linings")
    url = reverse("quotes:line-override", args=[job.number, option.scheme.pk, line.key])
    office.post(url, {"unit_price": "150", "reason": "Agreed"})
    assert WAITS not in quote_page(office, job)
    office.post(reverse("quotes:line", args=[ExtraLine.objects.get().pk]), LINE | {"unit_price": "95"})
    office.post(reverse("quotes:override-take-back", args=[LineOverride.objects.get().pk]))
    office.post(reverse("quotes:discount-delete", args=[Discount.objects.get().pk]))
    office.post(reverse("quotes:line-delete", args=[ExtraLine.objects.get().pk]))
    assert WAITS not in quote_page(office, job)
    assert services.send(job=job, user=sender, valid_days=30).revision.number == 1


def test_a_hand_edit_does_not_hide_what_the_survey_changed(office, job, looked_at):
    survey_changes(job)
    office.post(reverse("quotes:line-new", args=[job.number]), LINE)
    page = quote_page(office, job)
    assert WAITS in page and "8.64 m² → 9.6" in re.sub(r"\s+", " ", page)
    assert ExtraLine.objects.exists()


def test_a_preview_is_not_laid_down_as_a_draft(office, job):
    Calculation.objects.update(takeoff=takeoff() | {"is_preview": True})
    quote_page(office, job)
    assert not Draft.objects.exists()


def test_an_accepted_quote_has_no_draft_to_send(office, job, sender):
    sent = services.send(job=job, user=sender, valid_days=30)
    answer = {"typed_name": "Ada Pell", "agreed_terms": True, "early_start": False, "address": "", "browser": ""}
    services.accept(link=sent.link, option_key="1", **answer)
    survey_changes(job)
    page = quote_page(office, job)
    assert WAITS not in page and "What was accepted stays as it was." in page
    assert not Draft.objects.exists()


def test_any_sent_quote_can_be_set_against_today(office, fitter, job, sender, count_queries):
    first = services.send(job=job, user=sender, valid_days=30).revision
    services.send(job=job, user=sender, valid_days=30)
    url = reverse("quotes:against-draft", args=[first.pk])
    assert "The same prices, predictions and terms." in office.get(url).content.decode()
    survey_changes(job)
    page = re.sub(r"\s+", " ", office.get(url).content.decode())
    assert "8.64 m² → 9.6" in page and "Superseded" in page
    assert url in office.get(reverse("quotes:revision", args=[first.pk])).content.decode()
    assert fitter.get(url).status_code == 403
    one = count_queries(office, url)
    services.send(job=job, user=sender, valid_days=30)
    assert count_queries(office, url) == one
