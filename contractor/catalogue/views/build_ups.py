"""Build-ups: list, page with section and prediction, form, deletion."""

from copy import copy
from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import selectors, services
from contractor.catalogue.curve import curve
from contractor.catalogue.forms import BuildUpForm, build_up_layer_rows
from contractor.catalogue.forms.build_ups import layers_of, lines, rows_from
from contractor.catalogue.models import BuildUp
from contractor.catalogue.performance.bridge import CannotPredict, improvement_of
from contractor.catalogue.section import section_of_build_up, section_of_built
from contractor.catalogue.views.rows import RowsForm
from contractor.common.htmx import page_or_region

PER_PAGE = 25
BLANK_ROW = {"counts_in_depth": "on", "connection": "none"}


@office_only
@require_GET
def build_up_list(request: HttpRequest) -> HttpResponse:
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "surface")}
    found = selectors.build_ups_matching(asked["q"], asked["surface"])
    context = {
        "page": Paginator(found, PER_PAGE).get_page(request.GET.get("page")),
        "asked": asked,
        "surfaces": BuildUp.Surface.choices,
        "query": urlencode({name: value for name, value in asked.items() if value}),
    }
    return render(request, page_or_region(request, "catalogue/build_ups.html", "build-ups-found"), context)


@office_only
@require_GET
def build_up(request: HttpRequest, build_up_id: int) -> HttpResponse:
    found = selectors.build_up_for(build_up_id)
    context = _figures(request, found)
    return render(request, page_or_region(request, "catalogue/build_up.html", "predicted"), _shown(found) | context)


@office_only
def build_up_new(request: HttpRequest) -> HttpResponse:
    return _edit(request, None)


@office_only
def build_up_edit(request: HttpRequest, build_up_id: int) -> HttpResponse:
    return _edit(request, selectors.build_up_for(build_up_id))


@office_only
@require_POST
def build_up_delete(request: HttpRequest, build_up_id: int) -> HttpResponse:
    found = selectors.build_up_for(build_up_id)
    try:
        services.build_up_delete(build_up=found, by=request.user)
    except services.InUse as refused:
        found = selectors.build_up_for(build_up_id)
        context = _shown(found) | _figures(request, found) | {"refused": refused}
        return render(request, "catalogue/build_up.html", context)
    messages.success(request, f"{found.name} is deleted.")
    return redirect("catalogue:build-ups")


def _shown(found: BuildUp) -> dict:
    layers = list(found.layers.all())
    return {
        "build_up": found,
        "section": section_of_build_up(found),
        "layers": layers,
        "before_starting": [point for point in found.hold_points.all() if point.after_layer_id is None],
        "added_mass_kg_m2": sum(
            layer.material.mass_kg_m2
            for layer in layers
            if layer.role in ("board", "membrane", "resilient") and layer.material and layer.material.mass_kg_m2
        ),
        "tools": lines(found.tools),
    }


def _figures(request: HttpRequest, found: BuildUp) -> dict:
    """The prediction on the construction that was asked for, or on the usual one."""
    bases = selectors.bases_for(found)
    wanted = request.GET.get("on", "")
    base = next((base for base in bases if str(base.pk) == wanted), None) or selectors.usual_base(found, bases)
    context: dict = {"bases": bases, "base": base}
    if base is None:
        return context
    try:
        context["improvement"] = improved = improvement_of(found, base)
    except CannotPredict as error:
        context["problem"] = str(error)
        return context
    if improved:
        sides = [("Before", improved.before), ("After", improved.after)]
        bands_hz = [hz for hz, *_ in improved.bands]
        context["curve"] = curve(bands_hz, [(name, side.weighted_db, side.reduction_db) for name, side in sides])
        alone = ("Alone", improved.gain_db, improved.gained_db)
        context["curve_alone"] = curve(bands_hz, [alone], shows="Added reduction")
    return context


def _edit(request: HttpRequest, found: BuildUp | None) -> HttpResponse:
    editing = RowsForm(
        request,
        lambda data: BuildUpForm(data, instance=copy(found) if found else None),
        build_up_layer_rows,
        initial=rows_from(found),
        blank=BLANK_ROW,
    )
    if editing.is_valid():
        values = editing.form.cleaned_data
        saved = services.build_up_save(
            by=request.user,
            build_up=found,
            layers=[form.fields_of_layer for form in editing.rows.filled],
            before_starting=lines(values.pop("before_starting")),
            **values,
        )
        messages.success(request, f"{saved.name} is saved.")
        return redirect(saved)
    typed = editing.right_rows
    saved_layers = list(found.layers.all()) if found else []
    surface = editing.form["surface"].value()
    section = section_of_built(editing.name, surface, saved_layers if typed is None else layers_of(typed))
    template = page_or_region(request, "catalogue/build_up_form.html", editing.region)
    return render(request, template, {"build_up": found, "section": section, **editing.context})
