"""Pictures that people send in: read by what is in them, made smaller, and written anew without anything else.

A phone's photograph carries where and when it was taken. Only the picture itself goes into the new file, so nothing
of that is left, and a file that is no picture cannot pass for one.
"""

from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from django import forms
from django.core.exceptions import ValidationError
from PIL import Image, ImageOps, UnidentifiedImageError

LONGEST_PX, SMALL_PX = 1600, 360
MOST_BYTES, MOST_PIXELS = 20 * 1024 * 1024, 80_000_000
FORMATS = ["JPEG", "PNG", "WEBP"]
# These kinds alone, not "image/*": a phone then turns its own format into one of them before sending.
ACCEPT = "image/jpeg,image/png,image/webp"
NOT_A_PICTURE = "This is not a picture that can be read. Send a JPEG, PNG or WebP."
TOO_LARGE = f"This picture is larger than {MOST_BYTES // 1024 // 1024} MB. Send a smaller one."


@dataclass(frozen=True, kw_only=True)
class Picture:
    """JPEG files: `full` at most LONGEST_PX on its longer side, `small` at most SMALL_PX; and the size of `full`."""

    full: bytes
    small: bytes
    width_px: int
    height_px: int


def clean_picture(sent: BinaryIO) -> Picture:
    """Turned the right way up, made smaller and stripped of all but the picture. ValidationError says what is wrong."""
    if getattr(sent, "size", 0) > MOST_BYTES:
        raise ValidationError(TOO_LARGE, code="too_large")
    try:
        with Image.open(sent, formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise ValidationError("This picture has too many points. Send a smaller one.", code="too_large")
            opened.draft("RGB", (LONGEST_PX, LONGEST_PX))
            upright = ImageOps.exif_transpose(opened)
            full = _on_white(upright)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise ValidationError(NOT_A_PICTURE, code="invalid") from None
    full.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.LANCZOS)
    small = full.copy()
    small.thumbnail((SMALL_PX, SMALL_PX), Image.Resampling.LANCZOS)
    return Picture(full=_jpeg(full), small=_jpeg(small), width_px=full.width, height_px=full.height)


def _on_white(image: Image.Image) -> Image.Image:
    """A new picture with the same points and nothing that came along with them."""
    clear = Image.new("RGB", image.size, "white")
    layer = image.convert("RGBA") if image.mode in ("RGBA", "LA", "PA", "P") else image.convert("RGB")
    clear.paste(layer, mask=layer.getchannel("A") if layer.mode == "RGBA" else None)
    return clear


def _jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=82, optimize=True, progressive=True)
    return out.getvalue()


class ManyFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class PicturesField(forms.FileField):
    """One picture or several; `cleaned_data` holds a list of Picture."""

    def __init__(self, *, takes_now: bool = False, most: int = 12, **kwargs):
        """`takes_now`: on a phone the camera opens at once."""
        self.most = most
        capture = {"capture": "environment"} if takes_now else {}
        kwargs.setdefault("widget", ManyFiles(attrs={"accept": ACCEPT, **capture}))
        super().__init__(**kwargs)

    def clean(self, data, initial=None) -> list[Picture]:
        sent = [one for one in (data if isinstance(data, list | tuple) else [data]) if one]
        if not sent:
            super().clean(None, initial)
            return []
        if len(sent) > self.most:
            raise ValidationError(f"At most {self.most} pictures at a time.", code="too_many")
        problems, pictures = [], []
        for one in sent:
            try:
                pictures.append(clean_picture(super().clean(one, initial)))
            except ValidationError as problem:
                problems += [f"{one.name}: {message}" for message in problem.messages]
        if problems:
            raise ValidationError(problems)
        return pictures


class PictureField(PicturesField):
    """A single picture; `cleaned_data` holds a Picture or None."""

    def __init__(self, *, takes_now: bool = False, **kwargs):
        super().__init__(takes_now=takes_now, most=1, **kwargs)
        self.widget.allow_multiple_selected = False
        self.widget.attrs.pop("multiple", None)

    def clean(self, data, initial=None) -> Picture | None:
        found = super().clean(data, initial)
        return found[0] if found else None
