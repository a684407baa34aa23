"""Links that open a page to whoever holds them, without an account.

A token has 256 random bits and only its hash is kept, so neither a guess nor a look at the database finds one. Pages
behind a link carry headers that keep the address from leaking, being kept on the way, or being indexed.
"""

import hashlib
import secrets

from django.conf import settings
from django.http import HttpRequest, HttpResponse

TOKEN_BYTES = 32
PRIVATE = {"Referrer-Policy": "no-referrer", "Cache-Control": "no-store", "X-Robots-Tag": "noindex, nofollow"}
SHOWN_FOR_SECONDS = 600


def new_token() -> str:
    return secrets.token_urlsafe(TOKEN_BYTES)


def token_hash(token: str) -> str:
    """SHA-256, as 64 hexadecimal digits. The token is random enough to need no salt."""
    return hashlib.sha256(token.encode()).hexdigest()


def made_private(response: HttpResponse) -> HttpResponse:
    for name, value in PRIVATE.items():
        response[name] = value
    return response


def show_once(response: HttpResponse, *, cookie: str, about: object, token: str, path: str) -> HttpResponse:
    """Hand a new token to the next page, at `path`, in the maker's own browser: the server keeps it nowhere."""
    response.set_signed_cookie(
        cookie, token, salt=str(about), max_age=SHOWN_FOR_SECONDS, path=path, httponly=True, samesite="Strict",
        secure=settings.SESSION_COOKIE_SECURE,
    )  # fmt: skip
    return response


def shown_once(request: HttpRequest, *, cookie: str, about: object) -> str:
    """The token to show on this page, or nothing. The page deletes the cookie when it has shown it."""
    return request.get_signed_cookie(cookie, default="", salt=str(about), max_age=SHOWN_FOR_SECONDS)
