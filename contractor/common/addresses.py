"""Whose request this is, as an address."""

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest, credentials=None) -> str:
    """The client's IP address. Forwarded headers count only where a proxy of ours sets them (TRUSTED_PROXY)."""
    if settings.TRUSTED_PROXY:
        forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")[-1].strip()
        if forwarded:
            return forwarded
    return request.META.get("REMOTE_ADDR", "")
