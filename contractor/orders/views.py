"""The order lists of a job: the page with the van's stock, the table for a spreadsheet, the paper."""

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.pdf import pdf_response
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.orders import selectors, services
from contractor.orders.forms import VanForm
from contractor.orders.lists import OrderList, order_lists
from contractor.orders.sheet import order_csv
from contractor.rooms import services as rooms


@dataclass(frozen=True, kw_only=True)
class Orders:
    job: Job
    options: selectors.Options
    first_day: date | None
    lists: list[OrderList]
    problems: list[dict]
    is_preview: bool
    from_store: list[dict]

    @property
    def query(self) -> str:
        return f"?option={self.options.chosen.pk}" if self.options.chosen else ""


@office_only
@require_http_methods(["GET", "POST"])
def orders(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    form = VanForm(request.POST if request.method == "POST" else None, lists=found.lists)
    if form.is_valid():
        services.van_set(job=found.job, packs=form.packs, by=request.user)
        messages.success(request, "What is in the van is taken off the lists.")
        return redirect(reverse("orders:orders", args=[number]) + found.query)
    return render(
        request,
        "orders/orders.html",
        {
            "job": found.job,
            "thread": thread_for(found.job, current="orders"),
            "orders": found,
            "form": form,
            "cost": sum(order.cost for order in found.lists),
            "mass_kg": sum(order.mass_kg for order in found.lists),
            "is_begun": found.first_day is not None and found.first_day <= timezone.localdate(),
            "is_late": any(order.is_late for order in found.lists),
            "is_illustrative": any(line.is_illustrative for order in found.lists for line in order.lines),
        },
    )


@office_only
@require_GET
def order_table(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    response = HttpResponse(order_csv(found.job, _asked(request, found.lists)), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="job-{number}-order.csv"'
    return response


@office_only
@require_GET
def order_pdf(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    context = {
        "firm": the_firm(),
        "job": found.job,
        "orders": found,
        "lists": [order for order in _asked(request, found.lists) if order.to_order],
        "printed_on": timezone.localdate(),
    }
    return pdf_response("print/order.html", context, f"job-{number}-order.pdf")


def _orders(request: HttpRequest, number: int) -> Orders:
    """The lists of the option asked for, as survey, catalogue and van stand now."""
    job = job_for(number)
    options = selectors.options_of(job, request.GET.get("option", ""))
    takeoff = rooms.calculate(scheme=options.chosen).takeoff if options.chosen else {"buy": [], "problems": []}
    first_day = selectors.first_fitting_day(job)
    materials = selectors.materials_for(row["material_key"] for row in takeoff["buy"])
    lists = order_lists(takeoff["buy"], materials, selectors.from_van(job), first_day, timezone.localdate())
    return Orders(
        job=job,
        options=options,
        first_day=first_day,
        lists=lists,
        problems=takeoff["problems"],
        is_preview=takeoff.get("is_preview", False),
        from_store=[
            stock
            for stock in [*takeoff.get("sheets", []), *takeoff.get("lengths", [])]
            if stock.get("from_offcut") and not stock.get("is_cut_out")
        ],
    )


def _asked(request: HttpRequest, lists: list[OrderList]) -> list[OrderList]:
    """All lists, or the one whose supplier is asked for."""
    wanted = request.GET.get("supplier", "")
    found = [order for order in lists if wanted in ("", order.key)]
    if wanted and not found:
        raise Http404("Nothing of this job is bought from such a supplier.")
    return found
