"""The orders of a job in the office: what to order, what is ordered, the table for a spreadsheet, the paper."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.pdf import pdf_response
from contractor.jobs.models import Job
from contractor.jobs.selectors import closed_from, job_for
from contractor.jobs.thread import thread_for
from contractor.orders import selectors, services
from contractor.orders.forms import CancelForm, MoreForm, OrderForm, PlaceForm, VanForm
from contractor.orders.lists import OrderList, order_lists
from contractor.orders.sheet import order_csv
from contractor.quotes.cancelling import last_day_to_cancel
from contractor.rooms import services as rooms

LONG_AGO = timedelta(days=366)  # longer than any goods take


@dataclass(frozen=True, kw_only=True)
class Orders:
    """The lists of a job: of the accepted option as it was frozen, or before acceptance a preview of an option."""

    job: Job
    accepted: selectors.Accepted | None
    options: selectors.Options
    first_day: date | None
    lists: list[OrderList]
    problems: list[dict]
    is_preview: bool
    from_store: list[dict]

    @property
    def query(self) -> str:
        return "" if self.accepted or not self.options.chosen else f"?option={self.options.chosen.pk}"

    @property
    def cancel_until(self) -> date | None:
        """The last day on which the customer may cancel, while it is to come and no early start was asked for."""
        if self.accepted is None or self.accepted.decision.early_start:
            return None
        day = last_day_to_cancel(timezone.localdate(self.accepted.decision.at))
        return day if day >= timezone.localdate() else None


@office_only
@require_http_methods(["GET", "POST"])
def orders(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    form = VanForm(request.POST if request.method == "POST" else None, lists=found.lists)
    if form.is_valid():
        services.van_set(job=found.job, packs=form.packs, by=request.user)
        messages.success(request, "What is in the van is taken off the lists.")
        return redirect(request.path + found.query)
    return _orders_page(request, found, form)


def _orders_page(
    request: HttpRequest, found: Orders, form: VanForm | None = None, more_form: MoreForm | None = None
) -> HttpResponse:
    lines = [line for order in found.lists for line in order.lines]
    context = {
        "job": found.job,
        "thread": thread_for(found.job, current="orders"),
        "orders": found,
        "form": form or VanForm(lists=found.lists),
        "cost": sum(order.cost for order in found.lists),
        "mass_kg": sum(order.mass_kg for order in found.lists),
        "is_begun": found.first_day is not None and found.first_day <= timezone.localdate(),
        "is_late": any(order.is_late for order in found.lists),
        "is_illustrative": any(line.is_illustrative for line in lines),
        "to_order": sum(bool(line.packs) for line in lines),
        "first_to_order": next((order.key for order in found.lists if order.to_order), None),
        "changed": [line for line in lines if line.changes or line.too_many],
        "today": timezone.localdate(),
    }
    if found.accepted:
        context |= {
            "placed": selectors.placed_of(found.job),
            "more": selectors.more_needed(found.job),
            "more_form": more_form or MoreForm(job=found.job),
        }
    return render(request, "orders/orders.html", context)


@office_only
@require_http_methods(["GET", "POST"])
def place(request: HttpRequest, number: int, supplier: str) -> HttpResponse:
    """Write down what one supplier is asked for."""
    found = _orders(request, number)
    if not found.accepted:
        return _too_early(request, number)
    order_list = next((order for order in found.lists if order.key == supplier), None)
    if order_list is None or not order_list.to_order:
        messages.info(request, "Nothing is left to order there.")
        return redirect("orders:orders", number)
    form = PlaceForm(request.POST or None, order_list=order_list, last=selectors.last_number(found.job))
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("ordered_on", "due_on", "reference", "last_seen")}
        try:
            made = services.order_place(
                job=found.job, supplier=order_list.supplier, lines=form.asked, by=request.user,
                mail=form.cleaned_data.get("mail", False), **values,
            )  # fmt: skip
        except services.NotNow as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{made} is written down. On site it stands under Deliveries.")
            return redirect("orders:orders", number)
    context = {
        "job": found.job,
        "thread": thread_for(found.job, current="orders"),
        "orders": found,
        "list": order_list,
        "form": form,
    }
    return render(request, "orders/place.html", context)


@office_only
@require_http_methods(["GET", "POST"])
def order(request: HttpRequest, number: int, order_number: int) -> HttpResponse:
    """One order: what came of each line and who counted it, when the rest is due."""
    job = job_for(number)
    found = selectors.placed_for(job, order_number)
    form = OrderForm(request.POST or None, instance=found.order)
    if form.is_valid():
        services.order_update(order=found.order, by=request.user, **form.cleaned_data)
        messages.success(request, "Kept. The week counts with the new day.")
        return redirect("orders:order", number, order_number)
    return _order_page(request, job, found, form, CancelForm())


def _order_page(request: HttpRequest, job: Job, found, form: OrderForm, cancel_form: CancelForm) -> HttpResponse:
    needed = {line.key: line for order in _orders(request, job.number).lists for line in order.lines}
    context = {
        "job": job,
        "thread": thread_for(job, current="orders"),
        "placed": found,
        "rows": [(line, needed.get(line.material_key)) for line in found.lines],
        "photos": selectors.photos_of(job, found.lines),
        "form": form,
        "cancel_form": cancel_form,
        "today": timezone.localdate(),
    }
    return render(request, "orders/order.html", context)


@office_only
@require_POST
def cancel(request: HttpRequest, number: int, order_number: int) -> HttpResponse:
    job = job_for(number)
    found = selectors.placed_for(job, order_number)
    form = CancelForm(request.POST)
    if form.is_valid():
        try:
            services.order_cancel(order=found.order, why=form.cleaned_data["why"], by=request.user)
        except services.NotNow as refusal:
            form.add_error("why", str(refusal))
        else:
            messages.success(request, f"{found.order} is cancelled: what it asked for is to order again.")
            return redirect("orders:orders", number)
    return _order_page(request, job, found, OrderForm(instance=found.order), form)


@office_only
@require_POST
def more_add(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    if not found.accepted:
        return _too_early(request, number)
    form = MoreForm(request.POST, job=found.job)
    if not form.is_valid():
        return _orders_page(request, found, more_form=form)
    services.more_add(job=found.job, by=request.user, **form.cleaned_data)
    messages.success(request, "It stands on the lists below.")
    return redirect("orders:orders", number)


@office_only
@require_POST
def more_remove(request: HttpRequest, number: int, more_id: int) -> HttpResponse:
    services.more_remove(more=selectors.more_for(job_for(number), more_id), by=request.user)
    return redirect("orders:orders", number)


@office_only
@require_GET
def order_table(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    if not found.accepted:
        return _too_early(request, number)
    response = HttpResponse(order_csv(found.job, _asked(request, found.lists)), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="job-{number}-order.csv"'
    return response


@office_only
@require_GET
def order_pdf(request: HttpRequest, number: int) -> HttpResponse:
    found = _orders(request, number)
    if not found.accepted:
        return _too_early(request, number)
    context = {
        "firm": the_firm(),
        "job": found.job,
        "orders": found,
        "lists": [order for order in _asked(request, found.lists) if order.to_order],
        "printed_on": timezone.localdate(),
    }
    return pdf_response("print/order.html", context, f"job-{number}-order.pdf")


def _too_early(request: HttpRequest, number: int) -> HttpResponse:
    messages.error(request, "Nothing is ordered before the customer has accepted.")
    return redirect("orders:orders", number)


def _orders(request: HttpRequest, number: int) -> Orders:
    """Of the accepted option its frozen take-off with what changed since; else a preview of the option asked for, as
    survey and catalogue stand now. The van's stock and what is ordered already are taken off."""
    job = job_for(number)
    accepted = selectors.accepted_of(job)
    options = selectors.options_of(job, "" if accepted else request.GET.get("option", ""))
    takeoff = accepted.takeoff if accepted else None
    if takeoff is None:
        chosen = accepted.decision.scheme if accepted else options.chosen
        takeoff = rooms.calculate(scheme=chosen).takeoff if chosen else {"buy": [], "problems": []}
    changes = selectors.changes_since(job, takeoff) if accepted else {}
    first_day = selectors.first_fitting_day(job)
    materials = selectors.materials_for([*(row["material_key"] for row in takeoff["buy"]), *changes])
    lists = order_lists(
        takeoff["buy"], materials, selectors.from_van(job), first_day, timezone.localdate(),
        changes=changes, ordered=selectors.ordered_packs(job) if accepted else None,
        closed=closed_from(timezone.localdate() - LONG_AGO),
    )  # fmt: skip
    return Orders(
        job=job,
        accepted=accepted,
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
