"""Files that a browser may ask for piece by piece, as players do when somebody jumps to another place."""

import re

from django.http import HttpRequest, HttpResponse

ONE_RANGE = re.compile(r"bytes=(\d*)-(\d*)")


def ranged_response(request: HttpRequest, body: bytes, content_type: str) -> HttpResponse:
    """The whole (200), the bytes asked for (206), or 416 for bytes that there are not (RFC 9110, section 14).

    Several ranges at once, and headers that are none, get the whole: that is always allowed.
    """
    span = _span(request.headers.get("Range", ""), len(body))
    if span is None:
        response = HttpResponse(body, content_type=content_type)
    elif span[0] > span[1]:
        response = HttpResponse(status=416, content_type=content_type)
        response["Content-Range"] = f"bytes */{len(body)}"
    else:
        response = HttpResponse(body[span[0] : span[1] + 1], status=206, content_type=content_type)
        response["Content-Range"] = f"bytes {span[0]}-{span[1]}/{len(body)}"
    response["Accept-Ranges"] = "bytes"
    response["Content-Length"] = str(len(response.content))
    return response


def _span(header: str, size: int) -> tuple[int, int] | None:
    """First and last byte asked for, both counted, the first beyond the last where there are none; None for no range."""
    asked = ONE_RANGE.fullmatch(header.strip())
    if asked is None or asked.groups() == ("", ""):
        return None
    if not asked[1]:
        return (max(size - int(asked[2]), 0) if int(asked[2]) else size), size - 1
    first, last = int(asked[1]), int(asked[2]) if asked[2] else size - 1
    return None if last < first and asked[2] else (first, min(last, size - 1))
