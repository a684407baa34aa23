"""A room drawn by numbers: the walk round it, with its plan and elevations while it is typed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from contractor.accounts.access import office_only
from contractor.jobs.selectors import job_for
from contractor.rooms import selectors, services
from contractor.rooms.forms.walk import with_rows_changed
from contractor.rooms.forms.walk_typed import TypedWalk
from contractor.rooms.models import Room
from contractor.rooms.services.walk import DoesNotFit
from contractor.rooms.views.survey import asks_for_drawing, edited_field, in_job
from contractor.rooms.walk_drawing import drawn_walk


@office_only
def room_new(request: HttpRequest, number: int) -> HttpResponse:
    return _walk(request, Room(job=job_for(number)))


@office_only
def room_edit(request: HttpRequest, room_id: int) -> HttpResponse:
    return _walk(request, selectors.room_for(room_id))


def _walk(request: HttpRequest, room: Room) -> HttpResponse:
    order, name, is_new = request.POST.get("row", ""), room.name, room.pk is None
    data = with_rows_changed(request.POST, order) if order else request.POST
    typed = TypedWalk(room, data if request.method == "POST" else None, draw_at=request.path)
    if asks_for_drawing(request):
        drawing = drawn_walk(typed, edited_field(request))
        return render(request, "rooms/room_form.html#drawing", {"drawing": drawing, "typed": typed})
    if not order and typed.is_bound and typed.is_valid() and _saved(request, typed):
        messages.success(request, f"{typed.room} is {'added' if is_new else 'saved'}.")
        return redirect("rooms:room", typed.room.pk)
    drawing = drawn_walk(typed, "")
    if order:
        typed.hush()
        _take_cursor(typed, order)
    context = in_job(
        room.job,
        typed=typed,
        drawing=drawing,
        room=None if is_new else room,
        room_name=name,
        is_order=bool(order),
    )
    return render(request, "rooms/room_form.html", context)


def _saved(request: HttpRequest, typed: TypedWalk) -> bool:
    """Save the walk; False, with the reason beside the wall, when what hangs on it does not fit."""
    try:
        services.room_walk(room=typed.facts.instance, walk=typed.shape.walk, drawn=typed.drawn, user=request.user)
    except DoesNotFit as error:
        typed.add_faults(error.faults)
        return False
    return True


def _take_cursor(typed: TypedWalk, order: str) -> None:
    """To the row just added, or the one that has come to the place of one taken out."""
    action, name, *number = order.split()[:3] if len(order.split()) > 1 else ("", "")
    rows = {"walls": typed.walls, "heights": typed.heights, "diagonals": typed.diagonals}.get(name)
    if not rows or not rows.forms:
        return
    place = int(number[0]) if number and number[0].isdigit() else len(rows.forms)
    if action == "add" and not number:
        place = len(rows.forms) - 1
    elif action == "remove":
        place -= 1
    rows.forms[max(0, min(place, len(rows.forms) - 1))].take_cursor()
