"""What the phone asks for and sends; the page of notes, time, deliveries and photographs; the files of the web app."""

import json
from datetime import datetime
from urllib.parse import unquote
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_POST, require_safe

from contractor.accounts.access import anyone_signed_in, office_only
from contractor.common.files import file_response
from contractor.common.pictures import PictureField
from contractor.jobs.models import Job
from contractor.jobs.thread import thread_for
from contractor.site import selectors, services
from contractor.site.kinds import kind_of, kinds_on_page
from contractor.site.models import Act
from contractor.site.pages import pages_for

MOST_ACTS = 100
WITHOUT_A_FORM = ("snag-done", "override")


@login_not_required
@never_cache
@require_GET
def hello(request: HttpRequest) -> JsonResponse:
    """Who is signed in, and the token that a request which changes something carries."""
    if not request.user.is_authenticated or request.user.password_is_one_time:
        return JsonResponse({"person": None}, status=401)
    return JsonResponse({"person": request.user.pk, "token": get_token(request)})


@login_not_required
@never_cache
@require_POST
def acts(request: HttpRequest) -> JsonResponse:
    """Take acts in the order in which they were done; what came of each."""
    refusal = _not_theirs(request)
    if refusal:
        return refusal
    try:
        sent = json.loads(request.body)["acts"][:MOST_ACTS]
        read = [_read(one) for one in sent]
    except (ValueError, KeyError, TypeError, AttributeError):
        return JsonResponse({"problem": "These are no acts."}, status=400)
    return JsonResponse({"results": [_taken(request, *one) for one in read]})


def _not_theirs(request: HttpRequest) -> JsonResponse | None:
    """401 signed out; 412 where somebody else is signed in than did it: their acts wait on the phone for them."""
    if not request.user.is_authenticated or request.user.password_is_one_time:
        return JsonResponse({"person": None}, status=401)
    if request.headers.get("X-Person") != str(request.user.pk):
        return JsonResponse({"person": request.user.pk}, status=412)
    return None


def _read(one: dict) -> tuple[UUID, int, str, dict, datetime]:
    done_at = parse_datetime(one["at"])
    if done_at is None or not isinstance(one["payload"], dict):
        raise ValueError("no act")
    done_at = done_at if timezone.is_aware(done_at) else timezone.make_aware(done_at)
    return UUID(one["key"]), int(one["job"]), str(one["kind"])[:20], one["payload"], done_at


def _taken(request: HttpRequest, key: UUID, number: int, kind: str, payload: dict, done_at: datetime) -> dict:
    try:
        job = selectors.job_on_site(request.user, number)
    except Http404 as gone:
        return {"key": str(key), "outcome": Act.Outcome.REFUSED, "told": str(gone), "html": ""}
    act = services.act_take(key=key, job=job, person=request.user, kind=kind, payload=payload, done_at=done_at)
    found = kind_of(act.kind)
    html = found.shown(request, act) if found and found.shown else ""
    return {"key": str(key), "outcome": act.outcome, "told": act.told, "html": html}


@anyone_signed_in
@never_cache
@require_GET
def pages(request: HttpRequest) -> JsonResponse:
    return JsonResponse({"pages": pages_for(request.user)})


@login_not_required
@never_cache
@require_POST
def photo_piece(request: HttpRequest, number: int, key: UUID) -> JsonResponse:
    """A piece of a photograph: its place in X-Offset, the whole size in X-Size. 409 says how much is here."""
    refusal = _not_theirs(request)
    if refusal:
        return refusal
    job = selectors.job_on_site(request.user, number)
    try:
        offset, size = int(request.headers["X-Offset"]), int(request.headers["X-Size"])
        taken_at = parse_datetime(request.headers["X-Taken"]) or timezone.now()
    except (KeyError, ValueError):
        return JsonResponse(
            {"problem": "A piece says its place, the size of the whole and when it was taken."}, status=400
        )
    try:
        received, photo = services.photo_piece(
            key=key, job=job, person=request.user, offset=max(offset, 0), piece=request.body, size=size,
            taken_at=taken_at, about=unquote(request.headers.get("X-About", "")),
            caption=unquote(request.headers.get("X-Caption", "")),
        )  # fmt: skip
    except services.WrongPiece as wrong:
        return JsonResponse({"received": wrong.received}, status=409)
    except ValidationError as refused:
        services.upload_drop(key=key, person=request.user)
        return JsonResponse({"problem": " ".join(refused.messages)}, status=422)
    return JsonResponse({"received": received, "done": photo is not None})


@anyone_signed_in
@require_safe
def photo(request: HttpRequest, key: UUID, size: str) -> HttpResponse:
    found = selectors.photo_for(key)
    selectors.job_on_site(request.user, found.job.number)
    return file_response(found.small if size == "small" else found.full)


@gzip_page
@anyone_signed_in
@never_cache
@require_safe
def notes(request: HttpRequest, number: int) -> HttpResponse:
    return _notes_page(request, selectors.job_on_site(request.user, number), {})


@anyone_signed_in
@require_POST
def note_act(request: HttpRequest, number: int, kind: str) -> HttpResponse:
    """An act from a form of the page, where there is no script to queue it; with a photograph if one is chosen."""
    job = selectors.job_on_site(request.user, number)
    if kind not in (*kinds_on_page(), *WITHOUT_A_FORM):
        raise Http404("There is no such form.")
    form = kind_of(kind).form(request.POST, auto_id=f"{kind}-%s")
    picture, problem = _picture(request)
    if not form.is_valid() or problem:
        if problem:
            form.add_error(None, problem)
        return _notes_page(request, job, {kind: form})
    payload = {name: request.POST.get(name, "") for name in form.fields}
    now = timezone.now()
    act = services.act_take(key=uuid4(), job=job, person=request.user, kind=kind, payload=payload, done_at=now)
    if picture is not None:
        services.photo_piece(
            key=uuid4(), job=job, person=request.user, offset=0, piece=picture.full, size=len(picture.full),
            taken_at=now, about=str(act.key), caption="",
        )  # fmt: skip
    messages.success(request, act.told or "Kept.")
    return redirect("site:notes", number)


def _picture(request: HttpRequest):
    """(picture or None, what is wrong with it)."""
    if not request.FILES.get("photo"):
        return None, ""
    try:
        return PictureField(required=False).clean(request.FILES["photo"]), ""
    except ValidationError as refused:
        return None, " ".join(refused.messages)


def _notes_page(request: HttpRequest, job: Job, bound: dict) -> HttpResponse:
    in_office = request.user.works_in_office
    initial = {"time": {"on_date": timezone.localdate()}}
    context = {
        "job": job,
        "bar_job": job,
        "here": "notes",
        "heading": "Notes of the site",
        "base": "jobs/base_job.html" if in_office else "fitting/base_site.html",
        "thread": thread_for(job, current="site") if in_office else None,
        "log": selectors.log_of(job),
        "forms": [
            (
                name,
                kind,
                bound.get(name) or kind.form(initial=initial.get(name), auto_id=f"{name}-%s"),
                kind.listed(job) if kind.listed else [],
            )
            for name, kind in kinds_on_page().items()
        ],
    }
    return render(request, "site/notes.html", context)


@office_only
@require_POST
def looked_at(request: HttpRequest, act_id: int) -> HttpResponse:
    act = selectors.act_for(act_id)
    services.conflict_looked_at(act=act, by=request.user)
    return redirect("site:notes", act.job.number)


@login_not_required
@cache_control(max_age=3600)
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """Makes the site's pages an app that a phone can install."""
    icons = [
        {"src": static("mark.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
        {"src": static("mark-192.png"), "sizes": "192x192", "type": "image/png"},
        {"src": static("mark-512.png"), "sizes": "512x512", "type": "image/png", "purpose": "any maskable"},
    ]
    body = {
        "name": "Quietwright on site",
        "short_name": "Quietwright",
        "start_url": "/today/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#f7f4ee",
        "theme_color": "#f7f4ee",
        "icons": icons,
    }
    return JsonResponse(body, content_type="application/manifest+json")


@login_not_required
@cache_control(no_cache=True)
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, from the root so that it may look after every page."""
    with open(finders.find("js/worker.js"), "rb") as file:
        return HttpResponse(file.read(), content_type="text/javascript; charset=utf-8")
