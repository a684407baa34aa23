"""The firm's logo: checked, made small, put on the letterhead, and never changed under what was sent with it."""

import io

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image, ImageDraw

from contractor.accounts.models import AuditEntry
from contractor.accounts.selectors import the_firm
from contractor.common.logos import MOST_KEPT_BYTES, TALLEST_PX, WIDEST_PX, clean_logo

PAGE = "accounts:firm"


def picture(size=(900, 300), kind="PNG", *, drawn=(100, 60, 700, 200), **saved) -> SimpleUploadedFile:
    image = Image.new("RGBA" if kind == "PNG" else "RGB", size, (0, 0, 0, 0) if kind == "PNG" else "white")
    if drawn:
        ImageDraw.Draw(image).rectangle(drawn, fill=(29, 39, 51))
    out = io.BytesIO()
    image.save(out, kind, **saved)
    return SimpleUploadedFile(f"mark.{kind.lower()}", out.getvalue())


def send(client, file):
    return client.post(reverse("accounts:firm-logo"), {"logo": file} if file else {})


def test_a_logo_is_cut_to_what_is_drawn_and_made_small():
    made = clean_logo(picture((3000, 3000), drawn=(500, 1000, 2500, 1500)))
    assert (made.width_px, made.height_px) == (WIDEST_PX, round(WIDEST_PX * 501 / 2001))
    opened = Image.open(io.BytesIO(made.content))
    assert (opened.format, opened.size) == ("PNG", (made.width_px, made.height_px))
    assert made.height_px <= TALLEST_PX
    assert len(made.content) <= MOST_KEPT_BYTES


def test_nothing_but_the_picture_is_kept():
    exif = Image.Exif()
    exif[0x010E] = "taken at the owner's house"
    made = clean_logo(picture(kind="JPEG", exif=exif))
    assert b"owner" not in made.content
    assert not Image.open(io.BytesIO(made.content)).getexif()


def test_many_colours_are_made_fewer_or_refused():
    noise = Image.effect_noise((900, 300), 90).convert("RGB")
    out = io.BytesIO()
    noise.save(out, "PNG")
    with pytest.raises(ValidationError, match="plainer"):
        clean_logo(SimpleUploadedFile("noise.png", out.getvalue()))
    ramp = Image.linear_gradient("L").resize((900, 300)).convert("RGB")
    out = io.BytesIO()
    ramp.save(out, "PNG")
    assert len(clean_logo(SimpleUploadedFile("ramp.png", out.getvalue())).content) <= MOST_KEPT_BYTES


@pytest.mark.parametrize(
    ("file", "said"),
    [
        (SimpleUploadedFile("mark.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"), "not a picture"),
        (SimpleUploadedFile("mark.png", b"\x89PNG\r\n\x1a\n but cut off"), "not a picture"),
        (picture(drawn=None), "Nothing is drawn"),
        (picture(drawn=(5, 5, 9, 9)), "Too small"),
        (None, "Choose a picture first."),
    ],
)
def test_what_will_not_do_is_said_beside_the_field(owner, file, said):
    response = send(owner, file)
    assert response.status_code == 200
    assert said in response.content.decode()
    assert the_firm().logo == ""


def test_the_owner_puts_it_on_and_takes_it_off(owner, office, stranger):
    assert send(owner, picture()).status_code == 302
    firm = the_firm()
    page = owner.get(reverse(PAGE)).content.decode()
    address = reverse("accounts:logo", args=[firm.logo[5:-4]])
    assert address in page and f'width="{firm.logo_width_px}"' in page
    answer = stranger.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/png")
    assert "immutable" in answer["Cache-Control"]
    assert AuditEntry.objects.filter(action="Firm's logo changed").exists()
    assert send(office, picture()).status_code == 403
    owner.post(reverse("accounts:firm-logo"), {"none": "1"})
    assert the_firm().logo == ""
    assert stranger.get(address).status_code == 200, "what was sent with it keeps it"


def test_the_same_picture_is_kept_once(owner):
    send(owner, picture())
    first = the_firm().logo
    send(owner, picture(drawn=(100, 60, 700, 220)))
    second = the_firm().logo
    send(owner, picture())
    assert the_firm().logo == first != second
    assert default_storage.exists(first) and default_storage.exists(second)


def test_other_addresses_hold_no_logo(stranger, db):
    assert stranger.get(reverse("accounts:logo", args=["0" * 64])).status_code == 404
    assert stranger.get("/logo/../secret.png").status_code == 404
