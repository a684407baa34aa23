"""Variations: numbered, at the quote's rates, frozen when sent, approved on a link before the work."""

import io
import re
from datetime import time
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pypdf import PdfReader

from contractor.billing import services
from contractor.billing.models import Variation, VariationLine
from contractor.billing.selectors import contract_of, variation_for
from contractor.jobs.models import Visit
from contractor.mail.models import Message
from contractor.site.models import SitePhoto
from tests.billing.conftest import account, approved, drafted, said

pytestmark = pytest.mark.django_db


def sent_out(job, user, **changes) -> tuple[Variation, str]:
    made = drafted(job, user, **changes)
    return made, services.variation_send(variation=made, user=user)


def test_nothing_is_varied_before_a_contract(office, job):
    response = office.post(
        reverse("billing:variation-new", args=[job.number]), {"title": "X", "cause": "client", "days": "0", "why": "Y"}
    )
    assert "no contract to vary" in said(response) and 'value="X"' in said(response)


def test_variations_are_numbered_in_the_job(accepted, sender):
    assert [drafted(accepted, sender).reference for _ in range(3)] == ["V01", "V02", "V03"]


def test_the_office_makes_and_sends_one_at_the_quotes_rates(office, accepted):
    response = office.post(
        reverse("billing:variation-new", args=[accepted.number]),
        {"title": "Extra strip", "cause": "hidden", "days": "2", "why": "More plaster is blown."},
    )
    made = Variation.objects.get()
    assert response.url == reverse("billing:variation", args=[made.pk])
    new_line = reverse("billing:line-new", args=[made.pk])
    quoted = contract_of(accepted).lines[1]
    page = said(office.get(f"{new_line}?like=1"))
    assert f'value="{quoted["unit_price"]}"' in page
    line = {name: quoted[name] for name in ("description", "unit", "unit_price", "vat_percent")}
    assert office.post(new_line, line | {"quantity": "0"}).status_code == 200
    assert office.post(new_line, line | {"quantity": "-2"}).status_code == 302
    response = office.post(reverse("billing:variation-send", args=[made.pk]), follow=True)
    made.refresh_from_db()
    net = -2 * Decimal(quoted["unit_price"])
    assert made.status == "sent" and Decimal(made.document["net"]) == net
    link = re.search(r"/v/([\w-]{43})/", said(response))
    assert link and "shown this once" in said(response)
    assert link[1] not in said(office.get(reverse("billing:variation", args=[made.pk])))
    message = Message.objects.get(key=f"variation:{made.pk}")
    assert link[1] not in message.body and "More plaster" not in message.subject


def test_an_empty_variation_is_not_sent(office, accepted, sender):
    made = services.variation_start(job=accepted, user=sender, title="T", cause="client", why="W", days=0)
    assert "nothing in it yet" in said(office.post(reverse("billing:variation-send", args=[made.pk])))


def test_what_was_sent_stays_as_it_was_sent(office, accepted, sender):
    made, _ = sent_out(accepted, sender)
    before = made.document
    response = office.post(
        reverse("billing:variation-edit", args=[made.pk]),
        {"title": "Other", "cause": "client", "days": "9", "why": "Z"},
    )
    assert "stands as it was sent" in said(response)
    made.refresh_from_db()
    assert made.document == before and made.title == "Rotten joist ends"


def test_the_homeowner_reads_and_approves(stranger, accepted, sender):
    made, token = sent_out(accepted, sender)
    url = reverse("billing:letter", args=[token])
    response = stranger.get(url)
    page = said(response)
    assert "Rotten joist ends" in page and "£120.00" in page  # 100 and 20 % VAT
    assert response["Cache-Control"] == "no-store" and response["Referrer-Policy"] == "no-referrer"
    assert "noindex" in response["X-Robots-Tag"]
    refused = said(stranger.post(reverse("billing:approve", args=[token]), {"typed_name": "Ada Holt"}))
    assert "Tick this to agree." in refused and 'value="Ada Holt"' in refused
    stranger.post(reverse("billing:approve", args=[token]), {"typed_name": "Ada Holt", "agreed": "on"})
    made.refresh_from_db()
    assert (made.status, made.typed_name) == ("approved", "Ada Holt") and made.address
    assert "Ada Holt approved this" in said(stranger.get(url))
    assert set(Message.objects.filter(key__startswith="variation-answered").values_list("key", flat=True)) == {
        f"variation-answered:{made.pk}:office",
        f"variation-answered:{made.pk}:customer",
    }


def test_declining_with_a_reason(stranger, accepted, sender):
    made, token = sent_out(accepted, sender)
    stranger.post(reverse("billing:decline", args=[token]), {"reason": "Too dear"})
    made.refresh_from_db()
    assert (made.status, made.reason) == ("declined", "Too dear")
    approve, decline = (reverse(f"billing:{name}", args=[token]) for name in ("approve", "decline"))
    second = stranger.post(approve, {"typed_name": "Ada", "agreed": "on"}, follow=True)
    assert "Another answer came first." in said(second)
    twice = stranger.post(decline, {"reason": "Too dear"}, follow=True)
    assert "Another answer came first." not in said(twice)
    made.refresh_from_db()
    assert made.status == "declined"


def test_a_withdrawn_one_opens_nothing(stranger, office, accepted, sender):
    made, token = sent_out(accepted, sender)
    office.post(reverse("billing:variation-withdraw", args=[made.pk]))
    assert stranger.get(reverse("billing:letter", args=[token])).status_code == 410
    assert stranger.get(reverse("billing:letter", args=["x" * 43])).status_code == 404
    with pytest.raises(services.NotOpen):
        services.variation_answer(variation=made, approved=True, typed_name="A", address="", browser="")


def test_a_draft_has_no_link(stranger, accepted, sender):
    drafted(accepted, sender)
    assert stranger.get("/v//").status_code == 404


def test_the_contract_sum_runs_on_with_what_is_approved(accepted, sender):
    first = account(accepted).contract_sum
    approved(accepted, sender, price="100")
    sent_out(accepted, sender, price="999")
    approved(accepted, sender, price="50", quantity="-1", days=-2)
    now = account(accepted)
    assert now.contract_sum - first == Decimal("60.00")  # 120 less 60; what waits does not count
    assert now.days == -1


def test_a_changed_document_is_never_approved(accepted, sender):
    made, _ = sent_out(accepted, sender)
    Variation.objects.filter(pk=made.pk).update(document=made.document | {"total": "1.00"})
    with pytest.raises(RuntimeError, match="hash"):
        services.variation_answer(variation=made, approved=True, typed_name="A", address="", browser="")


def test_nothing_the_homeowner_opens_tells_cost_or_margin(stranger, accepted, sender):
    """The firm's markups of the fixture are 17.5 and 23.5 %: neither they nor the words for them appear."""
    made, token = sent_out(accepted, sender)
    pdf = stranger.get(reverse("billing:letter-pdf", args=[token]))
    paper = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf.content)).pages)
    assert "Splice joist end" in paper and "£120.00" in paper
    for shown in (paper, said(stranger.get(reverse("billing:letter", args=[token]))), str(made.document)):
        assert not re.search(r"17\.5|23\.5|margin|markup|overhead", shown, re.IGNORECASE)


def test_what_is_sent_is_the_variation_as_it_is_then_not_as_it_was_looked_at(accepted, sender):
    made = drafted(accepted, sender)
    looked_at = variation_for(made.pk)
    made.lines.update(unit_price=250)
    Variation.objects.filter(pk=made.pk).update(why="Three joist ends are soft.")
    services.variation_send(variation=looked_at, user=sender)
    sent = Variation.objects.get().document
    assert (sent["net"], sent["why"]) == ("250.00", "Three joist ends are soft.")


@pytest.fixture
def raised(accepted, fitter):
    """A variation that a fitter raised on the page of notes, with a photograph."""
    visit = Visit.objects.create(job=accepted, purpose="fitting", on_date=timezone.localdate(), starts_at=time(8))
    visit.people.add(fitter.user)
    picture = io.BytesIO()
    Image.new("RGB", (640, 480), "grey").save(picture, "JPEG")
    fitter.post(
        reverse("site:note-act", args=[accepted.number, "variation"]),
        {
            "title": "Rotten joist ends", "cause": "hidden", "why": "Two are soft.",
            "photo": SimpleUploadedFile("found.jpg", picture.getvalue(), "image/jpeg"),
        },
    )  # fmt: skip
    return Variation.objects.get()


def test_a_fitter_raises_one_with_a_photograph_and_the_homeowner_sees_it(office, stranger, raised):
    page = said(office.get(reverse("billing:variation", args=[raised.pk])))
    photo = SitePhoto.objects.get(about=str(raised.act.key))
    assert reverse("site:photo-small", args=[photo.key]) in page and ", on site." in page
    VariationLine.objects.create(variation=raised, description="Splice", unit_price=100, vat_percent=20)
    token = services.variation_send(variation=raised, user=office.user)
    letter = stranger.get(reverse("billing:letter", args=[token]))
    address = reverse("billing:letter-photo", args=[token, photo.key])
    assert address in said(letter)
    picture = stranger.get(address)
    assert picture.status_code == 200 and picture["Cache-Control"] == "no-store"
    for paper in (
        stranger.get(reverse("billing:letter-pdf", args=[token])),
        office.get(reverse("billing:variation-pdf", args=[raised.pk])),
    ):
        assert [page.images for page in PdfReader(io.BytesIO(paper.content)).pages if page.images]


def test_other_photographs_stay_shut(stranger, office, raised):
    other = SitePhoto.objects.create(key=uuid4(), job=raised.job, by=office.user, taken_at=timezone.now())
    VariationLine.objects.create(variation=raised, description="Splice", unit_price=100, vat_percent=20)
    token = services.variation_send(variation=raised, user=office.user)
    assert stranger.get(reverse("billing:letter-photo", args=[token, other.key])).status_code == 404


def test_the_fitter_sees_its_answer_and_no_price(fitter, office, raised):
    url = reverse("site:notes", args=[raised.job.number])
    assert "V01 Rotten joist ends" in said(fitter.get(url)) and "with the office" in said(fitter.get(url))
    VariationLine.objects.create(variation=raised, description="Splice", unit_price="123.45", vat_percent=20)
    services.variation_send(variation=raised, user=office.user)
    assert "wait for the customer" in said(fitter.get(url))
    services.variation_answer(variation=raised, approved=True, typed_name="Ada", address="", browser="")
    page = said(fitter.get(url))
    assert "go ahead" in page and "123.45" not in page
