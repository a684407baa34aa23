"""Visits of a job, and the diary of everyone."""

from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.jobs import selectors, services
from contractor.jobs.cautions import caution_for
from contractor.jobs.dates import asked_day
from contractor.jobs.forms import VisitForm, VisitNewForm
from contractor.jobs.models import Job, Stage, Visit
from contractor.jobs.steps import BOOKABLE
from contractor.jobs.thread import thread_for

DIARY_DAYS = 28


@office_only
@require_GET
def programme(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_for(number)
    context = {
        "job": job,
        "thread": thread_for(job, "programme"),
        "visits": selectors.visits_of(job),
        **_open_cautions(job),
        "today": timezone.localdate(),
    }
    return render(request, "jobs/programme.html", context)


def _open_cautions(job: Job) -> dict:
    return {
        "open_cautions": [caution_for(gate) for gate in selectors.open_gates(job)],
        "is_bookable": job.stage in BOOKABLE,
    }


@office_only
def visit_new(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_for(number)
    form = VisitNewForm(request.POST or None, initial={"purpose": _likely_purpose(job)})
    if form.is_valid():
        try:
            booked = services.visits_book(job=job, by=request.user, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, "Booked." if len(booked) == 1 else f"{len(booked)} days are booked.")
            _warn_of_clashes(request, booked)
            return redirect("jobs:programme", number)
    return _visit_page(request, job, form)


def _likely_purpose(job: Job) -> str:
    before_survey = job.stage in (Stage.ENQUIRY, Stage.SURVEY_BOOKED, Stage.SURVEYED, Stage.SENT)
    return Visit.Purpose.SURVEY if before_survey else Visit.Purpose.FITTING


def _warn_of_clashes(request: HttpRequest, visits: list[Visit]) -> None:
    for visit in visits:
        for clash in selectors.clashes_of(visit):
            messages.warning(request, f"{visit.on_date.day} {visit.on_date:%b %Y}: {clash}")


@office_only
def visit(request: HttpRequest, number: int, visit_id: int) -> HttpResponse:
    job = selectors.job_for(number)
    found = selectors.visit_for(job, visit_id)
    form = VisitForm(request.POST or None, instance=selectors.visit_for(job, visit_id))
    if form.is_valid():
        try:
            changed = services.visit_update(visit=found, by=request.user, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, "The visit is saved.")
            _warn_of_clashes(request, [changed])
            return redirect("jobs:programme", number)
    return _visit_page(request, job, form, selectors.visit_for(job, visit_id))


def _visit_page(request: HttpRequest, job: Job, form: VisitForm, visit: Visit | None = None) -> HttpResponse:
    context = {
        "job": job,
        "thread": thread_for(job, "programme"),
        "form": form,
        "visit": visit,
        **_open_cautions(job),
    }
    return render(request, "jobs/visit.html", context)


@office_only
@require_POST
def visit_delete(request: HttpRequest, number: int, visit_id: int) -> HttpResponse:
    job = selectors.job_for(number)
    services.visit_delete(visit=selectors.visit_for(job, visit_id), by=request.user)
    messages.success(request, "The visit is taken out of the diary.")
    return redirect("jobs:programme", number)


@office_only
@require_GET
def diary(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    first = asked_day(request.GET.get("from", "")) or today
    context = {
        "weeks": selectors.diary(first, DIARY_DAYS),
        "first": first,
        "last": first + timedelta(days=DIARY_DAYS - 1),
        "before": first - timedelta(days=DIARY_DAYS),
        "after": first + timedelta(days=DIARY_DAYS),
        "today": today,
    }
    return render(request, "jobs/diary.html", context)
