"""The PDF: its text, its pages, and what must never be in it."""

import io

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from pypdf import PdfReader

from contractor.common.pdf import _drawer, _files_of
from contractor.quotes import paper, services
from contractor.quotes.models import Decision
from tests.quotes.results import calculated_scheme, face, takeoff

NEVER = ("margin", "markup", "overhead", "profit", "17.5", "23.5", "38.00", "20.30 h", "412.50")


def read(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in read(pdf).pages).split())


def test_pdf_tells_what_the_document_holds(sent, job):
    text = words(paper.proposal_pdf(sent.revision, None))
    document = sent.revision.document
    assert document["options"][0]["total"].replace("2", "2") in text.replace(",", "")
    for told in (
        "Tannery Yard Quiet Rooms",
        job.property.customer.name,
        f"Proposal {job.number}/1",
        "What you told us",
        "from: next door",
        "Independent steel lining, two dense boards",
        "97.5 mm",
        "Not heard in most homes; a murmur on a quiet night.",
        "What it will not do",
        "VAT at 20 % on",
        "Cautions",
        "Removal of asbestos",
        "Your right to cancel",
        "Cancellation form",
        "Signature",
        sent.revision.document_hash,
    ):
        assert told in text, told


def test_cost_margin_and_markup_are_nowhere_the_homeowner_looks(sent, stranger):
    internal = sent.revision.internal["options"]
    secrets = [*NEVER, *(option[key] for option in internal for key in ("cost", "margin", "margin_percent"))]
    link = reverse("quotes:proposal", args=[sent.token])
    shown = {
        "PDF": words(paper.proposal_pdf(sent.revision, None)),
        "page": stranger.get(link).content.decode(),
    }
    for place, text in shown.items():
        plain = text.lower().replace(",", "")
        for secret in secrets:
            assert secret.lower() not in plain, f"{secret} in the {place}"


def test_pdf_of_an_accepted_proposal_carries_the_evidence(sent):
    decision = services.accept(
        link=sent.link,
        option_key="2",
        typed_name="Ada Pell",
        agreed_terms=True,
        early_start=True,
        address="192.0.2.7",
        browser="",
    )
    text = words(paper.proposal_pdf(sent.revision, Decision.objects.get(pk=decision.pk)))
    for told in (
        "Accepted by Ada Pell",
        "Wall and void",
        "192.0.2.7",
        "I ask you to start before",
        decision.document_hash,
    ):
        assert told in text, told


def test_pdf_is_tagged_titled_and_bookmarked(sent):
    pdf = read(paper.proposal_pdf(sent.revision, None))
    assert pdf.metadata.title == f"Proposal {sent.revision.document['quote']['reference']}, Bedroom party wall"
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert pdf.outline
    fonts = [font.get_object() for page in pdf.pages for font in page["/Resources"].get("/Font", {}).values()]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner["/FontDescriptor"]), (
            f"{font['/BaseFont']} is not in it"
        )


def test_every_page_has_its_number_and_the_later_ones_a_running_head(sent):
    pages = [" ".join(page.extract_text().split()) for page in read(paper.proposal_pdf(sent.revision, None)).pages]
    head = f"Proposal {sent.revision.document['quote']['reference']} · Bedroom party wall"
    for number, text in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in text
        assert number == 1 or head in text  # the first has the letterhead


@pytest.mark.parametrize("count", range(16, 32, 2))
def test_the_sums_never_stand_alone_at_the_top_of_a_page(count):
    line = {"description": "Lining of a wall", "where": "Back bedroom", "quantity": "2", "unit": "m²"}
    line |= {"unit_price": "10.00", "vat_percent": "20", "net": "20.00"}
    parts = [{"label": f"Part {n}", "net": "40.00", "lines": [line, line]} for n in range(count // 2)]
    band = {"percent": "20", "net": "200.00", "vat": "40.00", "why": []}
    option = {"name": "One", "sections": parts, "net": "200.00", "vat": [band], "vat_total": "40.00", "total": "240.00"}
    table = render_to_string("quotes/_prices.html", {"option": option})
    styles = "".join(f'<link rel="stylesheet" href="static:css/{name}.css">' for name in ("print", "proposal"))
    html = f'<!doctype html><html lang="en"><head><title>Prices</title>{styles}</head><body>{table}</body></html>'
    for page in read(_drawer.draw(html, _files_of(html))).pages:
        text = page.extract_text()
        assert "Total with VAT" not in text or "Lining of a wall" in text


@pytest.mark.parametrize(("faces", "count", "at_most"), [(1, 2, 5), (58, 60, 12)])
def test_short_and_long_jobs_fill_their_pages(job, sender, faces, count, at_most):
    job.schemes.all().delete()
    calculated_scheme(job, takeoff_json=takeoff([face(n) for n in range(1, faces + 1)], preparation=faces > 1))
    sent = services.send(job=job, user=sender, valid_days=30)
    lines = sum(len(section["lines"]) for section in sent.revision.document["options"][0]["sections"])
    assert lines == count
    pages = read(paper.proposal_pdf(sent.revision, None)).pages
    assert len(pages) <= at_most
    for number, page in enumerate(pages, start=1):
        assert len(page.extract_text()) > 150, f"page {number} is nearly empty"


def test_the_link_and_the_office_give_the_same_pdf(sent, stranger, office):
    public = stranger.get(reverse("quotes:proposal-pdf", args=[sent.token]))
    own = office.get(reverse("quotes:revision-pdf", args=[sent.revision.pk]))
    assert public["Content-Type"] == own["Content-Type"] == "application/pdf"
    assert public["Cache-Control"] == "no-store"
    assert words(public.content) == words(own.content)
