"""Existing constructions: list, page with section, form, deletion."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import selectors, services
from contractor.catalogue.curve import curve
from contractor.catalogue.forms import ConstructionForm, construction_layer_rows
from contractor.catalogue.forms.constructions import layers_of, rows_from
from contractor.catalogue.models import Construction
from contractor.catalogue.performance.bridge import CannotPredict, bands_of, performance_of
from contractor.catalogue.section import construction_layer_words, section_of_construction, section_of_found
from contractor.catalogue.views.rows import RowsForm
from contractor.common.htmx import page_or_region

PER_PAGE = 25
BLANK_ROW = {"what": "solid", "connection": "none"}


@office_only
@require_GET
def construction_list(request: HttpRequest) -> HttpResponse:
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "kind")}
    found = selectors.constructions_matching(asked["q"], asked["kind"])
    context = {
        "page": Paginator(found, PER_PAGE).get_page(request.GET.get("page")),
        "asked": asked,
        "kinds": Construction.Kind.choices,
        "query": urlencode({name: value for name, value in asked.items() if value}),
    }
    return render(request, page_or_region(request, "catalogue/constructions.html", "constructions-found"), context)


@office_only
@require_GET
def construction(request: HttpRequest, construction_id: int) -> HttpResponse:
    return _page(request, selectors.construction_for(construction_id))


@office_only
def construction_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, None)


@office_only
def construction_edit(request: HttpRequest, construction_id: int) -> HttpResponse:
    return _edit(request, selectors.construction_for(construction_id))


@office_only
@require_POST
def construction_delete(request: HttpRequest, construction_id: int) -> HttpResponse:
    found = selectors.construction_for(construction_id)
    try:
        services.construction_delete(construction=found, by=request.user)
    except services.InUse as refused:
        return _page(request, selectors.construction_for(construction_id), refused)
    messages.success(request, f"{found.name} is deleted.")
    return redirect("catalogue:constructions")


def _page(request, found: Construction, refused: services.InUse | None = None) -> HttpResponse:
    context = {
        "construction": found,
        "section": section_of_construction(found),
        "layers": [(layer.order, construction_layer_words(layer)) for layer in found.layers.all()],
        "refused": refused,
    }
    try:
        context["figures"] = figures = performance_of(found)
        context["bands"] = bands = bands_of(figures)
        line = ("As found", figures.weighted_db, figures.reduction_db)
        context["curve"] = curve([hz for hz, _ in bands], [line])
    except CannotPredict as error:
        context["problem"] = str(error)
    return render(request, "catalogue/construction.html", context)


def _edit(request: HttpRequest, found: Construction | None) -> HttpResponse:
    editing = RowsForm(
        request,
        lambda data: ConstructionForm(data, instance=selectors.construction_for(found.pk) if found else None),
        construction_layer_rows,
        initial=rows_from(found),
        blank=BLANK_ROW,
    )
    if editing.is_valid():
        layers = [form.fields_of_layer for form in editing.rows.filled]
        values = editing.form.cleaned_data
        saved = services.construction_save(by=request.user, construction=found, layers=layers, **values)
        messages.success(request, f"{saved.name} is saved.")
        return redirect(saved)
    typed = editing.right_rows
    saved_layers = list(found.layers.all()) if found else []
    section = section_of_found(editing.name, saved_layers if typed is None else layers_of(typed))
    template = page_or_region(request, "catalogue/construction_form.html", editing.region)
    return render(request, template, {"construction": found, "section": section, **editing.context})
