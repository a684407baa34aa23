"""The completion pack: looked through and made in the office, read by the homeowner behind a link."""

from collections.abc import Callable
from functools import wraps
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.files import file_response
from contractor.common.links import made_private, show_once, shown_once
from contractor.common.pdf import pdf_response
from contractor.handover import selectors, services
from contractor.handover.models import CompletionPack
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for

COOKIE = "new-completion-link"


@office_only
@never_cache
@require_GET
def completion(request: HttpRequest, number: int) -> HttpResponse:
    """What has been made, and what the pack would hold if it were made now."""
    job = job_for(number)
    packs = selectors.packs_of(job)
    draft = selectors.draft_of(job, number=packs[0].number + 1 if packs else 1, made_at=timezone.now())
    token = shown_once(request, cookie=COOKIE, about=job.pk)
    context = {
        "job": job,
        "thread": thread_for(job, current="completion"),
        "packs": packs,
        "d": draft,
        "photos": [row | {"address": reverse("site:photo-small", args=[row["key"]])} for row in draft["photos"]],
        "missing": missing_from(draft),
        "link": request.build_absolute_uri(reverse("handover:pack", args=[token])) if token else "",
    }
    response = render(request, "handover/completion.html", context)
    if token:
        response.delete_cookie(COOKIE, path=request.path)
    return response


def missing_from(draft: dict) -> list[str]:
    """What a homeowner would miss in it."""
    told = []
    if not draft["built"]:
        told.append("No work pack: nothing says what was built.")
    if not draft["photos"]:
        told.append("No photograph of what is now hidden.")
    if not any(test["after"] for test in draft["tests"]):
        told.append("No sound test after the work.")
    if draft["snags_open"]:
        told.append(f"{draft['snags_open']} snag{'s are' if draft['snags_open'] > 1 else ' is'} still open.")
    if not draft["guarantee"]:
        told.append("The firm's settings hold no guarantee.")
    return told


@office_only
@require_POST
def make(request: HttpRequest, number: int) -> HttpResponse:
    made = services.completion_make(job=job_for(number), by=request.user)
    messages.success(request, f"{made} is made. The link shows it from now on.")
    return redirect("handover:completion", number)


@office_only
@require_POST
def link(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    response = redirect("handover:completion", number)
    if "end" in request.POST:
        services.completion_link_revoke(job=job, by=request.user)
        messages.success(request, "The link opens nothing any more.")
        return response
    token = services.completion_link_make(job=job, by=request.user)
    return show_once(response, cookie=COOKIE, about=job.pk, token=token, path=response.url)


@office_only
@require_GET
def office_pdf(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    packs = selectors.packs_of(job)
    return _pdf(packs[0]) if packs else redirect("handover:completion", number)


def behind_link(view: Callable) -> Callable:
    """Give the view (request, pack, token); every answer keeps its address private."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, **kwargs) -> HttpResponse:
        found = selectors.pack_behind(token)
        if found is None:
            return made_private(render(request, "handover/closed.html", {"firm": the_firm()}, status=404))
        if not (request.user.is_authenticated and request.user.works_in_office):
            services.note_opened(link=found[0])
        return made_private(view(request, found[1], token, **kwargs))

    return login_not_required(opened)


@require_safe
@behind_link
def pack(request: HttpRequest, found: CompletionPack, token: str) -> HttpResponse:
    photos = [
        row | {"address": reverse("handover:photo", args=[token, row["key"]])} for row in found.document["photos"]
    ]
    context = {"d": found.document, "firm": found.document["firm"], "pack": found, "token": token, "photos": photos}
    return render(request, "handover/pack.html", context)


@require_safe
@behind_link
def pack_pdf(request: HttpRequest, found: CompletionPack, token: str) -> HttpResponse:
    return _pdf(found)


@require_safe
@behind_link
def photo(request: HttpRequest, found: CompletionPack, token: str, key: UUID) -> HttpResponse:
    return file_response(selectors.photo_of(found, key).full)


def _pdf(found: CompletionPack) -> HttpResponse:
    files = selectors.photo_files(found)
    photos = [
        row | {"address": f"media:{files[row['key']].full.name}"}
        for row in found.document["photos"]
        if row["key"] in files
    ]
    context = {"d": found.document, "firm": found.document["firm"], "pack": found, "photos": photos}
    job = found.document["job"]["number"]
    return pdf_response("print/completion.html", context, f"completion-{job}-{found.number}.pdf")
