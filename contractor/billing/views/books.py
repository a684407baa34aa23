"""The firm's invoices, the books as tables, how the firm bills."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from contractor.accounts.access import office_only
from contractor.billing import export, selectors, services, standing
from contractor.billing.forms import ExportForm, SettingsForm
from contractor.common.sheets import ABOUT

PER_PAGE = 25
SHOWN = {"": "All", "open": "Open", "overdue": "Overdue", "over": "To give back"}


@office_only
@require_GET
def books(request: HttpRequest) -> HttpResponse:
    """All invoices, the newest first, with what each still stands open at."""
    show = request.GET.get("show", "")
    show = show if show in SHOWN else ""
    page = Paginator(standing.invoices_standing(show), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "show": show,
        "choices": SHOWN.items(),
        "query": urlencode({"show": show}) if show else "",
        "sums": standing.sums_standing(),
        "today": timezone.localdate(),
        "next_number": selectors.billing_settings().next_number,
    } | _export()
    return render(request, "billing/books.html", context)


def _export(form: ExportForm | None = None) -> dict:
    return {
        "export_form": form or ExportForm(),
        "invoice_columns": export.INVOICE_COLUMNS,
        "payment_columns": export.PAYMENT_COLUMNS,
        "about_tables": ABOUT,
    }


@office_only
@require_http_methods(["GET", "POST"])
def billing_settings(request: HttpRequest) -> HttpResponse:
    settings = selectors.billing_settings()
    form = SettingsForm(request.POST or None, instance=settings, is_begun=selectors.series_is_begun())
    if form.is_valid():
        services.settings_save(settings=form.save(commit=False), user=request.user)
        messages.success(request, "Kept. It stands on the invoices made from now on.")
        return redirect("billing:books")
    return render(request, "billing/settings.html", {"form": form})


@office_only
@require_GET
def table(request: HttpRequest, what: str) -> HttpResponse:
    """Invoices or payments of the days asked for, for a spreadsheet or a bookkeeper's program."""
    form = ExportForm(request.GET)
    if not form.is_valid():
        return render(request, "billing/export.html", _export(form))
    days = form.cleaned_data["first"], form.cleaned_data["last"]
    if what == "invoices":
        body = export.invoices_csv(selectors.invoices_between(*days))
    else:
        body = export.payments_csv(selectors.payments_between(*days))
    response = HttpResponse(body, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{what}.csv"'
    return response
