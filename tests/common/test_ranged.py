"""Parts of a file, as players ask for them (RFC 9110, section 14; the examples for 10,000 bytes are its own)."""

import pytest
from django.test import RequestFactory

from contractor.common.ranged import ranged_response

BODY = bytes(n % 251 for n in range(10_000))


def asked(header: str | None):
    headers = {} if header is None else {"range": header}
    return ranged_response(RequestFactory().get("/", headers=headers), BODY, "audio/wav")


@pytest.mark.parametrize(
    ("header", "first", "last"),
    [
        ("bytes=0-499", 0, 499),
        ("bytes=500-999", 500, 999),
        ("bytes=-500", 9500, 9999),
        ("bytes=9500-", 9500, 9999),
        ("bytes=0-0", 0, 0),
        ("bytes=-1", 9999, 9999),
        ("bytes=0-", 0, 9999),
        ("bytes=9999-20000", 9999, 9999),
        ("bytes=-20000", 0, 9999),
    ],
)
def test_a_part(header, first, last):
    response = asked(header)
    assert response.status_code == 206
    assert response.content == BODY[first : last + 1]
    assert response["Content-Range"] == f"bytes {first}-{last}/10000"
    assert response["Content-Length"] == str(last - first + 1)


@pytest.mark.parametrize("header", [None, "", "bytes=", "bytes=-", "bytes=5-3", "lines=0-5", "bytes=0-5,10-12"])
def test_the_whole(header):
    response = asked(header)
    assert response.status_code == 200
    assert response.content == BODY
    assert response["Accept-Ranges"] == "bytes"
    assert response["Content-Length"] == "10000"


@pytest.mark.parametrize("header", ["bytes=10000-", "bytes=20000-30000", "bytes=-0"])
def test_what_there_is_not(header):
    response = asked(header)
    assert response.status_code == 416
    assert response.content == b""
    assert response["Content-Range"] == "bytes */10000"
