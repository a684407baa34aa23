"""A supplier's price list: read, looked at line by line, taken over."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from contractor.accounts.access import office_only
from contractor.catalogue import price_list_services, price_lists, selectors
from contractor.catalogue.forms.price_lists import CodesForm, ColumnsForm, PriceListForm
from contractor.catalogue.models import PriceList

MOST_ABSENT = 30


@office_only
def read(request: HttpRequest) -> HttpResponse:
    form = PriceListForm(request.POST or None, request.FILES or None, initial={"supplier": request.GET.get("supplier")})
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("supplier", "name", "text")}
        kept = price_list_services.price_list_keep(by=request.user, **values)
        return redirect("catalogue:price-list", kept.pk)
    return render(
        request, "catalogue/price_list_read.html", {"form": form, "has_suppliers": selectors.suppliers().exists()}
    )


@office_only
def price_list(request: HttpRequest, list_id: int) -> HttpResponse:
    """What the list changes, by the columns chosen (a GET); the ticked changes are taken over by a POST."""
    kept = selectors.price_list_for(list_id)
    rows = price_lists.read_list(kept.text)
    form = _columns_form(request, rows)
    if not form.is_valid():
        return _page(request, kept, rows, form)
    if request.method == "POST":
        return _take(request, kept, form.columns)
    return _page(request, kept, rows, form, _found(kept, rows, form.columns))


def _columns_form(request: HttpRequest, rows: price_lists.List) -> ColumnsForm:
    guessed = {role: str(place) for role, place in price_lists.guessed_columns(rows.header).items()}
    return ColumnsForm(request.GET if price_lists.PRICE in request.GET else guessed, read=rows)


def _found(kept: PriceList, rows: price_lists.List, columns: price_lists.Columns) -> price_lists.Found:
    return price_lists.compare(rows, columns, list(selectors.priced_at(kept.supplier)))


def _take(request: HttpRequest, kept: PriceList, columns: price_lists.Columns) -> HttpResponse:
    taken, moved = price_list_services.prices_take(
        price_list=kept, columns=columns, keys=request.POST.getlist("take"), by=request.user
    )
    messages.success(request, f"{len(taken)} price{'' if len(taken) == 1 else 's'} taken over from {kept.name}.")
    for change in moved:
        messages.warning(request, f"{change.material.name} was given another price meanwhile: look at it again.")
    return _back(request, kept)


def _page(request, kept: PriceList, rows, form: ColumnsForm, found: price_lists.Found | None = None) -> HttpResponse:
    context = {"list": kept, "rows": rows, "form": form, "found": found, "query": request.GET.urlencode()}
    if found:
        context["codes"] = _codes_form(None, kept, rows, form.columns, found)
    return render(request, "catalogue/price_list.html", context)


def _codes_form(
    data, kept: PriceList, rows, columns: price_lists.Columns, found: price_lists.Found
) -> CodesForm | None:
    """None where nothing is absent, or the list has no numbers to find it by."""
    absent = [material for material in found.absent if material.supplier_id == kept.supplier_id][:MOST_ABSENT]
    if not absent or columns.code is None or columns.name is None:
        return None
    return CodesForm(data, materials=absent, likely=price_lists.likely_rows(rows, columns, absent))


@office_only
@require_POST
def codes(request: HttpRequest, list_id: int) -> HttpResponse:
    """Keep which rows of the list some materials are, and look again."""
    kept = selectors.price_list_for(list_id)
    rows = price_lists.read_list(kept.text)
    form = _columns_form(request, rows)
    if form.is_valid():
        chosen = _codes_form(request.POST, kept, rows, form.columns, _found(kept, rows, form.columns))
        if chosen and chosen.is_valid():
            price_list_services.codes_set(price_list=kept, codes=chosen.codes, by=request.user)
            messages.success(request, f"{len(chosen.codes)} article numbers are kept.")
    return _back(request, kept)


def _back(request: HttpRequest, kept: PriceList) -> HttpResponse:
    return redirect(f"{reverse('catalogue:price-list', args=[kept.pk])}?{request.GET.urlencode()}".rstrip("?"))
