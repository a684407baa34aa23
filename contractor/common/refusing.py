"""What no page should have to think of."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest


def refuse_nul(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: an address that asks for a NUL character, which PostgreSQL keeps in no text, is a bad one. Forms refuse
    it in what is typed, beside its field."""

    def answered(request: HttpRequest) -> HttpResponse:
        if "%00" in request.META.get("QUERY_STRING", ""):
            return HttpResponseBadRequest("This address holds a character that no text has.")
        return get_response(request)

    return answered
