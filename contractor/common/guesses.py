"""Wrong tokens in the addresses of private pages, counted by where they come from.

A token of 256 bits cannot be guessed, so a right one always opens: many households share one address. Whoever tries on
is told to wait. The count lies in the cache, which each process of the server keeps for itself unless a shared one is set.
"""

from django.core.cache import cache
from django.http import HttpRequest

from contractor.common.addresses import client_address

MOST, SPAN_S = 30, 900  # far more than a household mistypes


def _key(request: HttpRequest) -> str:
    return f"wrong-tokens:{client_address(request)}"


def note_wrong(request: HttpRequest) -> None:
    """Count one more; the time runs from the first."""
    if not cache.add(_key(request), 1, SPAN_S):
        try:
            cache.incr(_key(request))
        except ValueError:  # it ran out in between
            cache.add(_key(request), 1, SPAN_S)


def are_too_many(request: HttpRequest) -> bool:
    return cache.get(_key(request), 0) >= MOST
