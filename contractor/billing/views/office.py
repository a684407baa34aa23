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
from contractor.billing import post, selectors, services
from contractor.billing.documents import variation_document
from contractor.billing.forms import (
    LineForm,
    StagesForm,
    VariationForm,
)
from contractor.billing.models import Variation, VariationLine
from contractor.billing.services import Refused
from contractor.billing.statement import entries_of, statement_of
from contractor.billing.views.letter import variation_paper
from contractor.common.links import show_once, shown_once
from contractor.common.pdf import pdf_response
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.mail.selectors import messages_about
from contractor.quotes.cancelling import last_day_to_cancel

TOKEN_COOKIE = "new-variation-link"


@office_only
@require_GET
def money(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    contract = selectors.contract_of(job)
    account = selectors.account_of(job, contract) if contract else None
    context = {"account": account} | _cooling_off(contract)
    if account:
        context |= {"entries": entries_of(account), "mails": post.mails_about(job)}
    return _page(request, job, "billing/money.html", context)


@office_only
@require_GET
def statement_pdf(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    if selectors.contract_of(job) is None:
        return redirect("billing:money", number)
    return pdf_response("print/statement.html", post.statement_shown(statement_of(job)), f"statement-{number}.pdf")


@office_only
@require_POST
def statement_send(request: HttpRequest, number: int) -> HttpResponse:
    """`copy` as with an invoice."""
    job = job_for(number)
    if selectors.contract_of(job) is None:
        return redirect("billing:money", number)
    address = services.statement_send(job=job, user=request.user, copy=copy_asked(request))
    if address:
        messages.success(request, f"The statement goes to {address}; beside it stands what becomes of it.")
    else:
        messages.warning(request, "The customer has no e-mail address: print it.")
    return redirect("billing:money", number)


def copy_asked(request: HttpRequest) -> int:
    """How many e-mails of the same thing the page knew of, so that a second press sends no second one."""
    copy = request.POST.get("copy", "")[:4]
    return int(copy) if copy.isdecimal() else 0


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


@office_only
@require_GET
def variation_pdf(request: HttpRequest, variation_id: int) -> HttpResponse:
    found = selectors.variation_for(variation_id)
    return variation_paper(found) if found.document else redirect("billing:variation", found.pk)


def _variation_page(request: HttpRequest, found: Variation, problem: str = "") -> HttpResponse:
    account = selectors.account_of(found.job, selectors.contract_of(found.job))
    document = found.document
    if found.is_draft:
        document = variation_document(
            variation=found, job=found.job, firm=the_firm(), contract_sum=account.contract_sum, photos=(), sent_at=None
        )
    token = shown_once(request, cookie=TOKEN_COOKIE, about=found.pk)
    context = {
        "variation": found,
        "d": document,
        "lines": list(zip(found.lines.all(), document.get("lines", []), strict=False)),
        "problem": problem,
        "photos": selectors.photos_of(found) if found.is_draft else selectors.photos_shown(found),
        "mail": next(iter(messages_about(f"variation:{found.pk}")), None),
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


def _page(request: HttpRequest, job: Job, template: str, context: dict) -> HttpResponse:
    return render(request, template, {"job": job, "thread": thread_for(job, current="money"), **context})
