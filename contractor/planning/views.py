"""The plan of treatments: ask, look at the front, make options of it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.planning import page, selectors
from contractor.planning.asking import PlanForm, usual
from contractor.planning.options import options_make, three_of
from contractor.rooms.prediction.bridge import CannotPredict


def _in_job(job: Job, **context) -> dict:
    return {"job": job, "thread": thread_for(job, current="treatment"), **context}


@office_only
@require_GET
def plan(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    basis = selectors.basis_of(job)
    rooms = basis.inputs.rooms
    if not rooms:
        return render(request, "planning/plan.html", _in_job(job, form=None))
    asked = request.GET if "goal" in request.GET else usual(job, basis.inputs.noises, rooms[0]) | request.GET.dict()
    form = PlanForm(asked, rooms=rooms)
    return render(request, "planning/plan.html", _in_job(job, form=form, **_answer(form, basis)))


@office_only
@require_POST
def options(request: HttpRequest, number: int) -> HttpResponse:
    """Make options of the plan that the form asks for."""
    job = job_for(number)
    basis = selectors.basis_of(job)
    if not basis.inputs.rooms:
        return redirect("planning:plan", job.number)
    form = PlanForm(request.POST, rooms=basis.inputs.rooms)
    answer = _answer(form, basis)
    if "found" not in answer:
        return render(request, "planning/plan.html", _in_job(job, form=form, **answer))
    found = answer["found"]
    sets = three_of(found.plan)
    if not sets:
        messages.warning(request, "Nothing that fits would help, so no option was made.")
        return redirect("planning:plan", job.number)
    noise = page.main_noise(found.plan.asked, basis.inputs.noises)
    words = {option: page.summary_of(chosen, found.plan.asked, noise) for option, chosen in sets.items()}
    made = options_make(job=job, room=found.room, sets=sets, words=words, user=request.user)
    _tell(request, made)
    return redirect("rooms:schemes", job.number)


def _tell(request: HttpRequest, made) -> None:
    names = ", ".join(f"“{scheme.name}”" for scheme in made.schemes)
    messages.success(request, f"Made from the plan: {names}. Each can be changed by hand like any other option.")
    for name in made.kept:
        messages.warning(
            request, f"“{name}” had been changed by hand: it is kept as it was, and a new one stands beside it."
        )


def _answer(form: PlanForm, basis: selectors.Basis) -> dict:
    """The plan that a valid form asks for, with what the page shows of it."""
    if not form.is_valid():
        return {}
    room = form.rooms[form.cleaned_data["room"]]
    asked = form.asked(firm=basis.firm, spent=basis.spent)
    try:
        found = selectors.room_plan(basis, room, asked, form.bounds())
    except CannotPredict as problem:
        return {"problem": str(problem), "room": room}
    return {"found": found, "room": room, **page.shown(found, basis, basis.inputs.noises)}
