"""A4 documents from HTML templates. Nothing is fetched from the network while a document is made."""

import mimetypes
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.core.files.storage import default_storage
from django.http import HttpResponse
from django.template.loader import render_to_string

PDF_PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0")


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


@cache
def _font_configuration():
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


def _own_files_only():
    """A fetcher that serves static: and media: addresses from disk and refuses every other address."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OwnFiles(URLFetcher):
        def fetch(self, url, headers=None):
            scheme, _, name = url.partition(":")
            body = None
            if scheme == "static":
                found = finders.find(name)
                body = Path(found).read_bytes() if found else None
            elif scheme == "media":
                body = _stored(name)
            if body is None:
                raise ValueError(f"A document may only use its own files, not {url}")
            kind = mimetypes.guess_type(name)[0] or "application/octet-stream"  # a style sheet of no kind is ignored
            return URLFetcherResponse(url, body=body, headers={"Content-Type": kind})

    return OwnFiles()


def _stored(name: str) -> bytes | None:
    try:
        with default_storage.open(name) as file:
            return file.read()
    except (OSError, SuspiciousFileOperation):
        return None


def render_pdf(template: str, context: dict) -> bytes:
    """PDF/UA bytes of a template that extends print/base.html.

    Raises PdfUnavailable, naming the Debian packages, where the drawing libraries are missing.
    """
    if pdf_problem():
        raise PdfUnavailable(
            f"PDFs need the Debian packages {', '.join(PDF_PACKAGES)} (apt-get install {' '.join(PDF_PACKAGES)})."
        )
    from weasyprint import HTML

    html = render_to_string(template, context)
    document = HTML(string=html, base_url="static:", url_fetcher=_own_files_only())
    return document.write_pdf(font_config=_font_configuration(), pdf_variant="pdf/ua-1")


def pdf_response(template: str, context: dict, filename: str) -> HttpResponse:
    """The PDF shown in the browser under `filename`; a plain 503 page naming the packages where it can't be made."""
    try:
        body = render_pdf(template, context)
    except PdfUnavailable as error:
        return HttpResponse(str(error), status=503, content_type="text/plain; charset=utf-8")
    response = HttpResponse(body, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{filename}"'
    return response
