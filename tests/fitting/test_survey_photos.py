"""What the survey photographed, on the fitter's steps and among the pages that a phone keeps."""

from io import BytesIO

import pytest
from django.urls import reverse
from PIL import Image

from contractor.common.pictures import clean_picture
from contractor.fitting.acting import MOST_SURVEYED, day_pages
from contractor.rooms.services import photos_add
from tests.factories import PatchFactory, PhotoFactory, RoomFactory, SurfaceFactory

PLACE = {1: "N", 2: ((51.0, 30.0, 0.0))}  # of EXIF 2.32, tags GPSLatitudeRef and GPSLatitude
GPS_TAG = 0x8825


def from_a_phone() -> BytesIO:
    image, told = Image.new("RGB", (800, 600), "teal"), Image.Exif()
    told[GPS_TAG] = PLACE
    out = BytesIO()
    image.save(out, "JPEG", exif=told)
    out.seek(0)
    assert Image.open(out).getexif().get_ifd(GPS_TAG)  # else the test below would prove nothing
    out.seek(0)
    return out


@pytest.fixture
def surface(pack):
    """The surface that the pack's first face covers."""
    surface = SurfaceFactory(room=RoomFactory(job=pack.job))
    patch = PatchFactory(surface=surface)
    pack.document["faces"][0]["key"] = f"p{patch.pk}-1"
    pack.save()
    return surface


def small(pack, photo) -> str:
    return reverse("fitting:survey-photo-small", args=[pack.job.number, photo.pk])


def steps(fitter, pack) -> str:
    return fitter.get(reverse("fitting:pack", args=[pack.job.number])).content.decode()


def test_a_surface_shows_what_was_photographed_of_it_and_nothing_else(fitter, pack, surface):
    here = PhotoFactory(room=surface.room, surface=surface, caption="Light round the second joist")
    elsewhere = PhotoFactory(room=surface.room, surface=SurfaceFactory(room=surface.room))
    part = PatchFactory(surface=surface, name="Alcove", is_rest=False, width_mm=900, height_mm=900)
    other_patch = PhotoFactory(room=surface.room, surface=surface, patch=part)

    page = steps(fitter, pack)

    assert small(pack, here) in page and "Light round the second joist" in page
    assert small(pack, elsewhere) not in page and small(pack, other_patch) not in page


def test_without_photographs_nothing_of_them_is_said(fitter, pack, surface):
    assert "Photographs of the survey" not in steps(fitter, pack)


def test_both_sizes_come_without_where_they_were_taken(fitter, pack, surface, office):
    [photo] = photos_add(
        room=surface.room, surface=surface, pictures=[clean_picture(from_a_phone())], caption="", by=office.user
    )
    for name, widest in (("survey-photo", 800), ("survey-photo-small", 360)):
        answer = fitter.get(reverse(f"fitting:{name}", args=[pack.job.number, photo.pk]))
        image = Image.open(BytesIO(b"".join(answer.streaming_content)))
        assert answer.headers["Content-Type"] == "image/jpeg" and image.width == widest
        assert not image.getexif()


def test_a_photograph_of_another_job_is_not_reached_through_this_one(fitter, pack):
    assert fitter.get(small(pack, PhotoFactory())).status_code == 404


def test_the_phone_keeps_them_but_not_so_many_that_the_day_grows_heavy(fitter, pack, surface):
    photos = [PhotoFactory(room=surface.room, surface=surface) for _ in range(MOST_SURVEYED + 3)]

    kept = [path for path in day_pages(fitter.user) if "/site/survey/" in path]

    assert kept == [small(pack, photo) for photo in photos[:MOST_SURVEYED]]


def test_more_photographs_ask_the_database_no_more_often(fitter, pack, surface, django_assert_max_num_queries):
    for _ in range(5):
        PhotoFactory(room=surface.room, surface=surface)
    with django_assert_max_num_queries(22):
        steps(fitter, pack)
