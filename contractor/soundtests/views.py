"""Sound tests of a job: entered by hand or read from files, side by side with the prediction, and on paper."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.pdf import pdf_response
from contractor.common.tables import CannotRead
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.soundtests import selectors, services, table
from contractor.soundtests.bridge import CannotRate, Refusal
from contractor.soundtests.compare import band_rows, checks_compared, comparisons, judged, measured_alone
from contractor.soundtests.drawing import compared
from contractor.soundtests.forms import (
    BAND_SETS,
    ColumnsForm,
    DetailsForm,
    GridForm,
    ImportForm,
    StartForm,
    TargetForm,
    quantities_for,
)
from contractor.soundtests.models import SoundTest, Target

MOST_PROBLEMS = 12


@office_only
@require_GET
def tests(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    kept = selectors.job_tests(job)
    predicted = selectors.predicted_for(job)
    limits = selectors.targets()
    shown = [
        (comparison, compared(comparison), judged(comparison.after or comparison.before, limits))
        for comparison in comparisons(kept, predicted.rooms, predicted.said)
    ]
    context = {"tests": kept, "shown": shown, "checks": checks_compared(kept)}
    return _page(request, job, "soundtests/tests.html", context)


@office_only
@require_GET
def one(request: HttpRequest, test_id: int) -> HttpResponse:
    test = selectors.one_test(test_id)
    return _page(request, test.job, "soundtests/test.html", _shown(test))


@office_only
@require_GET
def pdf(request: HttpRequest, test_id: int) -> HttpResponse:
    test = selectors.one_test(test_id)
    context = _shown(test) | {"firm": the_firm(), "job": test.job}
    return pdf_response("print/sound_test.html", context, f"job-{test.job.number}-sound-test-{test.pk}.pdf")


def _shown(test: SoundTest) -> dict:
    comparison = measured_alone(test)
    return {
        "test": test,
        "comparison": comparison,
        "d": compared(comparison),
        "judged": judged(test, selectors.targets()),
        "band_rows": band_rows(test),
        "positions": {quantity: len(rows) for quantity, rows in test.readings.items()},
    }


@office_only
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest, number: int) -> HttpResponse:
    """First what kind of test it is, by a GET; then its details and the table that fits."""
    job = job_for(number)
    start = StartForm(request.GET if "bands" in request.GET else None)
    if not start.is_valid():
        return _page(request, job, "soundtests/start.html", {"form": start})
    kind, basis = start.cleaned_data["kind"], start.cleaned_data["basis"]
    label, bands = BAND_SETS[start.cleaned_data["bands"]]
    test = SoundTest(job=job, kind=kind, basis=basis, bands=bands)
    return _by_hand(request, test, f"{reverse('sound:new', args=[number])}?{request.GET.urlencode()}", label)


@office_only
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, test_id: int) -> HttpResponse:
    test = selectors.one_test(test_id)
    return _by_hand(request, test, reverse("sound:edit", args=[test.pk]), "")


def _by_hand(request: HttpRequest, test: SoundTest, action: str, label: str) -> HttpResponse:
    posted = request.POST if request.method == "POST" else None
    details = _details(request, test)
    initial = GridForm.initial_of(test) if test.pk else None
    grid = GridForm(posted, bands=test.bands, quantities=quantities_for(test.kind, test.basis), initial=initial)
    if posted is not None and all([details.is_valid(), grid.is_valid()]):
        test = details.save(commit=False)
        test.readings = grid.readings
        try:
            _work_out(test)
        except CannotRate as error:
            grid.refuse(error)
        else:
            services.keep_test(test=test, by=request.user)
            messages.success(request, f"The {test.noun} is kept.")
            return redirect("sound:test", test.pk)
    context = {"test": test, "details": details, "grid": grid, "action": action, "label": label}
    return _page(request, test.job, "soundtests/by_hand.html", context)


def _details(request: HttpRequest, test: SoundTest) -> DetailsForm:
    rooms = selectors.rooms_of(test.job)
    initial = {"room": rooms[0].pk, "volume_m3": round(rooms[0].volume_m3, 1)} if rooms and test.pk is None else None
    return DetailsForm(
        request.POST if request.method == "POST" else None,
        instance=test,
        rooms=rooms,
        is_standard=test.is_standard,
        kind=test.kind,
        initial=initial,
    )


def _work_out(test: SoundTest) -> None:
    if not test.is_standard:
        test.volume_m3 = Decimal(str(round(test.room.volume_m3, 2)))
    services.work_out(test)


@office_only
@require_http_methods(["GET", "POST"])
def read(request: HttpRequest, number: int) -> HttpResponse:
    """Files or pasted cells; what they hold is looked at on the next page."""
    job = job_for(number)
    form = ImportForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        batch = services.files_keep(job=job, files=form.texts, by=request.user)
        kinds = f"?basis={form.cleaned_data['basis']}&kind={form.cleaned_data['kind']}"
        return redirect(reverse("sound:columns", args=[batch]) + kinds)
    return _page(request, job, "soundtests/read.html", {"form": form})


@office_only
@require_http_methods(["GET", "POST"])
def columns(request: HttpRequest, batch: UUID) -> HttpResponse:
    """What each column is, with the details; then the test is made of them."""
    files = selectors.files_of(batch)
    basis = request.GET.get("basis", SoundTest.Basis.STANDARD)
    kind = request.GET.get("kind", "airborne")
    test = SoundTest(job=files[0].job, kind=kind, basis=basis, file_name=", ".join(f.name for f in files)[:120])
    details = _details(request, test)
    by = request.GET.get("by", "")
    posted = request.POST if request.method == "POST" else None
    forms = [
        ColumnsForm(
            posted,
            name=file.name,
            found=table.read_table(file.text),
            quantities=quantities_for(kind, basis),
            by=int(by) if by.isdecimal() else None,
            prefix=f"file-{n}",
        )
        for n, file in enumerate(files)
    ]
    problems: list[str] = []
    if posted is not None and all([details.is_valid(), *(form.is_valid() for form in forms)]):
        test = details.save(commit=False)
        try:
            joined = _joined(forms)
            test.bands, test.readings = joined.bands_hz, joined.positions
            _work_out(test)
        except CannotRead as error:
            problems = [str(error)]
        except CannotRate as error:
            problems = [joined.placed(refusal) for refusal in error.refusals[:MOST_PROBLEMS]]
            if len(error.refusals) > MOST_PROBLEMS:
                problems.append(f"And {len(error.refusals) - MOST_PROBLEMS:,} more like these.")
        else:
            services.keep_test(test=test, by=request.user, made_from=batch)
            messages.success(request, f"The readings are made into a {test.noun}.")
            return redirect("sound:test", test.pk)
    context = {"test": test, "details": details, "forms": forms, "problems": problems, "query": request.GET.urlencode()}
    return _page(request, test.job, "soundtests/columns.html", context)


@dataclass(kw_only=True)
class Joined:
    """The readings of all files together, and where each position stands: (file, its lines)."""

    bands_hz: list[int]
    positions: dict[str, list[list[float]]]
    places: dict[str, list[tuple[str, list[int]]]]

    def placed(self, refusal: Refusal) -> str:
        """Why it is refused, with the file and the row of the reading where it is about a single one."""
        if refusal.position is None:
            return refusal.message
        file, lines = self.places[refusal.quantity][refusal.position]
        line = lines[self.bands_hz.index(refusal.band)] if len(lines) > 1 else lines[0]
        return f"{file}, row {line:,}: {refusal.message}"


def _joined(forms: list[ColumnsForm]) -> Joined:
    """Raises CannotRead where the bands of the files differ or nothing is chosen."""
    bands: list[int] = []
    joined: dict[str, list[list[float]]] = {}
    places: dict[str, list[tuple[str, list[int]]]] = {}
    for form in forms:
        found = _of_file(form)
        if not found.positions:
            continue
        if bands and found.bands_hz != bands:
            raise CannotRead(f"{form.name} has other bands than the file before it.")
        bands = found.bands_hz
        for quantity, rows in found.positions.items():
            joined.setdefault(quantity, []).extend(rows)
            places.setdefault(quantity, []).extend((form.name, lines) for lines in found.lines[quantity])
    if not joined:
        raise CannotRead("Say of at least one column what it measured.")
    return Joined(bands_hz=bands, positions=joined, places=places)


def _of_file(form: ColumnsForm) -> table.Readings:
    try:
        return form.readings()
    except CannotRead as error:
        raise CannotRead(f"{form.name}: {error}") from None


@office_only
@require_POST
def delete(request: HttpRequest, test_id: int) -> HttpResponse:
    test = selectors.one_test(test_id)
    services.delete_test(test=test, by=request.user)
    messages.success(request, f"The {test.noun} is deleted; the record keeps its readings.")
    return redirect("sound:tests", test.job.number)


@office_only
@require_GET
def targets(request: HttpRequest) -> HttpResponse:
    return render(request, "soundtests/targets.html", {"targets": selectors.targets()})


@office_only
@require_http_methods(["GET", "POST"])
def target(request: HttpRequest, target_id: int | None = None) -> HttpResponse:
    found = selectors.target_for(target_id) if target_id else Target()
    form = TargetForm(request.POST or None, instance=found)
    if form.is_valid():
        services.target_save(target=form.save(commit=False), by=request.user)
        messages.success(request, "The target is kept.")
        return redirect("sound:targets")
    return render(request, "soundtests/target.html", {"form": form, "target": found if target_id else None})


@office_only
@require_POST
def target_delete(request: HttpRequest, target_id: int) -> HttpResponse:
    services.target_delete(target=selectors.target_for(target_id), by=request.user)
    messages.success(request, "The target is deleted. Kept results do not change.")
    return redirect("sound:targets")


def _page(request: HttpRequest, job: Job, template: str, context: dict) -> HttpResponse:
    return render(request, template, {"job": job, "thread": thread_for(job, current="sound"), **context})
