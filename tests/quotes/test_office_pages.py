"""The office's pages: the quote as it stands, lines by hand, sending, and a revision with its links."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from contractor.quotes import services
from contractor.quotes.models import Draft, ExtraLine, Revision
from contractor.rooms.models import Calculation
from tests.factories import JobFactory
from tests.quotes.results import calculated_scheme, face, takeoff

LINE = {
    "section": "waste",
    "description": "Skip",
    "quantity": "2",
    "unit": "bag",
    "unit_price": "£180.00",
    "vat_percent": "20",
    "scheme": "",
}


def quote_url(job):
    return reverse("quotes:quote", args=[job.number])


def test_quote_page_shows_options_lines_and_how_they_came_about(office, job):
    text = office.get(quote_url(job)).content.decode()
    for words in ("Party wall", "Wall and void", "20.30 h × £38.00", "17.5 % of £412.50", "For the office only"):
        assert words in text


def test_quote_page_names_what_is_missing(office, job, firm):
    faces = [face(), face(2, problem="The wall is taller than the longest board.")]
    Calculation.objects.filter(scheme=job.schemes.first()).update(takeoff=takeoff(faces))
    job.property.customer.email = ""
    job.property.customer.save()
    firm.vat_number = ""
    firm.save()
    text = office.get(quote_url(job)).content.decode()
    assert "B Party wall 2: The wall is taller than the longest board." in text
    assert "No e-mail address for the customer" in text
    assert "no VAT number" in text
    assert "No line for electrics and plumbing, finishing, waste, testing." in text
    assert "Send it although something is missing" in text


def test_a_job_without_options_points_to_the_treatment(office, firm, standing_calculations):
    job = JobFactory()
    text = office.get(quote_url(job)).content.decode()
    assert reverse("rooms:schemes", args=[job.number]) in text
    assert "Freeze and send" not in text


def test_an_unknown_job_is_not_found(office):
    assert office.get(reverse("quotes:quote", args=[999_999])).status_code == 404


def test_a_line_by_hand_is_added_changed_and_taken_off(office, job):
    office.post(reverse("quotes:line-new", args=[job.number]), LINE)
    line = ExtraLine.objects.get()
    assert (line.unit_price, line.quantity, line.job) == (Decimal("180.00"), 2, job)
    assert "Skip" in office.get(quote_url(job)).content.decode()
    office.post(reverse("quotes:line", args=[line.pk]), LINE | {"unit_price": "-50"})
    line.refresh_from_db()
    assert line.unit_price == Decimal("-50.00")
    office.post(reverse("quotes:line-delete", args=[line.pk]))
    assert not ExtraLine.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("quantity", "none", "Enter a number."),
        ("quantity", "0", "greater than or equal to 0.01"),
        ("description", "", "This field is required."),
        ("unit_price", "12.345", "no more than 2 decimal places"),
        ("vat_percent", "120", "less than or equal to 100"),
    ],
)
def test_a_wrong_line_says_why_beside_its_field_and_keeps_the_rest(office, job, field, value, message):
    response = office.post(reverse("quotes:line-new", args=[job.number]), LINE | {field: value})
    assert response.status_code == 200
    assert message in response.context["form"].errors[field][0]
    if field != "description":
        assert 'value="Skip"' in response.content.decode()
    assert not ExtraLine.objects.exists()


def test_a_line_offers_only_the_jobs_own_options(office, job):
    other = calculated_scheme(JobFactory())
    response = office.post(reverse("quotes:line-new", args=[job.number]), LINE | {"scheme": other.pk})
    assert "scheme" in response.context["form"].errors


def test_sending_shows_the_link_once(office, job):
    response = office.post(
        reverse("quotes:send", args=[job.number]), {"valid_days": 30, "after_number": 0, "opening": "Dear both"}
    )
    revision = Revision.objects.get()
    page = reverse("quotes:revision", args=[revision.pk])
    assert response.url == page
    first = office.get(page).content.decode()
    assert "It is shown here once" in first
    assert "/p/" in first
    assert "/p/" not in office.get(page).content.decode()
    assert revision.document["opening"] == "Dear both"
    assert revision.document_hash in first


def test_a_refused_sending_says_why_and_keeps_the_words(office, job, sender):
    services.send(job=job, user=sender, valid_days=30)
    response = office.post(
        reverse("quotes:send", args=[job.number]), {"valid_days": 30, "after_number": 0, "opening": "Dear both"}
    )
    text = response.content.decode()
    assert response.status_code == 200
    assert "was sent a moment ago" in text and "Dear both" in text
    assert Revision.objects.count() == 1


def test_days_out_of_range_are_refused_beside_the_field(office, job):
    response = office.post(reverse("quotes:send", args=[job.number]), {"valid_days": 0, "after_number": 0})
    assert response.context["form"].errors["valid_days"]
    assert not Revision.objects.exists()


def test_revision_page_shows_links_evidence_and_pdf(office, sent):
    services.note_opened(link=sent.link)
    services.accept(
        link=sent.link,
        option_key="1",
        typed_name="Ada Pell",
        agreed_terms=True,
        early_start=True,
        address="192.0.2.7",
        browser="Test browser",
    )
    text = office.get(reverse("quotes:revision", args=[sent.revision.pk])).content.decode()
    for words in ("Ada Pell", "192.0.2.7", "Test browser", "asked to start before", sent.revision.document_hash):
        assert words in text
    pdf = office.get(reverse("quotes:revision-pdf", args=[sent.revision.pk]))
    assert pdf["Content-Type"] == "application/pdf"


def test_a_link_is_made_and_revoked(office, sent):
    page = reverse("quotes:revision", args=[sent.revision.pk])
    office.post(reverse("quotes:link-new", args=[sent.revision.pk]))
    assert sent.revision.links.count() == 2
    assert "/p/" in office.get(page).content.decode()
    office.post(reverse("quotes:link-revoke", args=[sent.link.pk]))
    sent.link.refresh_from_db()
    assert sent.link.revoked_at is not None


def test_no_new_link_to_a_price_that_has_run_out(office, sent):
    Revision.objects.update(valid_until=timezone.localdate() - timedelta(days=1))
    response = office.post(reverse("quotes:link-new", args=[sent.revision.pk]), follow=True)
    assert "Its price has run out" in response.content.decode()
    assert sent.revision.links.count() == 1


@pytest.mark.parametrize("name", ["quote", "line-new"])
def test_fitters_are_kept_out(fitter, job, name):
    assert fitter.get(reverse(f"quotes:{name}", args=[job.number])).status_code == 403


def test_fitters_cannot_open_a_revision(fitter, sent):
    for name in ("revision", "revision-pdf"):
        assert fitter.get(reverse(f"quotes:{name}", args=[sent.revision.pk])).status_code == 403


def test_lines_and_revisions_add_no_queries(office, job, sender, count_queries):
    def fill(times):
        for n in range(times):
            ExtraLine.objects.create(job=job, section="waste", description=f"Bag {n}", unit_price=Decimal("20"))
            Draft.objects.all().delete()  # as if nobody had looked at it before
            services.send(job=job, user=sender, valid_days=30)
        return count_queries(office, quote_url(job))

    assert fill(1) == fill(2)


def test_links_add_no_queries(office, sent, sender, count_queries):
    page = reverse("quotes:revision", args=[sent.revision.pk])
    one = count_queries(office, page)
    services.link_new(revision=sent.revision, user=sender)
    services.link_new(revision=sent.revision, user=sender)
    assert count_queries(office, page) == one


def preview(job):
    first = job.schemes.first()
    Calculation.objects.filter(scheme=first).update(takeoff=takeoff() | {"is_preview": True})
    return first


def test_a_preview_is_marked_and_not_sent_silently(office, job):
    scheme = preview(job)
    text = office.get(quote_url(job)).content.decode()
    assert f"<strong>Preview</strong> of “{scheme.name}”" in text
    assert "Send it with the preview" in text
    url = reverse("quotes:send", args=[job.number])
    form = {"valid_days": "45", "after_number": "0", "opening": "Dear Ada"}
    refused = office.post(url, form).content.decode()
    assert "still a preview" in refused and "Dear Ada" in refused and 'value="45"' in refused
    assert not Revision.objects.exists()
    office.post(url, form | {"accept_preview": "on"})
    sent = Revision.objects.get()
    assert [option["takeoff"].get("is_preview", False) for option in sent.internal["options"]] == [True, False]
    page = office.get(reverse("quotes:revision", args=[sent.pk])).content.decode()
    assert page.count("Sent with a preview of the take-off") == 1


def test_without_a_preview_nothing_is_asked(office, job):
    assert "accept_preview" not in office.get(quote_url(job)).content.decode()
