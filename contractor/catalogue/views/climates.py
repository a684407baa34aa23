"""Climates: the year outdoors that the damp check reckons with."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import selectors, services
from contractor.catalogue.forms import ClimateForm


@office_only
@require_GET
def climate_list(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/climates.html", {"climates": selectors.climates()})


@office_only
def climate_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, "New climate")


@office_only
def climate(request: HttpRequest, climate_id: int) -> HttpResponse:
    found = selectors.climate_for(climate_id)
    return _edit(request, found.name, found)


@office_only
@require_POST
def climate_use(request: HttpRequest, climate_id: int) -> HttpResponse:
    found = selectors.climate_for(climate_id)
    services.climate_use(row=found, by=request.user)
    messages.success(request, f"Damp is reckoned with “{found.name}” from now on.")
    return redirect("catalogue:climates")


@office_only
@require_POST
def climate_delete(request: HttpRequest, climate_id: int) -> HttpResponse:
    found = selectors.climate_for(climate_id)
    services.climate_delete(row=found, by=request.user)
    messages.success(request, f"{found.name} is deleted.")
    return redirect("catalogue:climates")


def _edit(request: HttpRequest, heading: str, found=None) -> HttpResponse:
    form = ClimateForm(request.POST or None, instance=found)
    if form.is_valid():
        saved = services.climate_save(by=request.user, row=found, **form.values())
        messages.success(request, f"{saved.name} is saved.")
        return redirect("catalogue:climates")
    return render(request, "catalogue/climate_form.html", {"form": form, "heading": heading, "row": found})
