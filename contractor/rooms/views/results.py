"""What is built in each option, what will be heard then, and what it takes."""

from collections import defaultdict

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.catalogue.models import Material
from contractor.common.boards import boards_drawing, sheet_drawing
from contractor.common.templatetags.wording import quantity
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.rooms import band_shares, graphs, services
from contractor.rooms import selectors_schemes as selectors
from contractor.rooms.calculation import Predicted, predict_rooms
from contractor.rooms.forms.schemes import NewSchemeForm, TreatmentsForm, choices_with
from contractor.rooms.gaps import gaps_of
from contractor.rooms.inputs import inputs_by_scheme, inputs_to_predict, surveyed_rooms
from contractor.rooms.models import Scheme
from contractor.rooms.takeoff.lifting import heavy_pieces, heavy_sheets
from contractor.rooms.views.listening import rooms_to_listen_to

FACE_BOX, SHEET_BOX = (520, 400), (190, 360)  # CSS pixels that elevations and sheets are drawn for


def in_job(job: Job, **context) -> dict:
    """The context of every page of this step."""
    return {"job": job, "thread": thread_for(job, current="treatment"), **context}


@office_only
@require_GET
def schemes(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    found = selectors.schemes_of(job)
    survey = inputs_to_predict(job)
    inputs = inputs_by_scheme(survey, found)
    options = [{"scheme": scheme, "predicted": predict_rooms(inputs[scheme.pk])} for scheme in found]
    context = in_job(job, options=options, gaps=gaps_of(survey.rooms), form=NewSchemeForm(job=job))
    return render(request, "rooms/schemes.html", context)


@office_only
def scheme_new(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    form = NewSchemeForm(request.POST or None, job=job)
    if form.is_valid():
        made = services.scheme_create(
            job=job, name=form.cleaned_data["name"], copy_of=form.cleaned_data["copy_of"], user=request.user
        )
        return redirect("rooms:scheme", made.pk)
    return render(request, "rooms/scheme_new.html", in_job(job, form=form))


@office_only
def scheme(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    form = _treatments_form(request, found)
    if form.is_valid():
        on_patch, on_side_path = _choices(form)
        services.scheme_update(
            scheme=found,
            name=form.cleaned_data["name"],
            summary=form.cleaned_data["summary"],
            on_patch=on_patch,
            on_side_path=on_side_path,
            user=request.user,
        )
        messages.success(request, "The treatment is saved.")
        return redirect("rooms:scheme", found.pk)
    predicted = _predicted(found, form)
    return render(request, "rooms/scheme.html", in_job(found.job, scheme=found, form=form, predicted=predicted))


@office_only
@require_POST
def scheme_preview(request: HttpRequest, scheme_id: int) -> HttpResponse:
    """The summary for what is chosen in the form, nothing saved."""
    found = selectors.scheme_for(scheme_id)
    form = _treatments_form(request, found)
    form.is_valid()
    return render(request, "rooms/_scheme_summary.html", {"scheme": found, "predicted": _predicted(found, form)})


@office_only
@require_POST
def scheme_delete(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    services.scheme_delete(scheme=found, user=request.user)
    messages.success(request, f"“{found.name}” is deleted.")
    return redirect("rooms:schemes", found.job.number)


def _treatments_form(request: HttpRequest, scheme: Scheme) -> TreatmentsForm:
    chosen = list(scheme.treatments.all())
    places = selectors.places_of(surveyed_rooms(scheme.job), chosen)
    return TreatmentsForm(request.POST or None, instance=scheme, places=places, chosen=chosen)


def _choices(form: TreatmentsForm):
    """What the valid fields of a form choose, as the prediction wants it; what is saved, for a form not sent."""
    on_patch, on_side_path, runs = form.choices_by_place()
    build_ups = selectors.build_ups_by_id({*on_patch.values(), *on_side_path.values()})
    return choices_with(build_ups, on_patch, runs), choices_with(build_ups, on_side_path)


def _predicted(scheme: Scheme, form: TreatmentsForm) -> Predicted:
    return predict_rooms(inputs_to_predict(scheme.job, *_choices(form)))


@office_only
@require_GET
def prediction(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    kept = services.calculate(scheme=found)
    rooms = [
        {
            "prediction": told,
            "curve": graphs.curve(told),
            "shares": graphs.shares(told),
            "by_band": band_shares.pictures(told, key),
            "octaves": band_shares.octave_table(told),
            "paths": sorted(told["paths"], key=lambda path: -path["share_after"]),
            "sides": [_numbers("As it is", told["before"]), _numbers("After the work", told["after"])],
            "notices": _room_wide(told),
        }
        for key, told in kept.predictions.items()
    ]
    unpredicted = [room for room in kept.takeoff["problems"] if room["face"] in _names_without(found, kept)]
    context = in_job(found.job, scheme=found, rooms=rooms, problems=unpredicted, engine_version=kept.engine_version)
    context["listen_rooms"] = rooms_to_listen_to(found, kept.predictions)
    return render(request, "rooms/prediction.html", context)


def _numbers(label: str, side: dict) -> dict:
    """One side in single numbers, with its ranges in whole decibels: one and two standard uncertainties wide."""
    rated = side["weighted_db"]
    likely, almost_sure = (int(times * side["uncertainty_db"] + 0.5) for times in (1, 2))
    return {
        "label": label,
        "rating": side,
        "for_living_db": rated + side["c_db"],
        "for_bass_db": rated + side["ctr_db"],
        "likely": (rated - likely, rated + likely),
        "almost_sure": (rated - almost_sure, rated + almost_sure),
    }


def _room_wide(told: dict) -> list[dict]:
    """Notices but those of one way in, which stand beside it."""
    beside = {remark for path in told["paths"] for remark in path["remarks"]}
    return [notice for notice in told["notices"] if notice["text"] not in beside]


def _names_without(scheme: Scheme, kept) -> set[str]:
    """Names of rooms that have no prediction."""
    return {room.name for room in scheme.job.rooms.all() if str(room.pk) not in kept.predictions}


@office_only
@require_GET
def takeoff(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    told = services.calculate(scheme=found).takeoff
    context = in_job(
        found.job,
        scheme=found,
        takeoff=told,
        kinds=_by_kind(told["buy"]),
        faces=_drawn_faces(told),
        sheet_groups=_grouped_sheets(told["sheets"]),
        length_groups=_grouped_lengths(told["lengths"]),
        heavy_sheets=heavy_sheets(told),
        heavy_pieces=heavy_pieces(told),
        is_illustrative=any(line["price_is_illustrative"] for line in told["buy"]),
    )
    return render(request, "rooms/takeoff.html", context)


def _by_kind(lines: list[dict]) -> list[dict]:
    """What to buy, by kind of goods in the catalogue's order, with the amounts put into words."""
    groups: dict[str, list[dict]] = defaultdict(list)
    for line in lines:
        unit, pack = line["needed_unit"], line["pack_unit"]
        words = {
            "needed_text": _amount(line["needed"], unit),
            "left_text": _amount(line["left_over"], unit) if line["left_over"] else "",
            "buy_text": _amount(line["packs"], pack),
        }
        if line["pack_quantity"] > 1:
            words["buy_text"] = f"{_amount(line['packs'], 'pack')} of {_amount(line['pack_quantity'], pack)}"
        groups[line["kind"]].append(line | words)
    return [{"label": kind.label, "lines": groups[kind]} for kind in Material.Kind if kind in groups]


def _amount(number, unit: str) -> str:
    """12 lengths, 1 roll, 8.64 m²."""
    text = quantity(number)
    if unit in ("m2", "m", "t", "kg", "l"):
        return f"{text} {unit.replace('m2', 'm²')}"
    return text if unit == "each" else f"{text} {unit}{'' if text == '1' else 's'}"


def _drawn_faces(told: dict) -> list[dict]:
    notices = defaultdict(list)
    for notice in told["notices"]:
        notices[notice["face"]].append(notice["text"])
    return [
        {
            "face": face,
            "notices": notices[face["key"]],
            "preparation": [line for line in told["preparation"] if line["face"] == face["key"]],
            "drawings": [
                {"layer": layer, "drawing": boards_drawing(face, layer, box=FACE_BOX)}
                for layer in face["layers"]
                if layer["pieces"]
            ],
            "cuts": [layer for layer in face["layers"] if layer["cuts"]],
        }
        for face in told["faces"]
    ]


def _grouped_sheets(sheets: list[dict]) -> list[dict]:
    """By material, sheets that are cut alike drawn once."""
    by_material: dict[str, dict[tuple, list]] = defaultdict(lambda: defaultdict(list))
    for sheet in sheets:
        rectangles = tuple((p["x_mm"], p["y_mm"], p["width_mm"], p["height_mm"]) for p in sheet["placed"])
        by_material[sheet["material"]][rectangles].append(sheet)
    return [
        {
            "material": material,
            "count": sum(len(same) for same in alike.values()),
            "rows": [{"drawing": sheet_drawing(same[0], box=SHEET_BOX), "sheets": same} for same in alike.values()],
        }
        for material, alike in by_material.items()
    ]


def _grouped_lengths(lengths: list[dict]) -> list[dict]:
    """By material, lengths that are cut alike drawn once."""
    by_material: dict[str, dict[tuple, list]] = defaultdict(lambda: defaultdict(list))
    for length in lengths:
        cuts = (length["length_mm"], *(cut["length_mm"] for cut in length["cuts"]))
        by_material[length["material"]][cuts].append(length)
    groups = []
    for material, alike in by_material.items():
        bars = graphs.lengths([same[0] for same in alike.values()])
        rows = [{"drawing": bar, "lengths": same} for bar, same in zip(bars, alike.values(), strict=True)]
        groups.append({"material": material, "count": sum(len(same) for same in alike.values()), "rows": rows})
    return groups
