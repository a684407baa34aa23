"""A4 documents from HTML templates. Nothing is fetched from the network while a document is made."""

import logging
import re
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.core.files.storage import default_storage
from django.http import HttpResponse
from django.template.loader import render_to_string

from contractor.common.pdf_process import Drawer, DrawingFailed

PDF_PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0")
OWN_FILE = re.compile(r"""["'(]((?:static|media):[^"')]+)""")
_drawer = Drawer()
log = logging.getLogger(__name__)


class PdfUnavailable(RuntimeError):
    """The system libraries that draw PDFs are not installed; the message names the packages."""


@cache
def pdf_problem() -> str | None:
    """What stops PDFs on this machine, or None. Importing WeasyPrint takes half a second: only when asked."""
    try:
        import weasyprint  # noqa: F401
    except OSError as error:
        return str(error).splitlines()[0]
    return None


def _stored(name: str) -> bytes | None:
    try:
        with default_storage.open(name) as file:
            return file.read()
    except (OSError, SuspiciousFileOperation):
        return None


def render_pdf(template: str, context: dict) -> bytes:
    """PDF/UA bytes of a template that extends print/base.html.

    Raises PdfUnavailable, naming the Debian packages, where the drawing libraries are missing, and DrawingFailed where
    the document does not get done.
    """
    if pdf_problem():
        raise PdfUnavailable(
            f"PDFs need the Debian packages {', '.join(PDF_PACKAGES)} (apt-get install {' '.join(PDF_PACKAGES)})."
        )
    html = render_to_string(template, context)
    return _drawer.draw(html, _files_of(html))


def _files_of(text: str) -> dict[str, bytes]:
    """Every file that a text names as static: or media:, by that address, and those that its style sheets name."""
    files: dict[str, bytes] = {}
    for url in dict.fromkeys(OWN_FILE.findall(text)):
        scheme, _, name = url.partition(":")
        body = _shipped(name) if scheme == "static" else _stored(name)
        if body is not None:
            files[url] = body
            if name.endswith(".css"):
                files |= _files_of(body.decode())
    return files


def _shipped(name: str) -> bytes | None:
    found = finders.find(name)
    return Path(found).read_bytes() if found else None


def pdf_response(template: str, context: dict, filename: str) -> HttpResponse:
    """The PDF shown in the browser under `filename`; a plain 503 page, naming the packages that lack, where it can't be
    made."""
    try:
        body = render_pdf(template, context)
    except DrawingFailed:
        log.exception("%s was not made", filename)
        words = "This document could not be made just now. Please try again in a minute."
        return HttpResponse(words, status=503, content_type="text/plain; charset=utf-8", headers={"Retry-After": "60"})
    except PdfUnavailable as error:
        return HttpResponse(str(error), status=503, content_type="text/plain; charset=utf-8")
    response = HttpResponse(body, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{filename}"'
    return response
