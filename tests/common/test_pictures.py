"""Pictures are read by content, made smaller and stripped of where and when they were taken.

Tag numbers of Exif (CIPA DC-008): 0x0112 orientation, 0x8825 the block of the satellite position, 0x010F the maker.
"""

from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from contractor.common.files import PaperField
from contractor.common.pictures import MOST_BYTES, PictureField, PicturesField, clean_picture

ORIENTATION, MAKER, POSITION = 0x0112, 0x010F, 0x8825


def picture_bytes(size=(3000, 2000), kind="JPEG", colour="red", mode="RGB", **exif):
    image = Image.new(mode, size, colour)
    tags = Image.Exif()
    for number, value in exif.items():
        tags[int(number, 16)] = value
    out = BytesIO()
    image.save(out, kind, **({"exif": tags} if exif else {}))
    return out.getvalue()


def phone_picture(orientation=1):
    """A picture as a phone writes it: which way up, by whom, and where on earth."""
    image = Image.new("RGB", (3000, 2000), "red")
    image.paste("blue", (0, 0, 1500, 2000))  # blue on the left, red on the right
    tags = Image.Exif()
    tags[ORIENTATION], tags[MAKER] = orientation, "Invented Phones"
    tags.get_ifd(POSITION).update({1: "N", 2: (51.0, 30.0, 26.0), 3: "W", 4: (0.0, 7.0, 39.0)})
    out = BytesIO()
    image.save(out, "JPEG", exif=tags, comment=b"taken at home", icc_profile=b"profile" * 20)
    return out.getvalue()


def opened(content):
    return Image.open(BytesIO(content))


def test_the_test_picture_does_tell_where_it_was_taken():
    sent = opened(phone_picture())
    assert sent.getexif().get_ifd(POSITION)[2] == (51.0, 30.0, 26.0)
    assert b"Invented Phones" in phone_picture()


@pytest.mark.parametrize("which", ["full", "small"])
def test_nothing_but_the_picture_is_left(which):
    content = getattr(clean_picture(BytesIO(phone_picture())), which)
    left = opened(content)
    assert not left.getexif() and not left.getexif().get_ifd(POSITION)
    assert set(left.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
    for told in (b"Invented", b"taken at home", b"Exif", b"profile"):
        assert told not in content


def test_the_longer_side_is_1600_and_the_small_one_360():
    picture = clean_picture(BytesIO(picture_bytes((3000, 2000))))
    assert opened(picture.full).size == (picture.width_px, picture.height_px) == (1600, 1067)
    assert max(opened(picture.small).size) == 360


def test_a_small_picture_is_not_made_larger():
    assert clean_picture(BytesIO(picture_bytes((200, 100)))).width_px == 200


def test_it_is_turned_the_right_way_up():
    """Orientation 6: the camera was turned, its left side is the top."""
    turned = opened(clean_picture(BytesIO(phone_picture(orientation=6))).full)
    assert turned.height > turned.width
    red, _, blue = turned.getpixel((turned.width // 2, 10))
    assert blue > 200 > red


@pytest.mark.parametrize("kind, mode", [("PNG", "RGBA"), ("PNG", "P"), ("PNG", "L"), ("WEBP", "RGB"), ("JPEG", "CMYK")])
def test_other_kinds_become_jpeg(kind, mode):
    colour = 1 if mode in "PL" else "red"
    picture = clean_picture(BytesIO(picture_bytes((40, 30), kind, colour, mode)))
    assert opened(picture.full).format == "JPEG"


@pytest.mark.parametrize(
    "content",
    [b"", b"<script>alert(1)</script>", b"%PDF-1.7 no picture", b"\xff\xd8\xff\xe0 cut short", b"GIF89a" + b"\0" * 50],
)
def test_what_is_no_picture_is_refused_whatever_it_is_called(content):
    sent = SimpleUploadedFile("photo.jpg", content, content_type="image/jpeg")
    with pytest.raises(ValidationError, match=r"not a picture|empty"):
        PictureField().clean(sent)


def test_too_many_bytes_or_points_are_refused(monkeypatch):
    class Heavy(BytesIO):
        size = MOST_BYTES + 1

    with pytest.raises(ValidationError, match="larger than 20 MB"):
        clean_picture(Heavy(picture_bytes()))
    monkeypatch.setattr("contractor.common.pictures.MOST_PIXELS", 100)
    with pytest.raises(ValidationError, match="too many points"):
        clean_picture(BytesIO(picture_bytes()))


def test_of_several_the_bad_one_is_named():
    good = SimpleUploadedFile("good.jpg", picture_bytes((40, 30)))
    bad = SimpleUploadedFile("bad.jpg", b"nothing")
    with pytest.raises(ValidationError, match=r"bad\.jpg: This is not a picture"):
        PicturesField().clean([good, bad])
    assert len(PicturesField().clean([good])) == 1


class TestPapers:
    def test_a_pdf_is_taken_as_it_is_and_a_picture_is_cleaned(self):
        pdf = b"%PDF-1.7\n1 0 obj\nendobj\ntrailer\n%%EOF\n"
        paper = PaperField().clean(SimpleUploadedFile("../../Survey report.pdf", pdf))
        assert (paper.content, paper.ending, paper.name) == (pdf, "pdf", "Survey report.pdf")
        paper = PaperField().clean(SimpleUploadedFile("letter.heic", phone_picture()))
        assert paper.ending == "jpg" and b"Exif" not in paper.content

    @pytest.mark.parametrize("content", [b"<html>%PDF-1.7</html>", b"MZ\x90", b"%PDF-1.7 cut"])
    def test_anything_else_is_refused(self, content):
        with pytest.raises(ValidationError, match="Send a PDF, or a picture"):
            PaperField().clean(SimpleUploadedFile("report.pdf", content))

    def test_nothing_is_nothing(self):
        assert PaperField().clean(None) is None
