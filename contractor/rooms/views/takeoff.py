"""What a scheme takes: what to buy, how it is laid out and cut, and how far the better layout is."""

from collections import defaultdict

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import HttpResponseClientRefresh

from contractor.accounts.access import office_only
from contractor.catalogue.models import Material
from contractor.common.boards import boards_drawing, sheet_drawing
from contractor.common.templatetags.wording import quantity
from contractor.rooms import graphs, improving, services
from contractor.rooms import selectors_schemes as selectors
from contractor.rooms.takeoff.lifting import heavy_pieces, heavy_sheets
from contractor.rooms.views.results import in_job

FACE_BOX, SHEET_BOX = (520, 400), (190, 360)  # CSS pixels that elevations and sheets are drawn for


@office_only
@require_GET
def takeoff(request: HttpRequest, scheme_id: int) -> HttpResponse:
    found = selectors.scheme_for(scheme_id)
    told = services.calculate(scheme=found).takeoff
    context = in_job(
        found.job,
        scheme=found,
        takeoff=told,
        improvement=improving.improvement_of(found) if told.get("is_preview") else None,
        kinds=_by_kind(told["buy"]),
        faces=_drawn_faces(told),
        sheet_groups=_grouped_sheets(told),
        length_groups=_grouped_lengths(told["lengths"]),
        length_proofs=[proof for proof in told.get("proofs", []) if proof["unit"] == "length"],
        heavy_sheets=heavy_sheets(told),
        heavy_pieces=heavy_pieces(told),
        is_illustrative=any(line["price_is_illustrative"] for line in told["buy"]),
    )
    return render(request, "rooms/takeoff.html", context)


@office_only
@require_GET
@never_cache
def takeoff_state(request: HttpRequest, scheme_id: int) -> HttpResponse:
    """How far the better take-off is, for a page that asks again; once it is there, the page is loaded anew.

    `?keep=1` on pages with a form: they are told, and not loaded over what is being typed.
    """
    found = selectors.scheme_for(scheme_id)
    if not request.htmx:
        return redirect("rooms:takeoff", found.pk)
    is_preview = improving.is_preview(found)
    keep = "keep" in request.GET
    if not is_preview and not keep:
        return HttpResponseClientRefresh()
    context = {"scheme": found, "is_preview": is_preview, "keep": keep}
    context["improvement"] = improving.improvement_of(found) if is_preview else None
    return render(request, "rooms/_takeoff_state.html", context)


@office_only
@require_POST
def takeoff_again(request: HttpRequest, scheme_id: int) -> HttpResponse:
    """After a failure, have the better take-off worked out anew."""
    found = selectors.scheme_for(scheme_id)
    improving.ask_again(found)
    return redirect("rooms:takeoff", found.pk)


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


def _grouped_sheets(told: dict) -> list[dict]:
    """By material, sheets that are cut alike drawn once; stored offcuts stand among them, and are counted apart."""
    proofs = {proof["material"]: proof for proof in told.get("proofs", []) if proof["unit"] == "sheet"}
    by_material: dict[str, dict[tuple, list]] = defaultdict(lambda: defaultdict(list))
    for sheet in told["sheets"]:
        rectangles = tuple((p["x_mm"], p["y_mm"], p["width_mm"], p["height_mm"]) for p in sheet["placed"])
        by_material[sheet["material"]][sheet.get("from_offcut", ""), rectangles].append(sheet)
    return [
        {
            "material": material,
            **_counted(alike),
            "proof": proofs.get(material),
            "rows": [{"drawing": sheet_drawing(same[0], box=SHEET_BOX), "sheets": same} for same in alike.values()],
        }
        for material, alike in by_material.items()
    ]


def _grouped_lengths(lengths: list[dict]) -> list[dict]:
    """By material, lengths that are cut alike drawn once."""
    by_material: dict[str, dict[tuple, list]] = defaultdict(lambda: defaultdict(list))
    for length in lengths:
        cuts = (length.get("from_offcut", ""), length["length_mm"], *(cut["length_mm"] for cut in length["cuts"]))
        by_material[length["material"]][cuts].append(length)
    groups = []
    for material, alike in by_material.items():
        bars = graphs.lengths([same[0] for same in alike.values()])
        rows = [{"drawing": bar, "lengths": same} for bar, same in zip(bars, alike.values(), strict=True)]
        groups.append({"material": material, **_counted(alike), "rows": rows})
    return groups


def _counted(alike: dict[tuple, list]) -> dict:
    """How many are bought, and how many come from the store."""
    every = [one for same in alike.values() for one in same]
    stored = sum(bool(one.get("from_offcut")) for one in every)
    return {"count": len(every) - stored, "from_store": stored}
