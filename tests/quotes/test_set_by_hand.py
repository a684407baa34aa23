"""Overrides, discounts and rates of VAT on the office's pages, and that their inner side reaches nobody else."""

import json
from decimal import Decimal

import pytest
from django.urls import reverse

from contractor.billing.reckoning import total
from contractor.billing.selectors import contract_of
from contractor.quotes import paper, services
from contractor.quotes.models import Discount, ExtraLine, LineOverride, Revision, VatBasis
from contractor.quotes.options import options_of
from contractor.rooms.models import Calculation
from tests.quotes.results import face, takeoff

REASON = "Matched what was said on the doorstep"


def quote_page(client, job):
    return client.get(reverse("quotes:quote", args=[job.number])).content.decode()


def lining(job):
    option = options_of(job)[0]
    return option.scheme, next(line for line in option.priced.lines if line.section == "linings")


def override_url(job):
    scheme, line = lining(job)
    return reverse("quotes:line-override", args=[job.number, scheme.pk, line.key])


@pytest.fixture
def overridden(office, job):
    office.post(override_url(job), {"unit_price": "150", "reason": REASON})
    return LineOverride.objects.get()


def test_a_line_is_set_shown_with_what_it_was_and_taken_back(office, job, overridden):
    before, after = overridden.was_unit_price, lining(job)[1].unit_price
    assert after == Decimal("150.00") != before
    text = quote_page(office, job)
    for words in (REASON, f"£{before}", "£150.00", "Set by hand", "As worked out", overridden.made_by.display_name):
        assert words in text
    office.post(reverse("quotes:override-take-back", args=[overridden.pk]))
    assert lining(job)[1].unit_price == before
    assert REASON not in quote_page(office, job)


@pytest.mark.parametrize(
    ("data", "field", "message"),
    [
        ({"unit_price": "150", "reason": ""}, "reason", "Say why"),
        ({"reason": REASON}, "quantity", "Set a quantity or a unit price"),
        ({"quantity": "8.64", "reason": REASON}, "quantity", "other than the one worked out"),
        ({"quantity": "lots", "reason": REASON}, "quantity", "Enter a number."),
    ],
)
def test_a_wrong_override_says_why_and_keeps_what_was_typed(office, job, data, field, message):
    response = office.post(override_url(job), data)
    assert message in response.context["form"].errors[field][0]
    if field != "reason":
        assert REASON in response.content.decode()
    assert not LineOverride.objects.exists()


def test_a_line_that_is_not_there_is_not_found(office, job):
    url = reverse("quotes:line-override", args=[job.number, job.schemes.first().pk, "lining-000000000000"])
    assert office.get(url).status_code == 404


def test_an_override_whose_line_is_gone_is_told(office, job, overridden):
    other = takeoff([face(build_up_key="twin-frame", build_up="Twin frame")])
    Calculation.objects.filter(scheme=overridden.scheme).update(takeoff=other)
    text = quote_page(office, job)
    assert "Set by hand on a line that is gone" in text
    assert "The line is gone that was set by hand" in text
    assert LineOverride.objects.exists()


def test_an_override_whose_line_has_moved_is_told(office, job, overridden):
    assert "worked out otherwise since it was set by hand" not in quote_page(office, job)
    Calculation.objects.filter(scheme=overridden.scheme).update(takeoff=takeoff([face(quantity="9.60")]))
    assert "worked out otherwise since it was set by hand" in quote_page(office, job)


def test_a_discount_is_given_changed_and_taken_back(office, job):
    before = [option.priced.net for option in options_of(job)]
    form = {"percent": "10", "amount": "", "reason": "Empty week in May", "scheme": job.schemes.first().pk}
    office.post(reverse("quotes:discount-new", args=[job.number]), form)
    first, second = (option.priced for option in options_of(job))
    assert (first.net, second.net) == (before[0] - (before[0] / 10).quantize(Decimal("0.01")), before[1])
    assert "Empty week in May" in quote_page(office, job)
    discount = Discount.objects.get()
    office.post(reverse("quotes:discount", args=[discount.pk]), form | {"percent": "", "amount": "50", "scheme": ""})
    assert [option.priced.net for option in options_of(job)] == [net - 50 for net in before]
    office.post(reverse("quotes:discount-delete", args=[discount.pk]))
    assert [option.priced.net for option in options_of(job)] == before


@pytest.mark.parametrize("wrong", [{"percent": "5", "amount": "50"}, {}, {"percent": "101"}, {"percent": "0"}])
def test_a_discount_is_a_percentage_or_a_sum(office, job, wrong):
    response = office.post(reverse("quotes:discount-new", args=[job.number]), wrong | {"reason": "Empty week"})
    assert "percent" in response.context["form"].errors
    assert "Empty week" in response.content.decode()
    assert not Discount.objects.exists()


def test_the_jobs_rate_of_vat_needs_a_reason_and_evidence(office, job):
    url = reverse("quotes:vat", args=[job.number])
    assert 'value="20"' in office.get(url).content.decode()  # as people write it
    refused = office.post(url, {"vat_percent": "5", "vat_reason": "standard", "vat_evidence": ""})
    assert "vat_reason" in refused.context["form"].errors
    refused = office.post(url, {"vat_percent": "5", "vat_reason": "empty_two_years", "vat_evidence": ""})
    assert "vat_evidence" in refused.context["form"].errors
    assert not VatBasis.objects.exists()
    office.post(url, {"vat_percent": "5", "vat_reason": "empty_two_years", "vat_evidence": "Letter of 3 May"})
    priced = options_of(job)[0].priced
    assert [band.percent for band in priced.vat_bands] == [5]
    assert all("Letter of 3 May" in line.trace[-1].working for line in priced.lines)
    office.post(url, {"vat_percent": "20", "vat_reason": "standard", "vat_evidence": ""})
    assert not VatBasis.objects.exists()


def test_a_line_by_hand_at_another_rate_needs_a_reason_and_evidence(office, job):
    url = reverse("quotes:line-new", args=[job.number])
    line = {"section": "waste", "description": "Skip", "quantity": "1", "unit": "item", "unit_price": "90"}
    response = office.post(url, line | {"vat_percent": "0", "vat_reason": "standard"})
    assert "vat_reason" in response.context["form"].errors
    assert 'value="Skip"' in response.content.decode()
    office.post(url, line | {"vat_percent": "0", "vat_reason": "outside", "vat_evidence": "Council's own charge"})
    assert ExtraLine.objects.get().vat_evidence == "Council's own charge"
    assert "Outside the scope of VAT. Council&#x27;s own charge" in quote_page(office, job)


def test_what_is_sent_holds_the_discount_but_no_cost_reason_or_trace(office, job, sender, overridden):
    Discount.objects.create(job=job, percent=5, reason="Empty week in May", made_by=sender)
    sent = services.send(job=job, user=sender, valid_days=30)
    document = json.dumps(sent.revision.document)
    assert "Empty week in May" in document and '"150.00"' in document
    for inner in (REASON, "Set by hand", "As worked out", "trace", '"cost"', "margin", "markup"):
        assert inner not in document
    assert REASON in json.dumps(sent.revision.internal)
    letter = office.get(reverse("quotes:proposal", args=[sent.token])).content.decode()
    printed = json.dumps(paper.shown(sent.revision, None)["options"])
    for shown in (letter, printed):
        assert "Empty week in May" in shown
        assert REASON not in shown


def test_the_office_still_sees_how_a_sent_line_came_about(office, job, sender, overridden):
    sent = services.send(job=job, user=sender, valid_days=30)
    text = office.get(reverse("quotes:revision", args=[sent.revision.pk])).content.decode()
    for words in (REASON, "20.30 h × £38.00", "As worked out"):
        assert words in text


def test_the_contract_is_the_price_after_the_discount(job, sender, overridden):
    Discount.objects.create(job=job, amount=100, reason="Empty week in May", made_by=sender)
    sent = services.send(job=job, user=sender, valid_days=30)
    answer = {"typed_name": "Ada Pell", "agreed_terms": True, "early_start": False, "address": "", "browser": ""}
    services.accept(link=sent.link, option_key="1", **answer)
    assert total(contract_of(job).bands) == options_of(job)[0].priced.total


@pytest.mark.parametrize("name", ["discount-new", "vat"])
def test_fitters_are_kept_out(fitter, job, name):
    assert fitter.get(reverse(f"quotes:{name}", args=[job.number])).status_code == 403


def test_fitters_open_no_override_and_no_difference(fitter, office, job, sender, overridden):
    sent = services.send(job=job, user=sender, valid_days=30)
    assert fitter.get(override_url(job)).status_code == 403
    assert fitter.get(reverse("quotes:against", args=[sent.revision.pk] * 2)).status_code == 403


def test_overrides_and_discounts_add_no_queries(office, job, sender, overridden, count_queries):
    url = reverse("quotes:quote", args=[job.number])
    office.get(url)  # the first look lays the draft down
    one = count_queries(office, url)
    for scheme in job.schemes.all():
        for key in ("preliminaries", "boxes"):
            LineOverride.objects.create(
                scheme=scheme,
                line_key=key,
                line_name=key,
                unit_price=90,
                was_quantity=1,
                was_unit_price=100,
                reason="x",
                made_by=sender,
            )
        Discount.objects.create(job=job, scheme=scheme, percent=5, reason="x", made_by=sender)
    assert count_queries(office, url) == one
    assert Revision.objects.count() == 0


def test_the_customer_reads_why_a_rate_applies_but_not_what_proves_it(stranger, job, sender):
    VatBasis.objects.create(
        job=job, vat_percent=5, vat_reason="empty_two_years", vat_evidence="Letter of 3 May", decided_by=sender
    )
    ExtraLine.objects.create(
        job=job,
        section="waste",
        description="Skip",
        unit_price=90,
        vat_percent=0,
        vat_reason="other",
        vat_evidence="Own",
    )
    sent = services.send(job=job, user=sender, valid_days=30)
    bands = {band["percent"]: band["why"] for band in sent.revision.document["options"][0]["vat"]}
    assert bands == {"5": ["Home not lived in for two years before the start"], "0": []}
    letter = stranger.get(reverse("quotes:proposal", args=[sent.token])).content.decode()
    assert "Home not lived in for two years before the start" in letter and "Letter of 3 May" not in letter
    assert "VAT is worked out once for each rate" in letter
