"""Suppliers: list, form, deletion."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import selectors, services
from contractor.catalogue.forms import SupplierForm
from contractor.catalogue.models import Supplier


@office_only
@require_GET
def supplier_list(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/suppliers.html", {"suppliers": selectors.suppliers()})


@office_only
def supplier_new(request: HttpRequest) -> HttpResponse:
    form = SupplierForm(request.POST or None)
    if form.is_valid():
        saved = services.supplier_save(by=request.user, **form.cleaned_data)
        messages.success(request, f"{saved.name} is saved.")
        return redirect(saved)
    return render(request, "catalogue/supplier.html", {"form": form})


@office_only
def supplier(request: HttpRequest, supplier_id: int) -> HttpResponse:
    found = selectors.supplier_for(supplier_id)
    form = SupplierForm(request.POST or None, instance=selectors.supplier_for(supplier_id))
    if form.is_valid():
        services.supplier_save(by=request.user, supplier=found, **form.cleaned_data)
        messages.success(request, f"{found.name} is saved.")
        return redirect(found)
    return _page(request, found, form)


@office_only
@require_POST
def supplier_delete(request: HttpRequest, supplier_id: int) -> HttpResponse:
    found = selectors.supplier_for(supplier_id)
    try:
        services.supplier_delete(supplier=found, by=request.user)
    except services.InUse as refused:
        form = SupplierForm(instance=selectors.supplier_for(supplier_id))
        return _page(request, selectors.supplier_for(supplier_id), form, refused)
    messages.success(request, f"{found.name} is deleted.")
    return redirect("catalogue:suppliers")


def _page(request, found: Supplier, form: SupplierForm, refused: services.InUse | None = None) -> HttpResponse:
    context = {"form": form, "supplier": found, "materials": found.materials.all(), "refused": refused}
    context["price_list"] = found.price_lists.first()
    return render(request, "catalogue/supplier.html", context)
