"""The office's changes of a worked-out price: overrides of lines, discounts, the job's rate of VAT."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.files import file_response
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.quotes import hand_services, selectors
from contractor.quotes.drafts import edited_by_hand
from contractor.quotes.forms import DiscountForm, OverrideForm, VatBasisForm
from contractor.quotes.models import Discount
from contractor.quotes.options import options_of

STEP = "quote"


@office_only
@require_http_methods(["GET", "POST"])
def line_override(request: HttpRequest, number: int, scheme_id: int, line_key: str) -> HttpResponse:
    job = job_for(number)
    option = next((option for option in options_of(job) if option.scheme.pk == scheme_id), None)
    lines = option.priced.lines if option else []
    line = next((line for line in lines if line.key == line_key and line.is_worked_out), None)
    if line is None:
        raise Http404("There is no such line any more.")
    standing = selectors.override_of(option.scheme, line_key)
    initial = {name: getattr(standing, name) for name in ("quantity", "unit_price", "reason")} if standing else {}
    form = OverrideForm(request.POST or None, line=line, initial=initial)
    if form.is_valid():
        with edited_by_hand(job=job, user=request.user):
            hand_services.override_set(scheme=option.scheme, line=line, user=request.user, **form.cleaned_data)
        messages.success(request, f"“{line.description}” is set by hand.")
        return redirect("quotes:quote", job.number)
    context = {"job": job, "thread": thread_for(job, current=STEP), "form": form, "line": line, "option": option}
    return render(request, "quotes/override.html", context | {"standing": standing})


@office_only
@require_POST
def override_take_back(request: HttpRequest, override_id: int) -> HttpResponse:
    override = selectors.override_for(override_id)
    with edited_by_hand(job=override.scheme.job, user=request.user):
        hand_services.override_take_back(override=override, user=request.user)
    messages.success(request, f"“{override.line_name}” is no longer set by hand.")
    return redirect("quotes:quote", override.scheme.job.number)


@office_only
@require_http_methods(["GET", "POST"])
def discount_new(request: HttpRequest, number: int) -> HttpResponse:
    return _discount_page(request, Discount(job=job_for(number)))


@office_only
@require_http_methods(["GET", "POST"])
def discount(request: HttpRequest, discount_id: int) -> HttpResponse:
    return _discount_page(request, selectors.discount_for(discount_id))


def _discount_page(request: HttpRequest, found: Discount) -> HttpResponse:
    job = found.job
    form = DiscountForm(request.POST or None, instance=found, job=job)
    if form.is_valid():
        with edited_by_hand(job=job, user=request.user):
            hand_services.discount_save(discount=form.save(commit=False), user=request.user)
        return redirect("quotes:quote", job.number)
    context = {"job": job, "thread": thread_for(job, current=STEP), "form": form, "discount": found}
    return render(request, "quotes/discount.html", context)


@office_only
@require_POST
def discount_delete(request: HttpRequest, discount_id: int) -> HttpResponse:
    found = selectors.discount_for(discount_id)
    with edited_by_hand(job=found.job, user=request.user):
        hand_services.discount_delete(discount=found, user=request.user)
    messages.success(request, "The discount is taken back.")
    return redirect("quotes:quote", found.job.number)


@office_only
@require_http_methods(["GET", "POST"])
def vat(request: HttpRequest, number: int) -> HttpResponse:
    job, firm = job_for(number), the_firm()
    basis = selectors.vat_basis_of(job)
    initial = {"vat_percent": f"{firm.vat_percent.normalize():f}", "vat_reason": "standard"}
    form = VatBasisForm(
        request.POST or None, request.FILES or None, instance=basis, firm=firm, initial={} if basis else initial
    )
    if form.is_valid():
        changed = form.save(commit=False)
        is_standard = changed.vat_percent == firm.vat_percent
        with edited_by_hand(job=job, user=request.user):
            hand_services.vat_set(
                job=job, basis=changed, is_standard=is_standard, user=request.user, **form.paper_values
            )
        return redirect("quotes:quote", job.number)
    context = {"job": job, "thread": thread_for(job, current=STEP), "form": form, "basis": basis, "firm": firm}
    return render(request, "quotes/vat.html", context)


@office_only
def vat_paper(request: HttpRequest, number: int) -> HttpResponse:
    basis = selectors.vat_basis_of(job_for(number))
    if basis is None:
        raise Http404("The standard rate applies; no paper is kept for it.")
    return file_response(basis.vat_paper, name=basis.vat_paper_name, is_download=True)
