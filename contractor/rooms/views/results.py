"""What is built in each option, and what will be heard then."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.rooms import band_shares, graphs, services
from contractor.rooms import selectors_schemes as selectors
from contractor.rooms.calculation import predict_rooms
from contractor.rooms.diagnosis.bridge import strips_in
from contractor.rooms.forms.schemes import NewSchemeForm, TreatmentsForm, choices_with
from contractor.rooms.gaps import gaps_of
from contractor.rooms.inputs import inputs_by_scheme, inputs_to_predict, surveyed_rooms
from contractor.rooms.models import Scheme
from contractor.rooms.rules import rule_sheet
from contractor.rooms.views.listening import rooms_to_listen_to


def in_job(job: Job, **context) -> dict:
    """The context of every page of this step."""
    return {"job": job, "thread": thread_for(job, current="treatment"), **context}


@office_only
@require_GET
def schemes(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    found = selectors.schemes_of(job)
    survey = inputs_to_predict(job)
    inputs = inputs_by_scheme(survey, found)
    options = [{"scheme": scheme, "predicted": predict_rooms(inputs[scheme.pk])} for scheme in found]
    context = in_job(job, options=options, gaps=gaps_of(job, survey.rooms), form=NewSchemeForm(job=job))
    return render(request, "rooms/schemes.html", context)


@office_only
def scheme_new(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    form = NewSchemeForm(request.POST or None, job=job)
    if form.is_valid():
        made = services.scheme_create(
            job=job, name=form.cleaned_data["name"], copy_of=form.cleaned_data["copy_of"], user=request.user
        )
        return redirect("rooms:scheme", made.pk)
    return render(request, "rooms/scheme_new.html", in_job(job, form=form))


@office_only
def scheme(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    form = _treatments_form(request, found)
    if form.is_valid():
        services.scheme_update(
            scheme=found,
            name=form.cleaned_data["name"],
            summary=form.cleaned_data["summary"],
            **_choices(form),
            user=request.user,
        )
        messages.success(request, "The treatment is saved.")
        return redirect("rooms:scheme", found.pk)
    context = in_job(found.job, scheme=found, form=form, **_summary(found, form))
    return render(request, "rooms/scheme.html", context)


@office_only
@require_POST
def scheme_preview(request: HttpRequest, scheme_id: int) -> HttpResponse:
    """The summary for what is chosen in the form, nothing saved."""
    found = selectors.scheme_for(scheme_id)
    form = _treatments_form(request, found)
    form.is_valid()
    return render(request, "rooms/_scheme_summary.html", {"scheme": found, **_summary(found, form)})


@office_only
@require_POST
def scheme_delete(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    services.scheme_delete(scheme=found, user=request.user)
    messages.success(request, f"“{found.name}” is deleted.")
    return redirect("rooms:schemes", found.job.number)


def _treatments_form(request: HttpRequest, scheme: Scheme) -> TreatmentsForm:
    chosen = list(scheme.treatments.all())
    places = selectors.places_of(surveyed_rooms(scheme.job), chosen, rule_sheet(scheme.job))
    return TreatmentsForm(request.POST or None, instance=scheme, places=places, chosen=chosen)


def _choices(form: TreatmentsForm) -> dict:
    """What the valid fields of a form choose, as the prediction wants it; what is saved, for a form not sent."""
    on_patch, on_opening, on_side_path, runs = form.choices_by_place()
    build_ups = selectors.build_ups_by_id({*on_patch.values(), *on_opening.values(), *on_side_path.values()})
    return {
        "on_patch": choices_with(build_ups, on_patch, runs),
        "on_opening": choices_with(build_ups, on_opening),
        "on_side_path": choices_with(build_ups, on_side_path),
    }


def _summary(scheme: Scheme, form: TreatmentsForm) -> dict:
    """What is heard with the choices of the form, and what its strips left clear cost."""
    inputs = inputs_to_predict(scheme.job, **_choices(form))
    predicted = predict_rooms(inputs)
    return {"predicted": predicted, "strips": strips_in(inputs, predicted.rooms)}


@office_only
@require_GET
def prediction(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    kept = services.calculate(scheme=found)
    rooms = [
        {
            "prediction": told,
            "curve": graphs.curve(told),
            "shares": graphs.shares(told),
            "by_band": band_shares.pictures(told, key),
            "octaves": band_shares.octave_table(told),
            "paths": sorted(told["paths"], key=lambda path: -path["share_after"]),
            "sides": [_numbers("As it is", told["before"]), _numbers("After the work", told["after"])],
            "notices": _room_wide(told),
        }
        for key, told in kept.predictions.items()
    ]
    unpredicted = [room for room in kept.takeoff["problems"] if room["face"] in _names_without(found, kept)]
    context = in_job(found.job, scheme=found, rooms=rooms, problems=unpredicted, engine_version=kept.engine_version)
    context["listen_rooms"] = rooms_to_listen_to(found, kept.predictions)
    return render(request, "rooms/prediction.html", context)


def _numbers(label: str, side: dict) -> dict:
    """One side in single numbers, with its ranges in whole decibels: one and two standard uncertainties wide."""
    rated = side["weighted_db"]
    likely, almost_sure = (int(times * side["uncertainty_db"] + 0.5) for times in (1, 2))
    return {
        "label": label,
        "rating": side,
        "for_living_db": rated + side["c_db"],
        "for_bass_db": rated + side["ctr_db"],
        "likely": (rated - likely, rated + likely),
        "almost_sure": (rated - almost_sure, rated + almost_sure),
    }


def _room_wide(told: dict) -> list[dict]:
    """Notices but those of one way in, which stand beside it."""
    beside = {remark for path in told["paths"] for remark in path["remarks"]}
    return [notice for notice in told["notices"] if notice["text"] not in beside]


def _names_without(scheme: Scheme, kept) -> set[str]:
    """Names of rooms that have no prediction."""
    return {room.name for room in scheme.job.rooms.all() if str(room.pk) not in kept.predictions}
