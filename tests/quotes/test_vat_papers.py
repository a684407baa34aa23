"""What proves a rate of VAT: words or a paper, kept under a name nobody can guess, for the office alone."""

import json
from decimal import Decimal
from io import BytesIO

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from contractor.quotes import services
from contractor.quotes.models import ExtraLine, VatBasis
from contractor.quotes.options import options_of

REDUCED = {"vat_percent": "5", "vat_reason": "empty_two_years", "vat_evidence": ""}
LINE = {"section": "waste", "description": "Skip", "quantity": "1", "unit": "item", "unit_price": "90"}


def letter(content=b"%PDF-1.4\nhello\n%%EOF\n", name="Council letter.pdf"):
    return SimpleUploadedFile(name, content)


def is_kept(name: str) -> bool:
    return default_storage.exists(name)


def vat_url(job):
    return reverse("quotes:vat", args=[job.number])


def test_a_paper_proves_the_jobs_rate_without_words(office, job, django_capture_on_commit_callbacks):
    refused = office.post(vat_url(job), REDUCED)
    assert "or add the paper itself" in refused.context["form"].errors["vat_evidence"][0]
    office.post(vat_url(job), REDUCED | {"vat_paper": letter()})
    basis = VatBasis.objects.get()
    assert basis.vat_paper_name == "Council letter.pdf" and "Council" not in basis.vat_paper.name
    assert all(line.vat_percent == 5 for line in options_of(job)[0].priced.lines)
    assert "Paper kept: Council letter.pdf" in options_of(job)[0].priced.lines[0].trace[-1].working
    assert is_kept(name := basis.vat_paper.name)
    assert "Council letter.pdf" in office.get(vat_url(job)).content.decode()
    response = office.get(reverse("quotes:vat-paper", args=[job.number]))
    assert b"".join(response.streaming_content).startswith(b"%PDF") and response["X-Content-Type-Options"] == "nosniff"
    # It stays when the form is saved without another, and may not go while nothing else proves the rate.
    office.post(vat_url(job), REDUCED)
    assert VatBasis.objects.get().vat_paper
    refused = office.post(vat_url(job), REDUCED | {"drop_paper": "on"})
    assert "vat_evidence" in refused.context["form"].errors and VatBasis.objects.get().vat_paper
    with django_capture_on_commit_callbacks(execute=True):
        office.post(vat_url(job), REDUCED | {"drop_paper": "on", "vat_evidence": "Seen, 3 May"})
    assert not VatBasis.objects.get().vat_paper and not is_kept(name)
    assert office.get(reverse("quotes:vat-paper", args=[job.number])).status_code == 404


def test_the_standard_rate_keeps_no_paper(office, job, django_capture_on_commit_callbacks):
    office.post(vat_url(job), REDUCED | {"vat_paper": letter()})
    assert is_kept(name := VatBasis.objects.get().vat_paper.name)
    with django_capture_on_commit_callbacks(execute=True):
        office.post(vat_url(job), {"vat_percent": "20", "vat_reason": "standard", "vat_evidence": ""})
    assert not is_kept(name) and not VatBasis.objects.exists()
    assert office.get(reverse("quotes:vat-paper", args=[job.number])).status_code == 404


def test_a_picture_proves_a_lines_rate_and_goes_with_the_line(office, job, django_capture_on_commit_callbacks):
    picture = BytesIO()
    Image.new("RGB", (40, 30), "navy").save(picture, "PNG")
    url = reverse("quotes:line-new", args=[job.number])
    office.post(url, LINE | REDUCED | {"vat_paper": letter(picture.getvalue(), "Paper.png")})
    line = ExtraLine.objects.get()
    assert line.vat_percent == Decimal(5) and line.vat_paper.name.endswith(".jpg")
    page = office.get(reverse("quotes:line", args=[line.pk])).content.decode()
    assert reverse("quotes:line-vat-paper", args=[line.pk]) in page and "Paper.png" in page
    assert office.get(reverse("quotes:line-vat-paper", args=[line.pk]))["Content-Type"] == "image/jpeg"
    assert is_kept(line.vat_paper.name)
    with django_capture_on_commit_callbacks(execute=True):
        office.post(reverse("quotes:line-delete", args=[line.pk]))
    assert not is_kept(line.vat_paper.name)


@pytest.mark.parametrize("content", [b"<script>alert(1)</script>", b"%PDF-1.4 cut off"])
def test_what_is_no_paper_is_refused_beside_its_field(office, job, content):
    url = reverse("quotes:line-new", args=[job.number])
    response = office.post(url, LINE | REDUCED | {"vat_paper": letter(content)})
    assert list(response.context["form"].errors) == ["vat_paper"]
    assert 'value="Skip"' in response.content.decode() and not ExtraLine.objects.exists()


def test_neither_homeowner_nor_fitter_gets_it(office, stranger, fitter, job, sender):
    office.post(vat_url(job), REDUCED | {"vat_paper": letter()})
    sent = services.send(job=job, user=sender, valid_days=30)
    assert "Council letter" not in json.dumps(sent.revision.document)
    assert "Council letter" not in stranger.get(reverse("quotes:proposal", args=[sent.token])).content.decode()
    url = reverse("quotes:vat-paper", args=[job.number])
    assert fitter.get(url).status_code == 403 and stranger.get(url).status_code == 302
