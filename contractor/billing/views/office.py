"""The office's side: where the money of a job stands, variations, stages, invoices, payments, the books."""

from decimal import Decimal, InvalidOperation

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.billing import export, post, selectors, services
from contractor.billing.documents import variation_document
from contractor.billing.forms import (
    CreditForm,
    ExportForm,
    LineForm,
    PaymentForm,
    SettingsForm,
    StagesForm,
    VariationForm,
)
from contractor.billing.models import Invoice, Payment, Variation, VariationLine
from contractor.billing.services import Refused
from contractor.common.links import show_once, shown_once
from contractor.common.pdf import pdf_response
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.quotes.cancelling import last_day_to_cancel

TOKEN_COOKIE = "new-variation-link"


@office_only
@require_GET
def money(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    contract = selectors.contract_of(job)
    account = selectors.account_of(job, contract) if contract else None
    return _page(request, job, "billing/money.html", {"account": account} | _cooling_off(contract))


def _cooling_off(contract) -> dict:
    """Until when money may have to go back, unless they asked to start early."""
    if contract is None:
        return {}
    last = last_day_to_cancel(timezone.localdate(contract.decision.at))
    return {"cancel_until": last, "is_cooling_off": last >= timezone.localdate()}


@office_only
@require_http_methods(["GET", "POST"])
def variation_new(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    form = VariationForm(request.POST or None)
    if form.is_valid():
        try:
            made = services.variation_start(job=job, user=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("billing:variation", made.pk)
    return _page(request, job, "billing/variation_form.html", {"form": form})


@office_only
@require_http_methods(["GET", "POST"])
def variation_edit(request: HttpRequest, variation_id: int) -> HttpResponse:
    found = selectors.variation_for(variation_id)
    form = VariationForm(request.POST or None, instance=found)
    if form.is_valid():
        try:
            services.variation_change(variation=form.save(commit=False), user=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("billing:variation", found.pk)
    return _page(request, found.job, "billing/variation_form.html", {"form": form, "variation": found})


@office_only
@never_cache
@require_GET
def variation(request: HttpRequest, variation_id: int) -> HttpResponse:
    return _variation_page(request, selectors.variation_for(variation_id))


def _variation_page(request: HttpRequest, found: Variation, problem: str = "") -> HttpResponse:
    account = selectors.account_of(found.job, selectors.contract_of(found.job))
    document = found.document
    if found.is_draft:
        document = variation_document(
            variation=found, job=found.job, firm=the_firm(), contract_sum=account.contract_sum, sent_at=None
        )
    token = shown_once(request, cookie=TOKEN_COOKIE, about=found.pk)
    context = {
        "variation": found,
        "d": document,
        "lines": list(zip(found.lines.all(), document.get("lines", []), strict=False)),
        "problem": problem,
        "link": post.variation_address(token) if token else "",
    }
    response = _page(request, found.job, "billing/variation.html", context)
    if token:
        response.delete_cookie(TOKEN_COOKIE, path=request.path)
    return response


@office_only
@require_http_methods(["GET", "POST"])
def line(request: HttpRequest, variation_id: int, line_id: int | None = None) -> HttpResponse:
    """A line, new ones begun from a line of the accepted quote where one is chosen."""
    found = selectors.variation_for(variation_id)
    row = selectors.line_for(found, line_id) if line_id else VariationLine(variation=found)
    quoted = selectors.contract_of(found.job).lines
    form = LineForm(request.POST or None, instance=row, initial=None if line_id else _like(request, quoted))
    if form.is_valid():
        try:
            services.line_save(line=form.save(commit=False), user=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("billing:variation", found.pk)
    context = {"form": form, "variation": found, "line": row if line_id else None, "quoted": quoted}
    return _page(request, found.job, "billing/line.html", context)


def _like(request: HttpRequest, quoted: list[dict]) -> dict:
    asked = request.GET.get("like", "")
    if asked.isdecimal() and int(asked) < len(quoted):
        return {name: quoted[int(asked)][name] for name in ("description", "unit", "unit_price", "vat_percent")}
    return {"vat_percent": f"{the_firm().vat_percent.normalize():f}", "quantity": 1}


@office_only
@require_POST
def line_delete(request: HttpRequest, variation_id: int, line_id: int) -> HttpResponse:
    found = selectors.variation_for(variation_id)
    return _try(request, found, services.line_delete, line=selectors.line_for(found, line_id))


@office_only
@require_POST
def variation_send(request: HttpRequest, variation_id: int) -> HttpResponse:
    found = selectors.variation_for(variation_id)
    try:
        token = services.variation_send(variation=found, user=request.user)
    except Refused as refusal:
        return _variation_page(request, found, str(refusal))
    messages.success(request, "Frozen and sent. Work on it waits until it is approved, but for making safe.")
    response = redirect("billing:variation", found.pk)
    return show_once(response, cookie=TOKEN_COOKIE, about=found.pk, token=token, path=response.url)


@office_only
@require_POST
def variation_withdraw(request: HttpRequest, variation_id: int) -> HttpResponse:
    found = selectors.variation_for(variation_id)
    return _try(request, found, services.variation_withdraw, variation=found)


def _try(request: HttpRequest, found: Variation, act, **values) -> HttpResponse:
    try:
        act(user=request.user, **values)
    except Refused as refusal:
        return _variation_page(request, selectors.variation_for(found.pk), str(refusal))
    return redirect("billing:variation", found.pk)


@office_only
@require_http_methods(["GET", "POST"])
def stages(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    contract = selectors.contract_of(job)
    if contract is None:
        return redirect("billing:money", number)
    account = selectors.account_of(job, contract)
    form = StagesForm(request.POST or None, stages=[stage.row for stage in account.stages])
    if form.is_valid():
        try:
            services.stages_set(job=job, stages=form.stages, user=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("billing:money", number)
    return _page(request, job, "billing/stages.html", {"form": form, "account": account})


@office_only
@require_POST
def invoice_next(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    try:
        expected = Decimal(request.POST.get("amount", ""))
        made = services.invoice_next(job=job, user=request.user, expected=expected)
    except InvalidOperation:
        messages.error(request, "That was no amount. Nothing was invoiced.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"{made} is made. Send it, or print it.")
        return redirect("billing:invoice", made.pk)
    return redirect("billing:money", number)


@office_only
@require_http_methods(["GET", "POST"])
def invoice(request: HttpRequest, invoice_id: int) -> HttpResponse:
    """The invoice with its payments; a POST writes a payment down."""
    found = selectors.invoice_for(invoice_id)
    form = PaymentForm(
        request.POST or None, instance=Payment(invoice=found), initial={"amount": selectors.open_of(found)}
    )
    if form.is_valid():
        try:
            services.payment_add(payment=form.save(commit=False), user=request.user)
        except Refused as refusal:
            form.add_error("amount", str(refusal))
        else:
            messages.success(request, "The payment is written down.")
            return redirect("billing:invoice", found.pk)
    return _invoice_page(request, found, form, CreditForm())


def _invoice_page(request: HttpRequest, found: Invoice, form: PaymentForm, credit_form: CreditForm) -> HttpResponse:
    context = {
        "invoice": found,
        "d": found.document,
        "form": form,
        "credit_form": credit_form,
        "open": selectors.open_of(found),
        "credited_by": getattr(found, "credited_by", None),
    }
    return _page(request, found.job, "billing/invoice.html", context)


@office_only
@require_GET
def invoice_pdf(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    return pdf_response("print/invoice.html", post.invoice_shown(found), f"{found.kind}-{found.number}.pdf")


@office_only
@require_POST
def invoice_send(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = selectors.invoice_for(invoice_id)
    address = services.invoice_send(invoice=found, user=request.user)
    if address:
        messages.success(request, f"On its way to {address}. The job's e-mails show whether it went.")
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
    payment_form = PaymentForm(initial={"amount": selectors.open_of(found)})
    return _invoice_page(request, found, payment_form, form)


@office_only
@require_POST
def payment_delete(request: HttpRequest, payment_id: int) -> HttpResponse:
    found = selectors.payment_for(payment_id)
    services.payment_delete(payment=found, user=request.user)
    messages.success(request, "The payment is taken off; the record keeps it.")
    return redirect("billing:invoice", found.invoice_id)


@office_only
@require_http_methods(["GET", "POST"])
def books(request: HttpRequest) -> HttpResponse:
    """How the firm bills, and its invoices to take away."""
    settings = selectors.billing_settings()
    is_begun = selectors.invoices_between(None, None).exists()
    form = SettingsForm(request.POST or None, instance=settings, is_begun=is_begun)
    if form.is_valid():
        services.settings_save(settings=form.save(commit=False), user=request.user)
        messages.success(request, "Kept.")
        return redirect("billing:books")
    context = {
        "form": form,
        "export_form": ExportForm(),
        "is_begun": is_begun,
        "next_number": settings.next_number,
        "invoice_columns": export.INVOICE_COLUMNS,
        "payment_columns": export.PAYMENT_COLUMNS,
    }
    return render(request, "billing/books.html", context)


@office_only
@require_GET
def table(request: HttpRequest, what: str) -> HttpResponse:
    """Invoices or payments of the days asked for, for a spreadsheet or a bookkeeper's program."""
    form = ExportForm(request.GET)
    if not form.is_valid():
        return render(request, "billing/export.html", {"export_form": form}, status=200)
    found = selectors.invoices_between(form.cleaned_data["first"], form.cleaned_data["last"])
    body = export.invoices_csv(found) if what == "invoices" else export.payments_csv(found)
    response = HttpResponse(body, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{what}.csv"'
    return response


def _page(request: HttpRequest, job: Job, template: str, context: dict) -> HttpResponse:
    return render(request, template, {"job": job, "thread": thread_for(job, current="money"), **context})
