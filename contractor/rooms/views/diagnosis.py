"""Where it comes in: the shares of a noise on the room, as it is and with an option built."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from contractor.accounts.access import office_only
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.rooms import selectors_schemes as selectors
from contractor.rooms.calculation import predict_rooms
from contractor.rooms.diagnosis import page
from contractor.rooms.diagnosis.bridge import NOISES, first_noise
from contractor.rooms.forms.diagnosis import DiagnosisForm
from contractor.rooms.inputs import inputs_by_scheme, inputs_to_predict


@office_only
@require_GET
def diagnosis(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    survey = inputs_to_predict(job)
    schemes = selectors.schemes_of(job)
    form = DiagnosisForm(request.GET, noise=first_noise(survey.noises), schemes=schemes)
    chosen = form.chosen_scheme
    inputs = inputs_by_scheme(survey, [chosen])[chosen.pk] if chosen else survey
    predicted = predict_rooms(inputs)
    rooms = [page.shown(inputs, room, predicted, form.noise_key) for room in inputs.rooms]
    context = {
        "job": job,
        "thread": thread_for(job, current="treatment"),
        "form": form,
        "scheme": chosen,
        "noise": NOISES[form.noise_key],
        "rooms": rooms,
    }
    return render(request, "rooms/diagnosis.html", context)
