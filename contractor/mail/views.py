"""The e-mails of a job, for the office."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.common.htmx import page_or_region
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.mail import selectors, services


@office_only
@require_GET
@never_cache
def outbox(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    context = selectors.mails_shown(job)
    template = page_or_region(request, "mail/outbox.html", "mails")
    if template == "mail/outbox.html":
        context["thread"] = thread_for(job, current="enquiry")
    return render(request, template, context)


@office_only
@require_GET
@never_cache
def message(request: HttpRequest, message_id: int) -> HttpResponse:
    found = selectors.message_for(message_id)
    context = {"job": found.job, "mail": found, "thread": thread_for(found.job, current="enquiry")}
    return render(request, "mail/message.html", context)


@office_only
@require_POST
def send_again(request: HttpRequest, message_id: int) -> HttpResponse:
    found = selectors.message_for(message_id)
    if services.send_again(message=found, by=request.user):
        messages.success(request, f"The e-mail to {found.to} is on its way again.")
    else:
        messages.warning(request, "Nothing to do: it is on its way, or has gone.")
    return redirect("mail:outbox", found.job.number)
