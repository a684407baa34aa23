"""The one place that reads what htmx says about a request."""

from django.http import HttpRequest


def page_or_region(request: HttpRequest, page: str, region: str) -> str:
    """Template name: the named region of `page` when htmx asks for just that, the whole page otherwise."""
    htmx = request.htmx
    wanted = bool(htmx) and not htmx.history_restore_request and (htmx.target or "") == region
    return f"{page}#{region}" if wanted else page
