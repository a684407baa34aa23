"""Materials: list, form, deletion."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import selectors, services
from contractor.catalogue.forms import MaterialForm, PricesForm
from contractor.catalogue.models import Material
from contractor.common.htmx import page_or_region

PER_PAGE = 25
PRICE_CHOICES = [("", "Any price"), ("illustrative", "Illustrative"), ("stale", "Old"), ("missing", "No price")]


@office_only
@require_GET
def material_list(request: HttpRequest) -> HttpResponse:
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "kind", "price")}
    found = selectors.materials_matching(asked["q"], asked["kind"], asked["price"])
    context = {
        "page": Paginator(found, PER_PAGE).get_page(request.GET.get("page")),
        "asked": asked,
        "kinds": Material.Kind.choices,
        "price_choices": PRICE_CHOICES,
        "stale_before": selectors.stale_before(),
        "query": urlencode({name: value for name, value in asked.items() if value}),
    }
    return render(request, page_or_region(request, "catalogue/materials.html", "materials-found"), context)


@office_only
def prices(request: HttpRequest) -> HttpResponse:
    """All prices of one kind on one page."""
    kinds = selectors.kinds_bought()
    wanted = request.GET.get("kind", "")
    kind = wanted if wanted in dict(kinds) else (kinds[0][0] if kinds else "")
    form = PricesForm(request.POST or None, materials=list(selectors.priced_of_kind(kind)))
    if request.method == "POST" and form.is_valid():
        changed = services.prices_set(by=request.user, prices=form.prices, checked=form.checked)
        messages.success(request, f"{len(changed)} price{'' if len(changed) == 1 else 's'} set.")
        return redirect(f"{request.path}?kind={kind}")
    context = {"form": form, "kinds": kinds, "kind": kind, "stale_before": selectors.stale_before()}
    return render(request, "catalogue/prices.html", context)


@office_only
def material_new(request: HttpRequest) -> HttpResponse:
    form = MaterialForm(request.POST or None, initial={"kind": request.GET.get("kind", "")})
    if form.is_valid():
        saved = services.material_save(by=request.user, **form.cleaned_data)
        messages.success(request, f"{saved.name} is in the catalogue.")
        return redirect(saved)
    return render(request, "catalogue/material.html", {"form": form})


@office_only
def material(request: HttpRequest, material_id: int) -> HttpResponse:
    found = selectors.material_for(material_id)
    form = MaterialForm(request.POST or None, instance=selectors.material_for(material_id))
    if form.is_valid():
        services.material_save(by=request.user, material=found, **form.cleaned_data)
        messages.success(request, f"{found.name} is saved.")
        return redirect(found)
    return _page(request, found, form)


@office_only
@require_POST
def material_delete(request: HttpRequest, material_id: int) -> HttpResponse:
    found = selectors.material_for(material_id)
    try:
        services.material_delete(material=found, by=request.user)
    except services.InUse as refused:
        form = MaterialForm(instance=selectors.material_for(material_id))
        return _page(request, found, form, refused)
    messages.success(request, f"{found.name} is deleted.")
    return redirect("catalogue:materials")


def _page(request, found: Material, form: MaterialForm, refused: services.InUse | None = None) -> HttpResponse:
    context = {"form": form, "material": found, "uses": selectors.uses_of(found), "refused": refused}
    return render(request, "catalogue/material.html", context | {"stale_before": selectors.stale_before()})
