"""The completion pack: as built with photographs, tests, variations, care; frozen, on paper and behind a link."""

import io
import re
from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pypdf import PdfReader

from contractor.accounts.models import Firm
from contractor.billing.models import Variation
from contractor.handover import services
from contractor.handover.models import CompletionPack
from contractor.site.models import SitePhoto
from contractor.site.services import act_take
from contractor.soundtests.models import SoundTest
from contractor.soundtests.services import keep_test, work_out
from tests.factories import RoomFactory
from tests.fitting.conftest import holds_are_settled, pack, takeoff  # noqa: F401  (fixtures)
from tests.soundtests.readings import SOURCE, THIRDS, received

pytestmark = pytest.mark.django_db


def said(response) -> str:
    return " ".join(response.content.decode().split())


@pytest.fixture
def job(pack, office):  # noqa: F811
    """A job with a work pack, a photograph of a hold point, a sound test and an approved variation."""
    made = pack.job
    made.stage = "complete"
    made.save()
    Firm.objects.update_or_create(
        pk=1, defaults={"name": "Tannery Yard", "phone": "01632 960144", "guarantee": "One year."}
    )
    hold = next(step for face in pack.document["faces"] for step in face["steps"] if step["kind"] == "hold")
    out = io.BytesIO()
    Image.new("RGB", (400, 300), "grey").save(out, "JPEG")
    photo = SitePhoto(key=uuid4(), job=made, about=hold["key"], by=office.user, taken_at=timezone.now())
    for file in (photo.full, photo.small):
        file.save("photo.jpg", ContentFile(out.getvalue()), save=False)
    photo.save()
    test = SoundTest(
        job=made, room=RoomFactory(job=made), source_room="Next door", measured_by="A tester", volume_m3=31,
        bands=THIRDS, readings={"source": [SOURCE], "receiving": [received()]},
    )  # fmt: skip
    work_out(test)
    keep_test(test=test, by=office.user)
    Variation.objects.create(
        job=made, number=1, title="Joist ends", why="Soft", status="approved", typed_name="Ada",
        answered_at=timezone.now(), document={"total": "120.00", "vat": []}, created_by=office.user,
    )  # fmt: skip
    return made


def test_the_office_sees_what_it_would_lack(office, pack):  # noqa: F811
    page = said(office.get(reverse("handover:completion", args=[pack.job.number])))
    for lack in ("No photograph of what is now hidden.", "No sound test after the work.", "hold no guarantee"):
        assert lack in page


def test_it_holds_what_was_built_measured_agreed_and_how_to_live_with_it(office, job):
    page = said(office.get(reverse("handover:completion", args=[job.number])))
    assert "It would lack" not in page
    assert "DnT,w" in page and "59 dB ± 2" in page  # the published result of the readings
    assert "V01 Joist ends: £120.00 with VAT" in page and "Soft" in page
    assert (
        "air bricks that we left open must stay open" in page
        and "asbestos may be" in page
        and "where you may fix shelves" in page
        and "One year." in page
    )
    assert "Steel stud 48" in page  # a layer that is now hidden


def test_made_it_stays_and_the_link_shows_the_latest(office, stranger, job):
    made = services.completion_make(job=job, by=office.user)
    before = made.document
    Firm.objects.update(name="Another name")
    made.refresh_from_db()
    assert made.document == before
    response = office.post(reverse("handover:link", args=[job.number]), {"make": ""}, follow=True)
    url = re.search(r"/c/[\w-]{43}/", said(response))[0]
    assert "shown this once" in said(response)
    assert url not in said(office.get(reverse("handover:completion", args=[job.number])))
    answer = stranger.get(url)
    assert "Tannery Yard" in said(answer) and "Another name" not in said(answer)
    assert answer["Cache-Control"] == "no-store" and "noindex" in answer["X-Robots-Tag"]
    services.completion_make(job=job, by=office.user)
    assert "Another name" in said(stranger.get(url)) and "pack 2" in said(stranger.get(url))
    office.post(reverse("handover:link", args=[job.number]), {"end": ""})
    assert stranger.get(url).status_code == 404


def test_photographs_open_only_through_the_pack_that_shows_them(office, stranger, job):
    services.completion_make(job=job, by=office.user)
    token = services.completion_link_make(job=job, by=office.user)
    shown = CompletionPack.objects.get().document["photos"][0]["key"]
    assert stranger.get(reverse("handover:photo", args=[token, shown])).status_code == 200
    later = SitePhoto.objects.create(key=uuid4(), job=job, by=office.user, taken_at=timezone.now())
    assert stranger.get(reverse("handover:photo", args=[token, later.key])).status_code == 404


def test_the_paper_holds_the_photographs_and_tells_no_cost(office, stranger, job):
    services.completion_make(job=job, by=office.user)
    token = services.completion_link_make(job=job, by=office.user)
    for response in (
        office.get(reverse("handover:office-pdf", args=[job.number])),
        stranger.get(reverse("handover:pack-pdf", args=[token])),
    ):
        reader = PdfReader(io.BytesIO(response.content))
        text = " ".join(page.extract_text() for page in reader.pages)
        assert "What is hidden in it now" in text and "59 dB" in text
        assert len({image.data for page in reader.pages for image in page.images}) == 1
        assert not re.search(r"margin|markup|overhead|768\.27", text, re.IGNORECASE)


def test_the_page_asks_as_often_for_many_photographs(office, job, count_queries):
    url = reverse("handover:completion", args=[job.number])
    few = count_queries(office, url)
    for _ in range(5):
        SitePhoto.objects.create(key=uuid4(), job=job, by=office.user, taken_at=timezone.now())
    assert count_queries(office, url) == few <= 32


def test_photographs_of_snags_stay_with_the_firm_and_those_of_a_variation_go_in(office, job):
    act = act_take(
        key=uuid4(), job=job, person=office.user, kind="note", done_at=timezone.now(),
        payload={"kind": "snag", "where": "Hall", "text": "Scratched the neighbour's door"},
    )  # fmt: skip
    raised = act_take(key=uuid4(), job=job, person=office.user, kind="dance", payload={}, done_at=timezone.now())
    Variation.objects.filter(number=1).update(act=raised)
    snag, found = (
        SitePhoto.objects.create(key=uuid4(), job=job, about=str(a.key), by=office.user, taken_at=timezone.now())
        for a in (act, raised)
    )
    photos = services.completion_make(job=job, by=office.user).document["photos"]
    assert [photo["face"] for photo in photos] == [0, None]
    assert str(found.key) in str(photos) and str(snag.key) not in str(photos)


def test_a_pack_made_before_photographs_had_a_place_still_shows_them(office, stranger, job):
    made = services.completion_make(job=job, by=office.user)
    old = made.document | {"format": 1}
    old.pop("cautions")
    for photo in old["photos"]:
        photo.pop("face")
    CompletionPack.objects.update(document=old)
    token = services.completion_link_make(job=job, by=office.user)
    page = said(stranger.get(reverse("handover:pack", args=[token])))
    assert page.count("<img") == 1 and "What is now hidden" in page
