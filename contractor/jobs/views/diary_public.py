"""The household's side of its diary: a page behind a link, for a phone. The token in the address is the key."""

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from contractor.accounts.selectors import the_firm
from contractor.common.links import made_private
from contractor.jobs import diary as entries
from contractor.jobs.forms import DiaryEntryForm
from contractor.jobs.models import DiaryEntry, DiaryLink


def behind_link(view: Callable) -> Callable:
    """Find the link of `token` and give it to the view; one that opens nothing gets a page that says so."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, **kwargs) -> HttpResponse:
        link = entries.link_for(token)
        if link is not None and entries.is_open(link):
            response = view(request, link, token=token, **kwargs)
        else:
            context = {"firm": the_firm(), "link": link}
            response = render(request, "jobs/diary_closed.html", context, status=404 if link is None else 410)
        return made_private(response)

    return login_not_required(opened)


# Exempt from the CSRF check for the reason given at the proposal's answers: no cookie lets a person write here.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@behind_link
def diary(request: HttpRequest, link: DiaryLink, token: str) -> HttpResponse:
    now = timezone.localtime()
    begin = {"heard_on": now.date(), "starts_at": now.time().replace(minute=now.minute // 15 * 15, second=0)}
    form = DiaryEntryForm(request.POST or None, initial=begin, instance=DiaryEntry(job=link.job, link=link))
    if form.is_valid():
        try:
            entries.entry_add(link=link, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, "Written down. Thank you.")
            return redirect("jobs:household-diary", token)
    if request.method == "GET":
        entries.note_opened(link=link)
    context = {"firm": the_firm(), "link": link, "token": token, "form": form, "entries": entries.written_with(link)}
    return render(request, "jobs/diary_public.html", context)


@csrf_exempt
@require_POST
@behind_link
def entry_delete(request: HttpRequest, link: DiaryLink, token: str, entry_id: int) -> HttpResponse:
    entries.entry_delete(entry=entries.entry_for(entry_id, link=link))
    messages.success(request, "Taken out.")
    return redirect("jobs:household-diary", token)
