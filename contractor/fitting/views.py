"""The day, the steps and the cut list: on the fitters' phones, in the office, and on paper."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from contractor.accounts.access import anyone_signed_in, office_only
from contractor.accounts.selectors import the_firm
from contractor.common.files import file_response
from contractor.common.pdf import pdf_response
from contractor.common.qr import qr_code
from contractor.fitting import selectors, services
from contractor.fitting.forms import LeftForm, MeasureForm, TickForm
from contractor.fitting.frame import frame, pack_or_404
from contractor.fitting.models import WorkPack
from contractor.fitting.showing import (
    cautions_shown,
    cut_counts,
    cuts_shown,
    lengths_by_material,
    materials_shown,
    row_of,
    sheets_by_material,
    steps_shown,
)
from contractor.fitting.ticked import step_progress, ticked_html
from contractor.jobs.models import Job


@gzip_page
@require_GET
@anyone_signed_in
def today(request: HttpRequest) -> HttpResponse:
    days = selectors.days_of(request.user)
    jobs = [visit.job for day in days for visit in day.visits]
    progress = selectors.progress_of(jobs)
    shown = [
        (day, [(visit, cautions_shown(visit.job), progress.get(visit.job_id)) for visit in day.visits]) for day in days
    ]
    # The bar at the bottom leads to the first job of the day that has work left.
    nearest = next((v.job for v in days[0].visits if (p := progress.get(v.job_id)) and not p.is_complete), None)
    context = {"days": shown, "bar_job": nearest or next(iter(jobs), None), "here": "today"}
    return render(request, "fitting/today.html", context)


@gzip_page
@require_GET
@anyone_signed_in
def pack(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_on_site(request.user, number)
    found = selectors.pack_of(job)
    context = frame(request, job, "steps", "Steps") | {"pack": found}
    if found:
        ticks = selectors.ticks_of(found)
        faces = steps_shown(found, ticks)
        context |= {
            "faces": faces,
            "holds": selectors.holds_of(found, ticks),
            "surveyed": selectors.survey_photos(found),
            "progress": step_progress(found, ticks),
            "cautions": cautions_shown(job),
            "materials": materials_shown(found),
        }
    elif request.user.works_in_office:
        context["decision"] = selectors.accepted_decision(job)
    return render(request, "fitting/pack.html", context)


@require_safe
@anyone_signed_in
def survey_photo(request: HttpRequest, number: int, photo_id: int, size: str) -> HttpResponse:
    photo = selectors.survey_photo_for(selectors.job_on_site(request.user, number), photo_id)
    return file_response(photo.small if size == "small" else photo.full, name=f"survey-{photo.pk}.jpg")


@gzip_page
@require_GET
@anyone_signed_in
def cuts(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_on_site(request.user, number)
    found = selectors.pack_of(job)
    context = frame(request, job, "cuts", "Cut list") | {"pack": found}
    if found:
        context |= {"faces": cut_counts(found, selectors.ticks_of(found)), "materials": materials_shown(found)}
    return render(request, "fitting/cuts.html", context)


@gzip_page
@require_GET
@anyone_signed_in
def cut_face(request: HttpRequest, number: int, key: str) -> HttpResponse:
    job = selectors.job_on_site(request.user, number)
    return _cut_face_page(request, job, pack_or_404(job), key)


@require_http_methods(["GET", "POST"])
@anyone_signed_in
def left(request: HttpRequest, number: int) -> HttpResponse:
    """What is left of the sheets and lengths that are cut up; what is ticked goes into the store."""
    job = selectors.job_on_site(request.user, number)
    found = pack_or_404(job)
    waiting, stored = selectors.parts_left(found, selectors.ticks_of(found))
    form = LeftForm(request.POST if request.method == "POST" else None, rows=waiting)
    if form.is_valid():
        kept = services.store_left_over(pack=found, rows=form.kept, conditions=form.conditions, user=request.user)
        messages.success(request, f"In store now: {', '.join(kept)}." if kept else "Nothing was put into the store.")
        return redirect("fitting:left", number=number)
    context = frame(request, job, "left", "What is left over") | {"pack": found, "form": form, "stored": stored}
    return render(request, "fitting/left.html", context)


@require_POST
@anyone_signed_in
def measure(request: HttpRequest, number: int, key: str) -> HttpResponse:
    """First shows what a new size changes; confirmed, takes it."""
    job = selectors.job_on_site(request.user, number)
    found = pack_or_404(job)
    face = next((face for face in found.document["faces"] if face["key"] == key), None)
    if face is None or not services.can_remeasure(face):
        raise Http404("No boards are cut for such a surface.")
    form, told = MeasureForm(request.POST, face=face), None
    if form.is_valid():
        size = {name: form.cleaned_data[name] for name in ("width_mm", "height_mm")}
        try:
            if form.cleaned_data["confirmed"]:
                services.remeasure(pack=found, face_key=key, user=request.user, **size)
                messages.success(request, f"{face['label']} is planned again. The list below is the one to cut from.")
                return redirect("fitting:cut-face", number=number, key=key)
            told = services.remeasured_pack(pack=found, face_key=key, **size)[1]
        except (services.CannotReplan, services.ChangedMeanwhile) as problem:
            form.add_error(None, str(problem))
    return _cut_face_page(request, job, found, key, form=form, told=told)


def _cut_face_page(
    request: HttpRequest, job: Job, found: WorkPack, key: str, form: MeasureForm | None = None, told: dict | None = None
) -> HttpResponse:
    """The cut list of a surface; `told` is what the size in the form would change."""
    ticks = selectors.ticks_of(found)
    counts = cut_counts(found, ticks)
    place = next((i for i, (face, _, _) in enumerate(counts) if face["key"] == key), None)
    if place is None:
        raise Http404("Nothing is cut for such a surface.")
    face = counts[place][0]
    context = frame(request, job, "cuts", face["label"]) | {
        "pack": found,
        "form": form or (MeasureForm(face=face) if services.can_remeasure(face) else None),
        "told": told,
        "face": cuts_shown(found, ticks, key=key)[0],
        "holds": selectors.holds_of(found, ticks),
        "progress": selectors.Progress(done=counts[place][1], total=counts[place][2]),
        "before": counts[place - 1][0] if place else None,
        "after": counts[place + 1][0] if place + 1 < len(counts) else None,
    }
    return render(request, "fitting/cut_face.html", context)


@require_POST
@anyone_signed_in
def tick(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_on_site(request.user, number)
    found = pack_or_404(job)
    form = TickForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest("A tick names its row and says done=1 or done=0.")
    key = form.cleaned_data["key"]
    try:
        services.set_tick(pack=found, key=key, is_done=form.cleaned_data["done"] == "1", user=request.user)
    except services.RowGone as gone:
        raise Http404(str(gone)) from gone
    except services.Closed as closed:
        messages.error(request, str(closed))
    if request.htmx:
        return HttpResponse(ticked_html(request, job, found, key))
    dom_id = row_of(found, key, {}).dom_id
    if key.startswith("step:"):
        return redirect(reverse("fitting:pack", args=[number]) + f"#{dom_id}")
    return redirect(reverse("fitting:cut-face", args=[number, key.split(":")[1]]) + f"#{dom_id}")


@require_GET
@anyone_signed_in
def pack_pdf(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_on_site(request.user, number)
    found = pack_or_404(job)
    ticks = selectors.ticks_of(found)
    cut_faces = cuts_shown(found, ticks, on_paper=True)
    context = {
        "firm": the_firm(),
        "job": job,
        "pack": found,
        "printed_on": timezone.localdate(),
        "cautions": cautions_shown(job),
        "materials": materials_shown(found),
        "faces": steps_shown(found, ticks),
        "cut_faces": cut_faces,
        "codes": {face.data["key"]: qr_code(_on_phone(number, face.data["key"])) for face in cut_faces},
        "sheets": sheets_by_material(found),
        "lengths": lengths_by_material(found),
    }
    return pdf_response("print/site.html", context, f"job-{number}-work-pack.pdf")


def _on_phone(number: int, face_key: str) -> str:
    """The whole address of a surface's cut list, for whoever holds the paper."""
    return settings.SITE_URL + reverse("fitting:cut-face", args=[number, face_key])


@require_POST
@office_only
def make(request: HttpRequest, number: int) -> HttpResponse:
    job = selectors.job_on_site(request.user, number)
    decision = selectors.accepted_decision(job)
    if decision is None:
        messages.error(request, "Nothing has been accepted on this job yet.")
        return redirect("fitting:pack", number=number)
    try:
        services.make_pack(
            job=job,
            revision=decision.revision,
            scheme=decision.scheme,
            option=decision.option,
            user=request.user,
            remake=request.POST.get("remake") == "1",
        )
    except (services.PackInUse, services.NothingToMake) as error:
        messages.error(request, f"The pack was left as it is. {error}")
    else:
        messages.success(request, "The work pack is made.")
    return redirect("fitting:pack", number=number)
