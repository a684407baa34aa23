"""The catalogue at a glance, and how far its prices are the firm's own."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from contractor.accounts.access import office_only
from contractor.catalogue import selectors


@office_only
@require_GET
def overview(request: HttpRequest) -> HttpResponse:
    context = {
        "prices": selectors.price_state(),
        "counts": selectors.catalogue_counts(),
        "stale_after_days": selectors.STALE_AFTER_DAYS,
    }
    return render(request, "catalogue/overview.html", context)
