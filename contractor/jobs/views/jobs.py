"""The list of jobs, and opening or editing one."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from contractor.accounts.access import office_only
from contractor.common.htmx import page_or_region
from contractor.jobs import selectors, services
from contractor.jobs.forms import JobForm
from contractor.jobs.models import Stage
from contractor.jobs.thread import thread_for

PER_PAGE = 25


@office_only
@require_GET
def job_list(request: HttpRequest) -> HttpResponse:
    words = request.GET.get("q", "").strip()
    stage = request.GET.get("stage", "")
    stage = stage if stage in Stage.values else ""
    page = Paginator(selectors.jobs_matching(words, stage), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "words": words,
        "stage": stage,
        "stages": selectors.stage_counts(),
        "query": urlencode({k: v for k, v in {"q": words, "stage": stage}.items() if v}),
    }
    return render(request, page_or_region(request, "jobs/list.html", "job-table"), context)


@office_only
def job_new(request: HttpRequest) -> HttpResponse:
    property_id = request.GET.get("property", "")
    if not property_id:
        return _choose_home(request)
    if not property_id.isdecimal():
        raise Http404("There is no such home.")
    home = selectors.property_for_job(int(property_id))
    form = JobForm(request.POST or None)
    if form.is_valid():
        job = services.job_create(property=home, by=request.user, **form.cleaned_data)
        messages.success(request, f"Job {job.number} is open. Next: note what is heard.")
        return redirect(job)
    return render(request, "jobs/job_new.html", {"form": form, "home": home})


def _choose_home(request: HttpRequest) -> HttpResponse:
    words = request.GET.get("home", "").strip()
    context = {"words": words, "homes": selectors.homes_matching(words)}
    return render(request, page_or_region(request, "jobs/choose_home.html", "homes"), context)


@office_only
def job_edit(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_for(number)
    form = JobForm(request.POST or None, instance=selectors.job_for(number))
    if form.is_valid():
        services.job_update(job=job, by=request.user, **form.cleaned_data)
        messages.success(request, "The job is saved.")
        return redirect(job)
    return render(request, "jobs/job_edit.html", {"form": form, "job": job, "thread": thread_for(job, "enquiry")})
