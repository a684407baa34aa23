"""A surface beside its elevation."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from contractor.accounts.access import office_only
from contractor.jobs.models import Gate
from contractor.rooms import selectors, services
from contractor.rooms.drawings import elevation_of, opening_marks
from contractor.rooms.fixture_drawing import fixture_marks
from contractor.rooms.forms.survey import SurfaceForm
from contractor.rooms.gaps import warnings_for
from contractor.rooms.models import Patch, Room, Surface
from contractor.rooms.preparation import KEPT, preparation_for
from contractor.rooms.rules import RuleSheet, rule_sheet, verdicts
from contractor.rooms.selectors_found import photos_of
from contractor.rooms.tap_drawing import Share, shares_of
from contractor.rooms.usual_sizes import kinds_for
from contractor.rooms.views.survey import asks_for_drawing, edited_field, in_job


@office_only
def surface_new(request: HttpRequest, room_id: int) -> HttpResponse:
    room = selectors.room_for(room_id)
    instance = _next_surface(room, request.GET.get("face", ""))
    form = SurfaceForm(request.POST or None, instance=instance, draw_at=request.get_full_path())
    if asks_for_drawing(request):
        return _surface_drawing(request, form)
    if form.is_valid():
        surface = services.surface_save(surface=form.instance, **form.rest())
        messages.success(request, f"{surface} is added.")
        return redirect("rooms:surface", surface.pk)
    drawing = _elevation_of_form(form, "")
    context = in_job(room.job, room=room, form=form, surface=None, faces=Surface.Face.choices, drawing=drawing)
    return render(request, "rooms/surface.html", context)


def _next_surface(room: Room, face: str) -> Surface:
    """A surface not yet saved with the next free letter and a size that suits: the side it would lie on."""
    taken = {surface.letter for surface in room.surfaces.all()}
    letter = next((letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if letter not in taken), "")
    face = face if face in Surface.Face.values else Surface.Face.WALL
    lies_flat = face != Surface.Face.WALL
    return Surface(
        room=room,
        letter=letter,
        name=f"Wall {letter}" if face == Surface.Face.WALL else Surface.Face(face).label,
        face=face,
        role=Surface.Role.OTHER,
        length_mm=room.width_mm if letter in "BD" and not lies_flat else room.length_mm,
        height_mm=room.width_mm if lies_flat else room.height_mm,
    )


@office_only
def surface(request: HttpRequest, surface_id: int) -> HttpResponse:
    surface = selectors.surface_for(surface_id)
    name = str(surface)
    form = SurfaceForm(request.POST or None, instance=surface, draw_at=request.path)
    if asks_for_drawing(request):
        return _surface_drawing(request, form)
    following = _surface_after(surface)
    if form.is_valid():
        services.surface_save(surface=form.instance, **form.rest())
        messages.success(request, f"{surface} is saved.")
        goes_on = "and_next" in request.POST and following is not None
        return redirect("rooms:surface", following.pk) if goes_on else redirect("rooms:surface", surface.pk)
    sheet = rule_sheet(surface.room.job)
    context = in_job(
        surface.room.job,
        room=surface.room,
        form=form,
        surface=surface,
        surface_name=name,
        following=following,
        drawing=_elevation_of_form(form, ""),
        patches=[(number, p, _preparation(p, sheet)) for number, p in enumerate(surface.patches.all(), start=1)],
        photos=photos_of(surface.room, surface),
        shares=_shares(surface, sheet),
        openings=opening_marks(surface.openings.all()),
        fixtures=fixture_marks(surface.fixtures.all()),
        fixture_kinds=kinds_for(surface.face),
        warnings=warnings_for(surface, sheet) + _asbestos_warning(surface, sheet),
    )
    return render(request, "rooms/surface.html", context)


def _preparation(patch: Patch, sheet: RuleSheet) -> list[str]:
    """Why the patch is stripped, filled or kept; nothing for one that is not built on."""
    if not patch.depth_limit_mm or not patch.surface.takes_part:
        return []
    return [step.reason for step in preparation_for(patch, sheet)] or [KEPT.get(patch.condition, "")]


def _shares(surface: Surface, sheet: RuleSheet) -> dict[int, Share]:
    """What the tap test says, by patch."""
    finding = sheet.findings.get(surface.pk)
    return {share.patch.pk: share for share in shares_of(surface, finding)} if finding else {}


def _asbestos_warning(surface: Surface, sheet: RuleSheet) -> list[str]:
    treated = [patch for patch in surface.patches.all() if patch.depth_limit_mm] if surface.takes_part else []
    found = [verdict for patch in treated for verdict in verdicts(patch, sheet=sheet)]
    if not any(verdict.gate == Gate.Kind.ASBESTOS for verdict in found):
        return []
    return [
        "Old fabric comes off here, and a home built before 2000 may hold asbestos: nothing is disturbed until someone"
        " competent has surveyed or sampled it."
    ]


def _surface_after(surface: Surface) -> Surface | None:
    """The next surface on the walk round the room."""
    surfaces = list(surface.room.surfaces.all())
    place = surfaces.index(surface)
    return surfaces[place + 1] if place + 1 < len(surfaces) else None


def _surface_drawing(request: HttpRequest, form: SurfaceForm) -> HttpResponse:
    drawing = _elevation_of_form(form, edited_field(request))
    return render(request, "rooms/_drawing.html", {"drawing": drawing, "form": form, "is_typing": True})


def _elevation_of_form(form: SurfaceForm, marked: str):
    """The elevation with what is typed so far; a size that is not yet a length keeps its last value."""
    form.is_valid()
    surface = form.instance
    if not (surface.length_mm and surface.height_mm):
        return None
    patches = list(surface.patches.all()) if surface.pk else []
    openings = list(surface.openings.all()) if surface.pk else []
    fixtures = list(surface.fixtures.all()) if surface.pk else []
    return elevation_of(
        surface, patches=patches, openings=openings, fixtures=fixtures, edited=surface, marked_field=marked
    )


@office_only
@require_POST
def surface_delete(request: HttpRequest, surface_id: int) -> HttpResponse:
    surface = selectors.surface_for(surface_id)
    name, room_id = str(surface), surface.room_id
    services.surface_delete(surface=surface, user=request.user)
    messages.success(request, f"{name} is deleted.")
    return redirect("rooms:room", room_id)
