"""Files that people send in: kept under names nobody can guess, and handed out only by views that ask who it is."""

import re
from dataclasses import dataclass
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404

from contractor.common.pictures import clean_picture

MOST_PAPER_BYTES = 10 * 1024 * 1024
NOT_A_PAPER = "Send a PDF, or a picture of the paper as JPEG, PNG or WebP."
TYPES = {"pdf": "application/pdf", "jpg": "image/jpeg"}


def under(folder: str):
    """For a FileField's `upload_to`, through a function of the app's own: a random name in the folder."""

    def path(name: str) -> str:
        random = uuid4().hex
        return f"{folder}/{random[:2]}/{random}.{name.rpartition('.')[2]}"

    return path


@dataclass(frozen=True, kw_only=True)
class Paper:
    """The content of a file sent as evidence, checked; its ending is pdf or jpg."""

    content: bytes
    ending: str
    name: str

    @property
    def as_file(self) -> ContentFile:
        return ContentFile(self.content, name=f"paper.{self.ending}")


class PaperField(forms.FileField):
    """A report or certificate: a PDF, or a picture of it, told by its content. `cleaned_data` holds a Paper or None."""

    def __init__(self, **kwargs):
        widget = forms.FileInput(attrs={"accept": "application/pdf,image/jpeg,image/png,image/webp"})
        super().__init__(**{"widget": widget, "required": False} | kwargs)

    def clean(self, data, initial=None) -> Paper | None:
        sent = super().clean(data, initial)
        if not sent or isinstance(sent, FieldFile):
            return None
        if sent.size > MOST_PAPER_BYTES:
            raise ValidationError(f"This file is larger than {MOST_PAPER_BYTES // 1024 // 1024} MB.", code="too_large")
        name = re.sub(r"[^\w .()-]", "", sent.name.rpartition("/")[2])[-80:] or "Paper"
        content = sent.read()
        sent.seek(0)
        if content[:5] == b"%PDF-" and b"%%EOF" in content[-2048:]:
            return Paper(content=content, ending="pdf", name=name)
        try:
            return Paper(content=clean_picture(sent).full, ending="jpg", name=name)
        except ValidationError:
            raise ValidationError(NOT_A_PAPER, code="invalid") from None


def file_response(file: FieldFile, *, name: str = "", is_download: bool = False) -> FileResponse:
    """The file, shown or saved by the browser, kept by nobody on the way. Http404 where it is gone from the disk.

    Its type is the one that its name was given when it was checked, and the browser must not guess another; nothing
    in it may run.
    """
    try:
        opened = file.open("rb")
    except (FileNotFoundError, ValueError):
        raise Http404("This file is not here any more.") from None
    kind = TYPES.get(file.name.rpartition(".")[2], "application/octet-stream")
    response = FileResponse(opened, content_type=kind, as_attachment=is_download, filename=name)
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, max-age=3600"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    return response


def discard(*files: FieldFile) -> None:
    """Take files off the disk once the transaction that lets go of them is through."""
    kept = [(file.storage, file.name) for file in files if file]
    transaction.on_commit(lambda: [storage.delete(name) for storage, name in kept])
