"""The firm's mark for its letters: read by what is in it, cut to what is drawn, made small, written anew as PNG."""

import hashlib
from dataclasses import dataclass
from io import BytesIO
from typing import BinaryIO

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import Image, UnidentifiedImageError

from contractor.common.pictures import ACCEPT, FORMATS, NOT_A_PICTURE

WIDEST_PX, TALLEST_PX = 480, 160
MOST_SENT_BYTES, MOST_KEPT_BYTES = 5 * 1024 * 1024, 30 * 1024
MOST_PIXELS = 40_000_000
LEAST_PX = 24


@dataclass(frozen=True, kw_only=True)
class Logo:
    """A PNG file, at most WIDEST_PX x TALLEST_PX and MOST_KEPT_BYTES."""

    content: bytes
    width_px: int
    height_px: int


def clean_logo(sent: BinaryIO) -> Logo:
    """ValidationError says what is wrong with it."""
    if getattr(sent, "size", 0) > MOST_SENT_BYTES:
        raise ValidationError(f"This file is larger than {MOST_SENT_BYTES // 1024 // 1024} MB.", code="too_large")
    try:
        with Image.open(sent, formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise ValidationError("This picture has too many points. Send a smaller one.", code="too_large")
            drawn = opened.convert("RGBA")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise ValidationError(NOT_A_PICTURE, code="invalid") from None
    box = drawn.getchannel("A").getbbox()
    if box is None:
        raise ValidationError("Nothing is drawn in this picture.", code="empty")
    drawn = drawn.crop(box)
    if min(drawn.size) < LEAST_PX:
        raise ValidationError(f"Too small to print: at least {LEAST_PX} points each way.", code="too_small")
    drawn.thumbnail((WIDEST_PX, TALLEST_PX), Image.Resampling.LANCZOS)
    return Logo(content=_png(drawn), width_px=drawn.width, height_px=drawn.height)


def _png(drawn: Image.Image) -> bytes:
    """As it is, or in fewer colours and then smaller, until a letter on a slow line can carry it."""
    body = _saved(drawn)
    for colours in (128, 32):
        if len(body) > MOST_KEPT_BYTES:
            body = _saved(drawn.quantize(colours, method=Image.Quantize.FASTOCTREE))
    if len(body) > MOST_KEPT_BYTES:
        raise ValidationError("Send a plainer picture: a drawing or lettering, not a photograph.", code="too_large")
    return body


def _saved(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def keep_logo(logo: Logo) -> str:
    """Its name in the media storage, by its content: what was sent with a letter stays what it was."""
    name = logo_name(hashlib.sha256(logo.content).hexdigest())
    if not default_storage.exists(name):
        default_storage.save(name, ContentFile(logo.content))
    return name


def logo_name(digest: str) -> str:
    return f"logo/{digest}.png"


class LogoField(forms.FileField):
    """`cleaned_data` holds a Logo."""

    widget = forms.FileInput(attrs={"accept": ACCEPT})

    def clean(self, data, initial=None) -> Logo:
        return clean_logo(super().clean(data, initial))
