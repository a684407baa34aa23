"""The homeowner's side of a variation: a short letter behind a link, and an answer to it."""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from uuid import UUID

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST, require_safe

from contractor.accounts.selectors import the_firm
from contractor.billing import services
from contractor.billing.forms import ApproveForm, DeclineForm
from contractor.billing.models import Variation
from contractor.billing.selectors import photo_shown, photos_shown, variation_behind
from contractor.common.addresses import client_address
from contractor.common.files import file_response
from contractor.common.links import made_private
from contractor.common.pdf import pdf_response

READABLE = (Variation.Status.SENT, Variation.Status.APPROVED, Variation.Status.DECLINED)


def behind_link(view: Callable) -> Callable:
    """Find the variation of `token`; every answer carries the headers that keep its address private."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, **more) -> HttpResponse:
        found = variation_behind(token)
        if found and found.status in READABLE:
            response = view(request, found, token, **more)
        else:
            context = {"firm": the_firm(), "variation": found}
            response = render(request, "billing/closed.html", context, status=410 if found else 404)
        return made_private(response)

    return login_not_required(opened)


@require_safe
@behind_link
def letter(request: HttpRequest, found: Variation, token: str) -> HttpResponse:
    if not (request.user.is_authenticated and request.user.works_in_office):
        services.note_opened(variation=found)
    return _letter(request, found, token)


def _letter(request, found, token, approve_form=None, decline_form=None) -> HttpResponse:
    context = {
        "variation": found,
        "d": found.document,
        "firm": found.document["firm"],
        "token": token,
        "approve_form": approve_form or ApproveForm(),
        "decline_form": decline_form or DeclineForm(),
        "is_late": "late" in request.GET,
    }
    return render(request, "billing/letter.html", context)


@require_safe
@behind_link
def pdf(request: HttpRequest, found: Variation, token: str) -> HttpResponse:
    return variation_paper(found)


def variation_paper(found: Variation) -> HttpResponse:
    """What the homeowner was sent, with their answer, on A4."""
    context = {
        "d": found.document,
        "firm": found.document["firm"],
        "variation": found,
        "photos": [{"file": photo.full.name, "taken_at": photo.taken_at} for photo in photos_shown(found)],
    }
    return pdf_response("print/variation.html", context, f"variation-{found.job.number}-{found.number}.pdf")


@require_safe
@behind_link
def photo(request: HttpRequest, found: Variation, token: str, key: UUID) -> HttpResponse:
    return file_response(photo_shown(found, key).full)


# Exempt from the CSRF check for the reason that stands beside the proposal's: the token is the key, no cookie is.
@csrf_exempt
@require_POST
@behind_link
def approve(request: HttpRequest, found: Variation, token: str) -> HttpResponse:
    form = ApproveForm(request.POST)
    if found.status == Variation.Status.SENT:
        if not form.is_valid():
            return _letter(request, found, token, approve_form=form)
        _answer(request, found, approved=True, typed_name=form.cleaned_data["typed_name"])
    return _as_it_stands(found, token, Variation.Status.APPROVED)


@csrf_exempt
@require_POST
@behind_link
def decline(request: HttpRequest, found: Variation, token: str) -> HttpResponse:
    form = DeclineForm(request.POST)
    if found.status == Variation.Status.SENT:
        if not form.is_valid():
            return _letter(request, found, token, decline_form=form)
        _answer(request, found, approved=False, reason=form.cleaned_data["reason"])
    return _as_it_stands(found, token, Variation.Status.DECLINED)


def _answer(request: HttpRequest, found: Variation, **values) -> None:
    """One that was answered or withdrawn meanwhile stays as it is; the page that follows says so."""
    with suppress(services.NotOpen):
        services.variation_answer(
            variation=found,
            address=client_address(request),
            browser=request.headers.get("User-Agent", ""),
            **values,
        )


def _as_it_stands(found: Variation, token: str, wanted: str) -> HttpResponse:
    """On to the letter; who wanted another answer than the one that stands is told so there, but not who tapped twice."""
    found.refresh_from_db(fields=["status"])
    return redirect(reverse("billing:letter", args=[token]) + ("" if found.status == wanted else "?late"))
