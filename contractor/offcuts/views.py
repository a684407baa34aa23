"""The offcut store, and what of it a job takes."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.offcuts import selectors, services
from contractor.offcuts.forms import ReserveForm


@office_only
@require_GET
def store(request: HttpRequest) -> HttpResponse:
    rows = [(offcut, selectors.why_discard(offcut)) for offcut in selectors.in_store()]
    return render(request, "offcuts/store.html", {"rows": rows, "to_discard": sum(bool(why) for _, why in rows)})


@office_only
@require_POST
def discard(request: HttpRequest, offcut_id: int) -> HttpResponse:
    offcut = selectors.offcut_for(offcut_id)
    if services.discard(offcut=offcut, by=request.user):
        messages.success(request, f"{offcut.label} is out of the store.")
    else:
        messages.warning(request, f"{offcut.label} had gone already.")
    return redirect("offcuts:store")


@office_only
@require_http_methods(["GET", "POST"])
def for_job(request: HttpRequest, number: int) -> HttpResponse:
    """Reserve offcuts for a job; its layouts cut from these first."""
    job = job_for(number)
    form = ReserveForm(request.POST or None, free=selectors.free_for(job))
    if request.method == "POST" and form.is_valid():
        try:
            services.reserve(job=job, offcuts=form.cleaned_data["offcuts"], by=request.user)
        except services.Taken as taken:
            form.add_error("offcuts", str(taken))
        else:
            messages.success(request, "Reserved. The take-off is laid out anew and cuts from these first.")
            return redirect("offcuts:for-job", number)
    context = {"job": job, "thread": thread_for(job, current="treatment"), "form": form}
    return render(request, "offcuts/for_job.html", context)
