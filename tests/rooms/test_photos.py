"""Photographs of a room: kept, tied to what they show, handed out to the office alone, and gone when deleted."""

from io import BytesIO

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from contractor.rooms import services
from contractor.rooms.models import Photo
from tests.common.test_pictures import phone_picture
from tests.factories import PatchFactory, PhotoFactory, RoomFactory, SurfaceFactory, UserFactory

pytestmark = pytest.mark.django_db


def url(name, pk):
    return reverse(f"rooms:{name}", args=[pk])


def sent(name="wall.jpg"):
    return SimpleUploadedFile(name, phone_picture(), content_type="image/jpeg")


@pytest.fixture
def wall():
    wall = SurfaceFactory(letter="B", name="Party wall")
    PatchFactory(surface=wall)
    return wall


def test_several_are_kept_for_the_surface_they_show(office, wall):
    page = url("photos", wall.room_id)
    data = {
        "shows": f"surface-{wall.pk}",
        "taken": sent(),
        "chosen": [sent("a.jpg"), sent("b.jpg")],
        "caption": "Crack",
    }
    assert office.post(page, data).url == f"{page}?shows=surface-{wall.pk}"

    photos = list(Photo.objects.all())
    assert [(p.surface, p.patch, p.caption, p.added_by) for p in photos] == [(wall, None, "Crack", office.user)] * 3
    assert len({p.full.name for p in photos}) == 3 and not any("wall" in p.full.name for p in photos)
    shown = office.get(page).content.decode()
    assert shown.count('src="/photos/') == 3 and f'<option value="surface-{wall.pk}"' in shown


def test_a_patch_brings_its_surface_along(office, wall):
    alcove = PatchFactory(surface=wall, is_rest=False, name="Alcove", x_mm=0, width_mm=900, height_mm=2400)
    office.post(url("photos", wall.room_id), {"shows": f"patch-{alcove.pk}", "taken": sent()})
    photo = Photo.objects.get()
    assert (photo.surface, photo.patch, str(photo)) == (wall, alcove, "B Party wall, Alcove")


def test_what_was_typed_stays_beside_the_error(office, wall):
    page = url("photos", wall.room_id)
    response = office.post(page, {"shows": f"surface-{wall.pk}", "caption": "Crack over the socket"})
    assert response.context["form"].errors == {"taken": ["Take a photo or choose a picture."]}
    assert "Crack over the socket" in response.content.decode()
    bad = SimpleUploadedFile("x.jpg", b"<svg onload=alert(1)>", content_type="image/jpeg")
    response = office.post(page, {"shows": "room", "chosen": [bad]})
    assert "x.jpg: This is not a picture" in response.context["form"].errors["chosen"][0]
    assert not Photo.objects.exists()


def test_a_surface_of_another_room_cannot_be_named(office, wall):
    other = SurfaceFactory()
    response = office.post(url("photos", wall.room_id), {"shows": f"surface-{other.pk}", "taken": sent()})
    assert "shows" in response.context["form"].errors and not Photo.objects.exists()


def test_it_is_handed_out_as_what_it_is(office, wall):
    office.post(url("photos", wall.room_id), {"shows": "room", "taken": sent()})
    response = office.get(url("photo-full", Photo.objects.get().pk))
    assert response["Content-Type"] == "image/jpeg" and response["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in response["Content-Security-Policy"] and response["Cache-Control"].startswith("private")
    assert Image.open(BytesIO(b"".join(response.streaming_content))).size == (1600, 1067)


@pytest.mark.parametrize("name", ["photo", "photo-full", "photo-small"])
def test_neither_a_fitter_nor_a_stranger_opens_it(fitter, stranger, name):
    page = url(name, PhotoFactory().pk)
    assert fitter.get(page).status_code == 403
    assert stranger.get(page).status_code == 302


def test_it_can_be_said_anew_what_it_shows(office, wall):
    photo = PhotoFactory(room=wall.room)
    office.post(url("photo", photo.pk), {"shows": f"surface-{wall.pk}", "caption": "Tape in view"})
    photo.refresh_from_db()
    assert (photo.surface, photo.caption) == (wall, "Tape in view")


def test_files_go_with_the_photo_and_with_the_room(office, django_capture_on_commit_callbacks):
    room = RoomFactory()
    first, second = PhotoFactory(room=room), PhotoFactory(room=room)
    with django_capture_on_commit_callbacks(execute=True):
        office.post(url("photo-delete", first.pk))
    assert not default_storage.exists(first.full.name) and not default_storage.exists(first.small.name)
    assert default_storage.exists(second.full.name)
    with django_capture_on_commit_callbacks(execute=True):
        services.room_delete(room=room, user=UserFactory())
    assert not default_storage.exists(second.full.name)


def test_a_photo_outlives_the_surface_it_shows(wall):
    photo = PhotoFactory(room=wall.room, surface=wall)
    services.surface_delete(surface=wall, user=UserFactory())
    photo.refresh_from_db()
    assert photo.surface is None and photo.room_id


def test_a_file_that_is_gone_is_not_found(office):
    photo = PhotoFactory()
    default_storage.delete(photo.full.name)
    assert office.get(url("photo-full", photo.pk)).status_code == 404


def test_photos_add_no_queries(office, count_queries):
    room = RoomFactory()
    PhotoFactory(room=room)
    page = url("photos", room.pk)
    one = count_queries(office, page)
    PhotoFactory.create_batch(3, room=room)
    assert count_queries(office, page) == one
