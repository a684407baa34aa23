"""On site: what is to come, checked off line by line, and what was used. Each is an act of the phone, or without a script
a plain form."""

from uuid import UUID, uuid4

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from contractor.accounts.access import anyone_signed_in
from contractor.common.pictures import PictureField
from contractor.fitting.frame import frame
from contractor.jobs.models import Job
from contractor.orders import selectors
from contractor.orders.acting import CameForm, UsedForm, line_html, used_html
from contractor.site.selectors import job_on_site
from contractor.site.services import act_take, photo_piece


@gzip_page
@anyone_signed_in
@never_cache
@require_safe
def deliveries(request: HttpRequest, number: int) -> HttpResponse:
    return _deliveries_page(request, job_on_site(request.user, number))


def _deliveries_page(request: HttpRequest, job: Job, bound: CameForm | None = None) -> HttpResponse:
    """`bound` is a form with something wrong in it, shown in its line."""
    named = bound.data.get("line") if bound else None

    def shown(line) -> tuple:
        return line, line_html(request, job, line, bound if line.key == named else None)

    placed = [each for each in selectors.placed_of(job) if not each.order.cancelled_at]
    context = frame(request, job, "deliveries", "Deliveries", step="orders") | {
        "placed": [(each, [shown(line)[1] for line in each.lines]) for each in placed],
        "van": [shown(line)[1] for line in selectors.van_of(job)],
        "others": job.deliveries.select_related("by"),
        "first_day": selectors.first_fitting_day(job),
        "today": timezone.localdate(),
    }
    return render(request, "orders/deliveries.html", context)


@anyone_signed_in
@require_POST
def count(request: HttpRequest, number: int) -> HttpResponse:
    """A count from a plain form, with a photograph if one is chosen."""
    job = job_on_site(request.user, number)
    line = selectors.counted_line(job, request.POST.get("line", ""))
    if line is None:
        messages.error(request, "This line is not on the order any more.")
        return redirect("orders:deliveries", number)
    form = CameForm(request.POST, auto_id=f"came-{line.key}-%s")
    picture = None
    if form.is_valid() and request.FILES.get("photo"):
        try:
            picture = PictureField(required=False).clean(request.FILES["photo"])
        except ValidationError as refused:
            form.add_error("note", " ".join(refused.messages))
    if not form.is_valid():
        return _deliveries_page(request, job, form)
    key = _take(request, job, "came", form)
    if picture is not None:
        photo_piece(
            key=uuid4(), job=job, person=request.user, offset=0, piece=picture.full, size=len(picture.full),
            taken_at=timezone.now(), about=str(key), caption="",
        )  # fmt: skip
    return redirect("orders:deliveries", number)


@anyone_signed_in
@require_POST
def count_all(request: HttpRequest, number: int) -> HttpResponse:
    """Without a script: every line that the page showed as not counted is here whole, but for those counted since."""
    job = job_on_site(request.user, number)
    for key in request.POST.getlist("line"):
        line = selectors.counted_line(job, key)
        if line and not line.standing:
            act_take(
                key=uuid4(), job=job, person=request.user, kind="came", payload={"line": key, "here": str(line.packs)},
                done_at=timezone.now(),
            )  # fmt: skip
    return redirect("orders:deliveries", number)


@gzip_page
@anyone_signed_in
@never_cache
@require_safe
def used(request: HttpRequest, number: int) -> HttpResponse:
    return _used_page(request, job_on_site(request.user, number))


def _used_page(request: HttpRequest, job: Job, bound: UsedForm | None = None) -> HttpResponse:
    named = bound.data.get("material") if bound else None
    rows = selectors.material_of(job)
    context = frame(request, job, "used", "Material used", step="orders") | {
        "rows": [used_html(request, job, row, bound if row.key == named else None) for row in rows],
    }
    return render(request, "orders/used.html", context)


@anyone_signed_in
@require_POST
def say(request: HttpRequest, number: int) -> HttpResponse:
    job = job_on_site(request.user, number)
    row = next((row for row in selectors.material_of(job) if row.key == request.POST.get("material")), None)
    if row is None:
        messages.error(request, "This material was neither ordered nor taken from the van.")
        return redirect("orders:used", number)
    form = UsedForm(request.POST, auto_id=f"used-{row.number}-%s")
    if form.is_valid() and (form.cleaned_data["left_over"] or 0) > row.came + (form.cleaned_data["bought"] or 0):
        form.add_error("left_over", f"Only {row.came + (form.cleaned_data['bought'] or 0)} came.")
    if not form.is_valid():
        return _used_page(request, job, form)
    _take(request, job, "used", form)
    return redirect("orders:used", number)


def _take(request: HttpRequest, job: Job, kind: str, form: forms.Form) -> UUID:
    payload = {name: request.POST.get(name, "") for name in form.fields}
    act = act_take(
        key=uuid4(), job=job, person=request.user, kind=kind, payload=payload, done_at=timezone.now()
    )  # fmt: skip
    messages.success(request, act.told or "Kept.")
    return act.key
