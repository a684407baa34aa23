"""A board swapped and a surface measured again, as acts of a phone: written down without signal, done once."""

from datetime import datetime

from django import forms
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils import timezone

from contractor.common.forms import LengthField
from contractor.fitting import selectors
from contractor.fitting.forms import MeasureForm
from contractor.fitting.models import Tick, WorkPack
from contractor.fitting.pack import keys_of, rows_of
from contractor.fitting.swaps import NotOffered, place_seen, swappable
from contractor.jobs.models import Job
from contractor.site.kinds import Done, Kind, add_kind
from contractor.site.models import Act

NO_PACK = Done(outcome=Act.Outcome.REFUSED, told="There is no work pack of this job now.")


class SwapForm(forms.Form):
    piece = forms.CharField(max_length=80)
    take = forms.CharField(
        label="Cut it from", max_length=60, error_messages={"required": "Choose what it is cut from."}
    )
    seen = forms.CharField(max_length=60, required=False)


def swap(act: Act, data: dict) -> Done:
    """Cut the board from what was chosen, unless its place changed or it was fixed since the page was made."""
    from contractor.fitting import swap_services  # brings the catalogue of everything: not for every management command

    pack = _locked(act.job)
    if pack is None:
        return NO_PACK
    piece = next((p for _, p in swappable(pack.document) if p["key"] == keys_of(data["piece"])[0]), None)
    if piece is None:
        return Done(outcome=Act.Outcome.REFUSED, told="The cut list has no such board now.")
    mine = f"{piece['label']}: {act.person.display_name} wanted it cut again from {_take_words(data['take'])}"
    if data["seen"] and data["seen"] != place_seen(pack.document, piece):
        sheet = pack.document["sheets"][piece["sheet_place"]]
        where = f"offcut {sheet['from_offcut']}" if sheet.get("from_offcut") else f"sheet {sheet['number']}"
        return _both(f"{mine}; meanwhile it is planned on {where}, and that stands. Look again, then choose.")
    fixed = _tick_since(pack, [keys_of(piece["key"])[1]], act)
    if fixed:
        return _both(f"{mine}; {fixed.by.display_name} has fixed it since, and that stands.")
    try:
        choice = swap_services.swap(pack=pack, key=piece["key"], take=data["take"], user=act.person)
    except NotOffered as problem:
        return _both(f"{mine}; {problem} It stays as planned: look again, then choose.")
    return Done(told=f"{piece['label']} is cut again from: {choice.title}. {' '.join(choice.changes)}")


def swap_shown(request: HttpRequest, act: Act) -> str:
    """The board as it now stands, with what is offered for it now."""
    from contractor.fitting import swap_services

    pack = selectors.pack_of(act.job)
    key = str(act.payload.get("piece", "")) if isinstance(act.payload, dict) else ""
    if pack is None or keys_of(key)[0] not in rows_of(pack.document):
        return ""
    offers = swap_services.offers_for(pack, key.split(":")[1])
    row = next((row for row in swap_rows(pack, offers) if row["piece"]["key"] == keys_of(key)[0]), None)
    return render_to_string("fitting/_swap.html", {"row": row, "job": act.job}, request) if row else ""


def swap_rows(pack: WorkPack, offers: list) -> list[dict]:
    """What the page of swaps shows of each board: the piece, its choices, its place, and whether it is spoiled."""
    ticks = selectors.ticks_of(pack)
    rows = []
    for piece, found in offers:
        cut, _, again = (ticks.get(key) for key in keys_of(piece["key"]))
        is_spoiled = bool(again and again.is_done and not (cut and cut.is_done))
        sheet = pack.document["sheets"][piece["sheet_place"]]
        rows.append({
            "piece": piece, "choices": found, "face_key": piece["key"].split(":")[1], "seen": place_seen(pack.document, piece), "sheet": sheet,
            "is_spoiled": is_spoiled, "dom_id": "swap-" + piece["key"].replace(":", "-").replace(" ", "_"),
        })  # fmt: skip
    return sorted(rows, key=lambda row: not row["is_spoiled"])


class MeasureActForm(forms.Form):
    face = forms.SlugField(max_length=60)
    width_mm = LengthField(label="Width")
    height_mm = LengthField(label="Height")
    seen = forms.CharField(max_length=40, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("width_mm", "height_mm"):
            self.fields[name].widget.attrs["width_class"] = "quarter keep"


def measure(act: Act, data: dict) -> Done:
    """Take the size, unless the surface has another size than the page showed, or what is fixed by now would have to
    be trimmed: then both are told."""
    from contractor.fitting import services

    pack = _locked(act.job)
    face = next((f for f in pack.document["faces"] if f["key"] == data["face"]), None) if pack else None
    if face is None or not services.can_remeasure(face):
        return Done(outcome=Act.Outcome.REFUSED, told="No boards are cut for such a surface now.")
    size = {name: data[name] for name in ("width_mm", "height_mm")}
    is_mm = [face["width_mm"], face["height_mm"]]
    if list(size.values()) == is_mm:
        return Done(told=f"{face['label']} is planned at that size already: nothing changes.")
    mine = f"{face['label']}: {act.person.display_name} measured {_size(size.values())} at {_clock(act.done_at)}"
    told_by_self = face.get("remeasured", {}).get("by") == act.person.display_name  # who sets a slip right
    if data["seen"] and data["seen"] != size_seen(face) and not told_by_self:
        by = face.get("remeasured", {}).get("by", "The office")
        return _both(f"{mine}; {by} had it at {_size(is_mm)} by then, and that stands. Measure again together.")
    form = MeasureForm(size, face=face)
    if not form.is_valid():
        return Done(outcome=Act.Outcome.REFUSED, told=f"{mine}. {' '.join(m for e in form.errors.values() for m in e)}")
    try:
        told = services.remeasured_pack(pack=pack, face_key=face["key"], **size)[1]
        undone = [key for key, is_done in told["ticks"].items() if not is_done]
        fixed = _set(pack, [keys_of(key)[1] for key in undone])
        if fixed:
            labels = ", ".join(tick.key.rpartition(":")[2] for tick in fixed)
            return _both(
                f"{mine}; {labels} would have to be trimmed but {fixed[0].by.display_name} has it fixed. The list stays as it is: ring the office."
            )
        cut_since = _tick_since(pack, undone, act)
        services.remeasure(pack=pack, face_key=face["key"], user=act.person, **size)
    except (services.CannotReplan, services.ChangedMeanwhile) as problem:
        return Done(outcome=Act.Outcome.REFUSED, told=f"{mine}. {problem}")
    said = f"{mine}. {difference_words(told)}"
    if cut_since:
        label = cut_since.key.rpartition(":")[2]
        return _both(f"{said} {cut_since.by.display_name} cut {label} meanwhile: it is kept, and to be trimmed.")
    return Done(told=said)


def measure_shown(request: HttpRequest, act: Act) -> str:
    pack = selectors.pack_of(act.job)
    key = str(act.payload.get("face", "")) if isinstance(act.payload, dict) else ""
    face = next((f for f in pack.document["faces"] if f["key"] == key), None) if pack else None
    if face is None or not face.get("remeasured"):
        return ""
    return render_to_string("fitting/_measured.html", {"face": face, "job": act.job}, request)


def size_seen(face: dict) -> str:
    """How a page names the size of a surface that it shows."""
    return f"{face['width_mm']}x{face['height_mm']}"


def difference_words(told: dict) -> str:
    """Boards, cuts and sheets to order, in short."""
    words = [change["text"] for change in told["changes"]]
    if told["same"]:
        words.append(f"{told['same']} not cut yet stay as listed.")
    for row in [*told["sheets"], *(told.get("lengths") or [])]:
        words.append(f"{row['material']}: {row['is']} instead of {row['was']}, and so on the order list.")
    return " ".join(words) or "No piece changes."


def will_change(pack: WorkPack, face_key: str) -> dict:
    """What a new size of a surface can change, as far as it is known without working it out: labels to be planned anew,
    and labels cut already."""
    done = {key for key, tick in selectors.ticks_of(pack).items() if tick.is_done}
    pieces = [piece for face, piece in swappable(pack.document) if face["key"] == face_key]
    return {
        "anew": [p["label"] for p in pieces if p["key"] not in done],
        "kept": [p["label"] for p in pieces if p["key"] in done],
    }


def _locked(job: Job) -> WorkPack | None:
    WorkPack.objects.select_for_update(of=("self",)).filter(job=job).first()
    return selectors.pack_of(job)


def _set(pack: WorkPack, keys: list[str]) -> list[Tick]:
    return list(Tick.objects.filter(pack=pack, key__in=keys, is_done=True).select_related("by").order_by("key"))


def _tick_since(pack: WorkPack, keys: list[str], act: Act) -> Tick | None:
    """One of these that somebody else set after the act was written down."""
    return next((t for t in _set(pack, keys) if t.by_id != act.person_id and t.at > act.done_at), None)


def _both(told: str) -> Done:
    return Done(outcome=Act.Outcome.CONFLICT, told=told)


def _take_words(take: str) -> str:
    kind, _, name = take.partition(":")
    return {"own": f"left-over {name}", "store": f"offcut {name}", "full": "a full sheet"}.get(kind, "a sheet to buy")


def _size(size_mm) -> str:
    return " × ".join(f"{each:,}" for each in size_mm)


def _clock(at: datetime) -> str:
    return f"{timezone.localtime(at):%H:%M}"


def add_cut_acts() -> None:
    add_kind("swap", Kind(form=SwapForm, apply=swap, shown=swap_shown))
    add_kind("measure", Kind(form=MeasureActForm, apply=measure, shown=measure_shown))
