"""The page of a job: what was asked for, what is heard, the cautions and where it stands."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.common.files import file_response
from contractor.common.htmx import page_or_region
from contractor.jobs import selectors, services
from contractor.jobs.cautions import caution_for, reasons_for
from contractor.jobs.forms import GateForm, NoiseForm, StageForm
from contractor.jobs.models import Job, NoiseHeard, Visit
from contractor.jobs.thread import thread_for


@office_only
@require_GET
def job(request: HttpRequest, number: int) -> HttpResponse:
    found = selectors.job_for(number)
    return render(request, "jobs/job.html", _job_page(found, StageForm(job=found)))


def _job_page(job: Job, stage_form: StageForm) -> dict:
    gates = selectors.gates_of(job)
    reasons = reasons_for(job)
    return {
        "job": job,
        "thread": thread_for(job, "enquiry"),
        "noises": selectors.noises_of(job),
        "gates": [(gate, caution_for(gate), reasons.get(gate.kind, [])) for gate in gates],
        "open_count": sum(gate.is_open for gate in gates),
        "history": selectors.history_of(job),
        "survey_visit": selectors.visits_of(job).filter(purpose=Visit.Purpose.SURVEY).last(),
        "stage_form": stage_form,
    }


@office_only
@require_POST
def stage(request: HttpRequest, number: int) -> HttpResponse:
    found = selectors.job_for(number)
    form = StageForm(request.POST, job=found)
    if form.is_valid():
        try:
            services.stage_change(job=found, by=request.user, **form.cleaned_data)
        except ValidationError as refused:
            form.add_error(None, refused)
        else:
            messages.success(request, f"The job now stands at “{found.get_stage_display()}”.")
            return redirect(found)
    return render(request, "jobs/job.html", _job_page(found, form))


def _noises(request: HttpRequest, job: Job, form: NoiseForm | None = None, noise: NoiseHeard | None = None):
    """The region of noises, with the form open when there is one; a whole page to a browser without htmx."""
    context = {"job": job, "noises": selectors.noises_of(job), "noise_form": form, "noise": noise}
    template = page_or_region(request, "jobs/noises.html", "noises")
    if "#" not in template:
        context["thread"] = thread_for(job, "enquiry")
    return render(request, template, context)


def _noises_changed(request: HttpRequest, job: Job) -> HttpResponse:
    if request.htmx:
        return _noises(request, job)
    return redirect(f"{reverse('jobs:job', args=[job.number])}#noises")


@office_only
def noise_new(request: HttpRequest, number: int) -> HttpResponse:
    found = selectors.job_for(number)
    form = NoiseForm(request.POST or None)
    if form.is_valid():
        services.noise_save(job=found, **form.cleaned_data)
        return _noises_changed(request, found)
    return _noises(request, found, form)


@office_only
def noise(request: HttpRequest, number: int, noise_id: int) -> HttpResponse:
    found = selectors.job_for(number)
    heard = selectors.noise_for(found, noise_id)
    form = NoiseForm(request.POST or None, instance=selectors.noise_for(found, noise_id))
    if form.is_valid():
        services.noise_save(job=found, noise=heard, **form.cleaned_data)
        return _noises_changed(request, found)
    return _noises(request, found, form, heard)


@office_only
@require_POST
def noise_delete(request: HttpRequest, number: int, noise_id: int) -> HttpResponse:
    found = selectors.job_for(number)
    services.noise_delete(noise=selectors.noise_for(found, noise_id))
    return _noises_changed(request, found)


@office_only
def gate(request: HttpRequest, number: int, kind: str) -> HttpResponse:
    found = selectors.job_for(number)
    form = GateForm(request.POST or None, request.FILES or None, instance=selectors.gate_for(found, kind))
    if form.is_valid():
        saved = services.gate_update(job=found, kind=kind, by=request.user, **form.cleaned_data)
        still = "still stops work from being booked" if saved.is_open else "no longer stops work"
        messages.success(request, f"{saved.get_kind_display()} is written down; it {still}.")
        return redirect(f"{reverse('jobs:job', args=[number])}#gates")
    context = {
        "job": found,
        "thread": thread_for(found, "enquiry"),
        "form": form,
        "gate": selectors.gate_for(found, kind),
        "caution": caution_for(selectors.gate_for(found, kind)),
        "reasons": reasons_for(found).get(kind, []),
    }
    return render(request, "jobs/gate.html", context)


@office_only
@require_GET
def gate_paper(request: HttpRequest, number: int, kind: str) -> HttpResponse:
    gate = selectors.gate_for(selectors.job_for(number), kind)
    return file_response(gate.paper, name=gate.paper_name, is_download=True)
