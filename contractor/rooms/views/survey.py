"""The survey of a job and its rooms. Surfaces, and what is on them, have files of their own."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from contractor.accounts.access import office_only
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.rooms import selectors, services
from contractor.rooms.drawings import elevation_of
from contractor.rooms.forms.survey import SidePathForm
from contractor.rooms.gaps import gaps_of, mismatches, room_gaps, warnings_for
from contractor.rooms.models import Room, SidePath, Surface
from contractor.rooms.plan_drawing import plan_of
from contractor.rooms.rules import rule_sheet
from contractor.rooms.selectors_found import verdicts_where_built
from contractor.rooms.shape import room_shape
from contractor.rooms.side_paths import GUIDES
from contractor.rooms.walk_checks import sums_said
from contractor.rooms.ways_drawing import way_marks

DRAWING = "drawing"


def in_job(job: Job, **context) -> dict:
    """The context of every survey page."""
    return {"job": job, "thread": thread_for(job, current="survey"), **context}


def asks_for_drawing(request: HttpRequest) -> bool:
    """True for a form sent only to have its drawing made anew: nothing is saved then."""
    return request.method == "POST" and request.htmx and request.htmx.target == DRAWING


def edited_field(request: HttpRequest) -> str:
    return (request.htmx.trigger_name or "") if request.htmx else ""


@office_only
def survey(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    rooms = selectors.job_rooms(job)
    sheets = [
        {
            "room": room,
            "plan": plan_of(room, room.surfaces.all()),
            "shape": room_shape(room),
            "taking_part": [_small(surface) for surface in room.surfaces.all() if surface.takes_part],
        }
        for room in rooms
    ]
    return render(request, "rooms/survey.html", in_job(job, sheets=sheets, gaps=gaps_of(job, rooms)))


def _small(surface: Surface) -> dict:
    on_it = {"patches": surface.patches.all(), "openings": surface.openings.all(), "fixtures": surface.fixtures.all()}
    drawing = elevation_of(surface, **on_it, is_small=True)
    return {"surface": surface, "rest": selectors.rest_of(surface), "drawing": drawing}


@office_only
def room(request: HttpRequest, room_id: int) -> HttpResponse:
    room = selectors.room_for(room_id)
    surfaces = room.surfaces.all()
    shape = room_shape(room)
    sheet = rule_sheet(room.job)
    context = in_job(
        room.job,
        room=room,
        surfaces=surfaces,
        warnings=[(surface, warning) for surface in surfaces for warning in warnings_for(surface, sheet)],
        drawing=plan_of(room, surfaces, room.side_paths.all()),
        gaps=room_gaps(room),
        mismatches=mismatches(room),
        shape=shape,
        checks=sums_said(shape) if room.outline else [],
        side_paths=[(path, GUIDES[path.kind], mark) for path, mark in way_marks(room.side_paths.all())],
    )
    return render(request, "rooms/room.html", context)


@office_only
@require_POST
def room_delete(request: HttpRequest, room_id: int) -> HttpResponse:
    room = selectors.room_for(room_id)
    services.room_delete(room=room, user=request.user)
    messages.success(request, f"{room.name} is deleted.")
    return redirect("rooms:survey", room.job.number)


@office_only
def side_path_new(request: HttpRequest, room_id: int) -> HttpResponse:
    room = selectors.room_for(room_id)
    kind = request.GET.get("kind", "")
    initial = {"kind": kind, "length_mm": _separating_length_mm(room) if kind == SidePath.Kind.VOID else None}
    form = SidePathForm(request.POST or None, instance=SidePath(room=room), initial=initial if kind in GUIDES else None)
    return _side_path(request, form, room)


@office_only
def side_path(request: HttpRequest, path_id: int) -> HttpResponse:
    path = selectors.side_path_for(path_id)
    return _side_path(request, SidePathForm(request.POST or None, instance=path), path.room)


def _side_path(request: HttpRequest, form: SidePathForm, room: Room) -> HttpResponse:
    if form.is_valid():
        path = services.side_path_save(side_path=form.instance)
        messages.success(request, f"{path} is saved.")
        return redirect("rooms:room", room.pk)
    path = form.instance
    context = in_job(
        room.job, form=form, room=room, side_path=path, guides=GUIDES.values(), verdicts=verdicts_where_built(path)
    )
    return render(request, "rooms/side_path_form.html", context)


def _separating_length_mm(room: Room) -> int | None:
    separating = (s for s in room.surfaces.all() if s.role == Surface.Role.SEPARATING)
    return next((s.length_mm for s in separating), None)


@office_only
@require_POST
def side_path_delete(request: HttpRequest, path_id: int) -> HttpResponse:
    path = selectors.side_path_for(path_id)
    services.side_path_delete(side_path=path, user=request.user)
    messages.success(request, f"{path.name} is deleted.")
    return redirect("rooms:room", path.room_id)
