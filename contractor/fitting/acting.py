"""What the fitters' pages add to the acts of a phone: ticks, and the pages that are kept for the days ahead."""

from datetime import datetime

from django import forms
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import User
from contractor.fitting import selectors
from contractor.fitting.models import Tick
from contractor.fitting.pack import keys_of, rows_of
from contractor.fitting.ticked import ticked_html
from contractor.site.kinds import Done, Kind, add_kind
from contractor.site.models import Act, SitePhoto
from contractor.site.pages import add_pages

MOST_THUMBS = 24  # of a job, at some 20 kB each
MOST_SURVEYED = 16  # of them from the survey


class TickActForm(forms.Form):
    row = forms.CharField(max_length=80)
    done = forms.BooleanField(required=False)
    seen = forms.CharField(required=False, max_length=60)


def tick(act: Act, data: dict) -> Done:
    """Set the tick, unless somebody set it otherwise after this was pressed: then both are told and theirs stands."""
    pack = selectors.pack_of(act.job)
    if pack is None:
        return Done(outcome=Act.Outcome.REFUSED, told="There is no work pack of this job now.")
    row, is_done = data["row"], data["done"]
    standing = Tick.objects.filter(pack=pack, key=row).select_related("by").first()
    differs = standing is not None and standing.is_done != is_done and standing.by_id != act.person_id
    if differs and data["seen"] != seen_of(standing):
        set_at = _set_at(act, standing)
        theirs = f"{standing.by.display_name} said “{_said(standing.is_done)}” at {_clock(set_at)}"
        mine = f"{act.person.display_name} said “{_said(is_done)}” at {_clock(act.done_at)}"
        if set_at > act.done_at:
            return Done(outcome=Act.Outcome.CONFLICT, told=f"{_named(pack, row)}: {mine}; {theirs}, and that stands.")
        told = f"{_named(pack, row)}: {theirs}; {mine}, and that stands."
        return _set(act, pack, row, is_done, Done(outcome=Act.Outcome.CONFLICT, told=told))
    return _set(act, pack, row, is_done, Done())


def _set(act: Act, pack, row: str, is_done: bool, done: Done) -> Done:
    from contractor.fitting import services  # brings the whole engine: not for every management command

    try:
        services.set_tick(pack=pack, key=row, is_done=is_done, user=act.person)
    except (services.RowGone, services.Closed) as refusal:
        return Done(outcome=Act.Outcome.REFUSED, told=str(refusal))
    return done


def seen_of(tick: Tick | None) -> str:
    """How a page names the state of a tick that it shows."""
    return tick.at.isoformat() if tick else ""


def _set_at(act: Act, standing: Tick) -> datetime:
    """When the standing tick was pressed, which may be before it came in."""
    pressed = (
        Act.objects.filter(job=act.job, kind="tick", person=standing.by_id, payload__row=standing.key)
        .exclude(outcome=Act.Outcome.REFUSED)
        .order_by("-done_at")
        .values_list("done_at", flat=True)
        .first()
    )
    return pressed or standing.at


def _said(is_done: bool) -> str:
    return "done" if is_done else "not done"


def _clock(at: datetime) -> str:
    return f"{timezone.localtime(at):%H:%M}"


def _named(pack, key: str) -> str:
    row = rows_of(pack.document).get(keys_of(key)[0], {})
    return row.get("title") or row.get("label") or "A row"


def shown(request: HttpRequest, act: Act) -> str:
    """The row as it now stands, with the count that it changes; nothing where it is gone."""
    pack = selectors.pack_of(act.job)
    row = act.payload.get("row", "") if isinstance(act.payload, dict) else ""
    if pack is None or keys_of(row)[0] not in rows_of(pack.document):
        return ""
    return ticked_html(request, act.job, pack, row)


def day_pages(person: User) -> list[str]:
    """Today, then for each job of today and the next two days its steps, its notes, and the list of each surface."""
    paths = [reverse("fitting:today")]
    jobs = {visit.job_id: visit.job for day in selectors.days_of(person) for visit in day.visits}
    for job in jobs.values():
        pack = selectors.pack_of(job)
        paths.append(reverse("site:notes", args=[job.number]))
        if pack is None:
            continue
        paths += [reverse("fitting:pack", args=[job.number]), reverse("fitting:cuts", args=[job.number])]
        paths += [
            reverse(f"fitting:{page}", args=[job.number, face["key"]])
            for face in pack.document["faces"]
            if face["layers"]
            for page in ("cut-face", "changes")
        ]
        surveyed = _surveyed(selectors.survey_photos(pack))
        paths += [reverse("fitting:survey-photo-small", args=[job.number, photo]) for photo in surveyed]
        keys = SitePhoto.objects.filter(job=job).order_by("-taken_at").values_list("key", flat=True)
        paths += [reverse("site:photo-small", args=[key]) for key in keys[: MOST_THUMBS - len(surveyed)]]
    return paths


def _surveyed(by_face: dict[str, list]) -> list[int]:
    """Which of the survey's photographs are kept: the first of every surface, then the second, as many as there is room."""
    turns = sorted((turn, photo.pk) for photos in by_face.values() for turn, photo in enumerate(photos))
    return list(dict.fromkeys(pk for _, pk in turns))[:MOST_SURVEYED]


def add_acts() -> None:
    add_kind("tick", Kind(form=TickActForm, apply=tick, shown=shown))
    add_pages(day_pages)
