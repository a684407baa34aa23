"""Customers and their homes."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from contractor.accounts.access import office_only
from contractor.common.htmx import page_or_region
from contractor.customers import selectors, services
from contractor.customers.forms import CustomerForm, PropertyForm

PER_PAGE = 25


@office_only
@require_GET
def customer_list(request: HttpRequest) -> HttpResponse:
    words = request.GET.get("q", "").strip()
    page = Paginator(selectors.customers_matching(words), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "words": words, "query": urlencode({"q": words}) if words else ""}
    return render(request, page_or_region(request, "customers/list.html", "customer-table"), context)


@office_only
def customer_new(request: HttpRequest) -> HttpResponse:
    form = CustomerForm(request.POST or None)
    if form.is_valid():
        saved = services.customer_save(by=request.user, **form.cleaned_data)
        messages.success(request, f"{saved.name} is saved. Now the home.")
        return redirect("customers:property-new", saved.pk)
    return render(request, "customers/customer_form.html", {"form": form})


@office_only
@require_GET
def customer(request: HttpRequest, customer_id: int) -> HttpResponse:
    return render(request, "customers/customer.html", {"customer": selectors.customer_for(customer_id)})


@office_only
def customer_edit(request: HttpRequest, customer_id: int) -> HttpResponse:
    found = selectors.customer_for(customer_id)
    form = CustomerForm(request.POST or None, instance=selectors.customer_for(customer_id))
    if form.is_valid():
        services.customer_save(by=request.user, customer=found, **form.cleaned_data)
        messages.success(request, f"{found.name} is saved.")
        return redirect("customers:customer", customer_id)
    return render(request, "customers/customer_form.html", {"form": form, "customer": found})


@office_only
def property_new(request: HttpRequest, customer_id: int) -> HttpResponse:
    owner = selectors.customer_for(customer_id)
    form = PropertyForm(request.POST or None)
    if form.is_valid():
        services.property_save(by=request.user, customer=owner, **form.cleaned_data)
        messages.success(request, "The home is saved.")
        return redirect("customers:customer", customer_id)
    return render(request, "customers/property_form.html", {"form": form, "customer": owner})


@office_only
def property_edit(request: HttpRequest, property_id: int) -> HttpResponse:
    home = selectors.property_for(property_id)
    form = PropertyForm(request.POST or None, instance=selectors.property_for(property_id))
    if form.is_valid():
        services.property_save(by=request.user, customer=home.customer, home=home, **form.cleaned_data)
        messages.success(request, "The home is saved.")
        return redirect("customers:customer", home.customer_id)
    return render(request, "customers/property_form.html", {"form": form, "customer": home.customer, "home": home})
