"""Labour: rates, allowances of hours, and factors on hours."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import selectors, services
from contractor.catalogue.forms import AllowanceForm, FactorForm, RateForm


@office_only
@require_GET
def labour(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/labour.html", selectors.labour())


@office_only
def rate_new(request: HttpRequest) -> HttpResponse:
    return _new(request, RateForm, services.rate_save, "New labour rate")


@office_only
def rate(request: HttpRequest, rate_id: int) -> HttpResponse:
    return _change(request, selectors.rate_for, rate_id, RateForm, services.rate_save, "rate")


@office_only
@require_POST
def rate_delete(request: HttpRequest, rate_id: int) -> HttpResponse:
    return _delete(request, selectors.rate_for(rate_id), RateForm, "rate")


@office_only
def allowance_new(request: HttpRequest) -> HttpResponse:
    return _new(request, AllowanceForm, services.allowance_save, "New allowance of hours")


@office_only
def allowance(request: HttpRequest, allowance_id: int) -> HttpResponse:
    return _change(request, selectors.allowance_for, allowance_id, AllowanceForm, services.allowance_save, "allowance")


@office_only
@require_POST
def allowance_delete(request: HttpRequest, allowance_id: int) -> HttpResponse:
    return _delete(request, selectors.allowance_for(allowance_id), AllowanceForm, "allowance")


@office_only
def factor_new(request: HttpRequest) -> HttpResponse:
    return _new(request, FactorForm, services.factor_save, "New factor on hours")


@office_only
def factor(request: HttpRequest, factor_id: int) -> HttpResponse:
    return _change(request, selectors.factor_for, factor_id, FactorForm, services.factor_save, "factor")


@office_only
@require_POST
def factor_delete(request: HttpRequest, factor_id: int) -> HttpResponse:
    return _delete(request, selectors.factor_for(factor_id), FactorForm, "factor")


def _new(request: HttpRequest, form_class, save: Callable, heading: str) -> HttpResponse:
    form = form_class(request.POST or None)
    if form.is_valid():
        saved = save(by=request.user, **form.cleaned_data)
        messages.success(request, f"{saved.name} is saved.")
        return redirect("catalogue:labour")
    return render(request, "catalogue/labour_form.html", {"form": form, "heading": heading})


def _change(request: HttpRequest, find: Callable, pk: int, form_class, save: Callable, noun: str) -> HttpResponse:
    found = find(pk)
    form = form_class(request.POST or None, instance=find(pk))
    if form.is_valid():
        save(by=request.user, row=found, **form.cleaned_data)
        messages.success(request, f"{found.name} is saved.")
        return redirect("catalogue:labour")
    return _page(request, found, form, noun)


def _delete(request: HttpRequest, found, form_class, noun: str) -> HttpResponse:
    try:
        services.labour_delete(row=found, by=request.user)
    except services.InUse as refused:
        return _page(request, found, form_class(instance=found), noun, refused)
    messages.success(request, f"{found.name} is deleted.")
    return redirect("catalogue:labour")


def _page(request, found, form, noun: str, refused: services.InUse | None = None) -> HttpResponse:
    context = {
        "form": form,
        "heading": found.name,
        "row": found,
        "change_url": f"catalogue:labour-{noun}",
        "delete_url": f"catalogue:labour-{noun}-delete",
        "refused": refused,
    }
    return render(request, "catalogue/labour_form.html", context)
