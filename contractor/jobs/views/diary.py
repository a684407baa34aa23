"""The office's side of the household's diary: its week, its entries, and the links to write with."""

from datetime import date, timedelta
from urllib.parse import quote

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.links import show_once, shown_once
from contractor.jobs import diary
from contractor.jobs.dates import asked_day
from contractor.jobs.models import DiaryEntry, Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.jobs.week import hours_by_kind, monday_of, week_of

COOKIE = "new-diary-link"


@office_only
@never_cache
def heard(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    entries = diary.entries_of(job)
    first = monday_of(asked_day(request.GET.get("week", "")) or _latest_day(entries))
    token = shown_once(request, cookie=COOKIE, about=job.pk)
    address = f"{settings.SITE_URL}{reverse('jobs:household-diary', args=[token])}" if token else ""
    context = {
        "job": job,
        "thread": thread_for(job, "enquiry"),
        "entries": sorted(entries, key=lambda e: (e.heard_on, e.starts_at, e.pk), reverse=True),
        "week": week_of(entries, first),
        "by_kind": hours_by_kind(entries, first),
        "before": first - timedelta(days=7) if any(e.heard_on < first for e in entries) else None,
        "after": first + timedelta(days=7) if any(e.heard_on > first + timedelta(days=6) for e in entries) else None,
        "links": diary.links_of(job),
        "now": timezone.now(),
        "address": address,
        "mail": _mail(job, address) if address else "",
    }
    response = render(request, "jobs/heard.html", context)
    if token:
        response.delete_cookie(COOKIE, path=request.path)
    return response


def _latest_day(entries: list[DiaryEntry]) -> date:
    return max((entry.heard_on for entry in entries), default=timezone.localdate())


def _mail(job: Job, address: str) -> str:
    """An address that opens a letter with the link in the office's own mail program; nothing without an e-mail."""
    to = job.property.customer.email
    subject = "A diary of what you hear"
    words = (
        f"Please note for a week what you hear, when and how loud. It takes a minute each time:\n\n{address}\n\n"
        f"Keep the link to yourself.\n\n{the_firm().name}"
    )
    return f"mailto:{quote(to)}?subject={quote(subject)}&body={quote(words)}" if to else ""


@office_only
@require_POST
def link_new(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    _, token = diary.link_new(job=job, by=request.user)
    page = reverse("jobs:heard", args=[number])
    return show_once(redirect(page), cookie=COOKIE, about=job.pk, token=token, path=page)


@office_only
@require_POST
def link_revoke(request: HttpRequest, link_id: int) -> HttpResponse:
    link = diary.link_by_id(link_id)
    diary.link_revoke(link=link, by=request.user)
    messages.success(request, "The link opens nothing any more. What was written stays.")
    return redirect("jobs:heard", link.job.number)


@office_only
@require_POST
def take_over(request: HttpRequest, number: int) -> HttpResponse:
    noise = diary.take_over(job=job_for(number), kind=request.POST.get("kind", ""), by=request.user)
    messages.success(request, "Taken over from the diary. Add from where it comes and whether words are understood.")
    return redirect("jobs:noise", number, noise.pk)


@office_only
@require_POST
def entry_delete(request: HttpRequest, number: int, entry_id: int) -> HttpResponse:
    diary.entry_delete(entry=diary.entry_for(entry_id, job=job_for(number)))
    messages.success(request, "The entry is deleted.")
    return redirect("jobs:heard", number)
