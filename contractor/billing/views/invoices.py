"""An invoice: read, sent, taken back, and what is written down of its money."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.billing import payment_services, post, selectors, services
from contractor.billing.forms import CreditForm, PaymentForm, RefundForm, SetOffForm
from contractor.billing.models import Invoice, Payment
from contractor.billing.services import Refused
from contractor.billing.views.office import copy_asked
from contractor.common.pdf import pdf_response
from contractor.jobs.thread import thread_for


@office_only
@require_http_methods(["GET", "POST"])
def invoice(request: HttpRequest, invoice_id: int) -> HttpResponse:
    """The invoice with its payments; a POST writes one down that came in."""
    found = selectors.invoice_for(invoice_id)
    if request.method == "GET":
        return _page(request, found)
    form = PaymentForm(request.POST, instance=Payment(invoice=found))
    if form.is_valid():
        given = form.cleaned_data
        try:
            payment_services.payment_add(
                payment=form.save(commit=False), user=request.user, expected=given["expected"], is_more=given["is_more"]
            )
        except payment_services.MoreThanOpen as refusal:
            form.ask_whether_more()
            form.add_error("amount", str(refusal))
        except Refused as refusal:
            _refuse(form, refusal, found)
        else:
            messages.success(request, "The payment is written down.")
            return redirect("billing:invoice", found.pk)
    return _page(request, selectors.invoice_for(invoice_id), payment=form)


@office_only
@require_POST
def payment_back(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    form = RefundForm(request.POST, instance=Payment(invoice=found), auto_id="back-%s")
    if form.is_valid():
        try:
            payment_services.payment_back(
                payment=form.save(commit=False), user=request.user, expected=form.cleaned_data["expected"]
            )
        except Refused as refusal:
            _refuse(form, refusal, found)
        else:
            messages.success(request, "The refund is written down.")
            return redirect("billing:invoice", found.pk)
    return _page(request, selectors.invoice_for(invoice_id), refund=form)


def _refuse(form: PaymentForm | RefundForm, refusal: Refused, found: Invoice) -> None:
    """Say why beside the sum; what is sent again then goes by what stands now."""
    form.add_error("amount", str(refusal))
    form.data = form.data.copy()
    form.data["expected"] = str(selectors.open_of(selectors.invoice_for(found.pk)))


@office_only
@require_POST
def set_off(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    form = SetOffForm(request.POST, others=selectors.open_beside(found), auto_id="setoff-%s")
    if form.is_valid():
        given = form.cleaned_data
        other = selectors.invoice_for(given["other"])
        try:
            moved = payment_services.set_off(invoice=found, other=other, user=request.user, expected=given["expected"])
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"£{moved:,.2f} is set against {other}.")
            return redirect("billing:invoice", found.pk)
    return _page(request, found, setting_off=form)


@office_only
@require_POST
def payment_take_back(request: HttpRequest, payment_id: int) -> HttpResponse:
    found = selectors.payment_for(payment_id)
    try:
        payment_services.payment_take_back(payment=found, user=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "It is taken back; both entries stay in the books.")
    return redirect("billing:invoice", found.invoice_id)


def _page(request: HttpRequest, found: Invoice, *, payment=None, refund=None, setting_off=None, credit=None):
    """The page with blank forms where none is given; which of them can be used follows from how the invoice stands."""
    still, paid = selectors.open_of(found), selectors.paid_of(found)
    others = selectors.open_beside(found) if still < 0 else []
    shown = {"expected": still, "on_date": timezone.localdate()}
    context = {
        "job": found.job,
        "thread": thread_for(found.job, current="money"),
        "invoice": found,
        "d": found.document,
        "open": still,
        "over": max(-still, 0),
        "paid": paid,
        "today": timezone.localdate(),
        "credited_by": getattr(found, "credited_by", None),
        "mails": post.mails_about(found),
        "form": payment or PaymentForm(initial=shown | {"amount": max(still, 0)}),
        "refund_form": refund or RefundForm(initial=shown | {"amount": max(-still, 0) or paid}, auto_id="back-%s"),
        "set_off_form": setting_off or (others and SetOffForm(others=others, initial=shown, auto_id="setoff-%s")),
        "credit_form": credit or CreditForm(),
    }
    return render(request, "billing/invoice.html", context)


@office_only
@require_GET
def invoice_pdf(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    return pdf_response("print/invoice.html", post.invoice_shown(found), f"{found.kind}-{found.number}.pdf")


@office_only
@require_POST
def invoice_send(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    address = services.invoice_send(invoice=found, user=request.user, copy=copy_asked(request))
    if address:
        messages.success(request, f"It goes to {address}; below stands what becomes of it.")
    else:
        messages.warning(request, "The customer has no e-mail address: print it.")
    return redirect("billing:invoice", found.pk)


@office_only
@require_POST
def invoice_credit(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    form = CreditForm(request.POST)
    if form.is_valid():
        try:
            made = services.invoice_credit(invoice=found, user=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("billing:invoice", made.pk)
    return _page(request, found, credit=form)
