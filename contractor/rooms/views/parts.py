"""What is on a surface: patches, openings, fixtures, and strips left clear, each beside the elevation."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from contractor.accounts.access import office_only
from contractor.rooms import selectors, services
from contractor.rooms.drawings import elevation_of
from contractor.rooms.forms.fixtures import FixtureForm, StripForm
from contractor.rooms.forms.parts import OpeningForm, PatchForm
from contractor.rooms.models import Fixture, Opening, Patch, Surface
from contractor.rooms.selectors_found import verdicts_where_built
from contractor.rooms.strips import REASONS, placed_as, strip_name, strip_shapes
from contractor.rooms.usual_sizes import usual_fixture
from contractor.rooms.views.survey import asks_for_drawing, edited_field, in_job


@office_only
def patch_new(request: HttpRequest, surface_id: int) -> HttpResponse:
    surface = selectors.surface_for(surface_id)
    rest = selectors.rest_of(surface)
    patch = Patch(surface=surface)
    initial = {"construction": rest.construction_id, "depth_limit_mm": rest.depth_limit_mm} if rest else {}
    form = PatchForm(request.POST or None, instance=patch, initial=initial, draw_at=request.path)
    return _part(request, form, surface, services.patch_save, "patch")


@office_only
def patch(request: HttpRequest, patch_id: int) -> HttpResponse:
    patch = selectors.patch_for(patch_id)
    if patch.is_strip:
        return _strip(request, patch.surface, patch)
    form = PatchForm(request.POST or None, instance=patch, draw_at=request.path)
    return _part(request, form, patch.surface, services.patch_save, "patch")


@office_only
@require_POST
def patch_delete(request: HttpRequest, patch_id: int) -> HttpResponse:
    patch = selectors.patch_for(patch_id)
    services.patch_delete(patch=patch, user=request.user)
    messages.success(request, f"{patch} is deleted; the rest of the surface covers its place.")
    return redirect("rooms:surface", patch.surface_id)


@office_only
def opening_new(request: HttpRequest, surface_id: int) -> HttpResponse:
    surface = selectors.surface_for(surface_id)
    form = OpeningForm(request.POST or None, instance=Opening(surface=surface), draw_at=request.path)
    return _part(request, form, surface, services.opening_save, "opening")


@office_only
def opening(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = selectors.opening_for(opening_id)
    form = OpeningForm(request.POST or None, instance=opening, draw_at=request.path)
    return _part(request, form, opening.surface, services.opening_save, "opening")


@office_only
@require_POST
def opening_delete(request: HttpRequest, opening_id: int) -> HttpResponse:
    opening = selectors.opening_for(opening_id)
    services.opening_delete(opening=opening, user=request.user)
    messages.success(request, f"{opening} is deleted.")
    return redirect("rooms:surface", opening.surface_id)


@office_only
def fixture_new(request: HttpRequest, surface_id: int) -> HttpResponse:
    surface = selectors.surface_for(surface_id)
    kind = request.GET.get("kind", "")
    initial = usual_fixture(surface, kind) if kind in Fixture.Kind.values else {}
    form = FixtureForm(
        request.POST or None, instance=Fixture(surface=surface), initial=initial, draw_at=request.get_full_path()
    )
    return _part(request, form, surface, services.fixture_save, "fixture")


@office_only
def fixture(request: HttpRequest, fixture_id: int) -> HttpResponse:
    fixture = selectors.fixture_for(fixture_id)
    form = FixtureForm(request.POST or None, instance=fixture, draw_at=request.path)
    return _part(request, form, fixture.surface, services.fixture_save, "fixture")


@office_only
@require_POST
def fixture_delete(request: HttpRequest, fixture_id: int) -> HttpResponse:
    fixture = selectors.fixture_for(fixture_id)
    surface_id, name = fixture.surface_id, str(fixture)
    services.fixture_delete(fixture=fixture, user=request.user)
    messages.success(request, f"{name} is deleted.")
    return redirect("rooms:surface", surface_id)


@office_only
def strip_new(request: HttpRequest, surface_id: int) -> HttpResponse:
    return _strip(request, selectors.surface_for(surface_id), None)


def _part(request: HttpRequest, form, surface: Surface, save, what: str) -> HttpResponse:
    """The page of a patch, an opening or a fixture: its form beside the elevation."""
    if asks_for_drawing(request):
        drawing = _elevation_with_part(form, surface, edited_field(request))
        return render(request, "rooms/_drawing.html", {"drawing": drawing, "form": form, "is_typing": True})
    if form.is_valid():
        try:
            part = save(**{what: form.instance})
        except ValidationError as error:  # someone else has placed something here in the meantime
            form.add_error(None, error)
        else:
            messages.success(request, f"{part} is saved.")
            return redirect("rooms:surface", surface.pk)
    context = in_job(
        surface.room.job,
        room=surface.room,
        surface=surface,
        form=form,
        part=form.instance,
        drawing=_elevation_with_part(form, surface, ""),
        verdicts=verdicts_where_built(form.instance) if what == "opening" else [],
    )
    return render(request, f"rooms/{what}_form.html", context)


def _elevation_with_part(form, surface: Surface, marked: str):
    """The elevation with the part where it is typed so far, in place of its saved self."""
    part = form.instance
    if form.is_bound:
        form.is_valid()
    elif part.pk is None:  # the usual sizes, before anything is typed
        for name, value in form.initial.items():
            if name in form.drawn:
                setattr(part, name, value)
    return _elevation(surface, part=part, marked=marked)


def _elevation(surface: Surface, *, part=None, strips: list[Patch] = (), marked: str = ""):
    """The elevation with `part` in place of its saved self, and with strips not yet saved."""
    on_it = {
        Patch: list(surface.patches.all()),
        Opening: list(surface.openings.all()),
        Fixture: list(surface.fixtures.all()),
    }
    if part is not None:
        group = on_it[type(part)]
        place = next((i for i, other in enumerate(group) if other.pk == part.pk), None) if part.pk else None
        if place is None:
            group.append(part)
        else:
            group[place] = part
    if strips:
        on_it[Patch] = [p for p in on_it[Patch] if (p.strip_of_id, p.strip_place) != _definition(strips[0])]
    return elevation_of(
        surface,
        patches=[*on_it[Patch], *strips],
        openings=on_it[Opening],
        fixtures=on_it[Fixture],
        edited=part if part is not None else strips[0] if strips else None,
        marked_field=marked,
    )


def _definition(strip: Patch) -> tuple:
    return strip.strip_of_id, strip.strip_place


def _strip(request: HttpRequest, surface: Surface, strip: Patch | None) -> HttpResponse:
    """The page of a strip left clear, a new one or a saved one."""
    form = StripForm(
        request.POST or None,
        surface=surface,
        initial=_strip_values(request, surface, strip),
        draw_at=request.get_full_path(),
    )
    drawing = _elevation(surface, strips=_typed_strips(form, surface))
    if asks_for_drawing(request):
        return render(request, "rooms/_drawing.html", {"drawing": drawing, "form": form, "is_typing": True})
    if form.is_valid():
        try:
            services.strip_save(**form.cleaned_data, instead_of=strip, user=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{strip_name(form.cleaned_data['reason'])} is saved: it stays as it is.")
            return redirect("rooms:surface", surface.pk)
    context = in_job(surface.room.job, room=surface.room, surface=surface, form=form, part=strip, drawing=drawing)
    return render(request, "rooms/strip_form.html", context)


def _strip_values(request: HttpRequest, surface: Surface, strip: Patch | None) -> dict:
    """What the form begins with: the saved strip, or what the address says of a new one."""
    if strip is not None:
        return {
            "patch": strip.strip_of_id,
            "place": strip.strip_place,
            "clear_mm": strip.strip_mm,
            "reason": strip.strip_reason,
        }
    place = request.GET.get("at", "right")
    fixture = next((f for f in surface.fixtures.all() if place == f"fixture-{f.pk}"), None)
    return {"place": place, "reason": REASONS.get(fixture.kind) if fixture else None, "clear_mm": 50}


def _typed_strips(form: StripForm, surface: Surface) -> list[Patch]:
    """The strips as typed so far, not saved; none while something is missing."""
    values = form.cleaned_data if form.is_bound and form.is_valid() else form.initial if not form.is_bound else {}
    chosen = values.get("patch")
    rest = selectors.rest_of(surface)
    patch = next((p for p in surface.patches.all() if p in (chosen,) or p.pk == chosen), rest)
    if patch is None or not (values.get("place") and values.get("clear_mm")):
        return []
    shapes = strip_shapes(patch, values["place"], values["clear_mm"])
    reason = values.get("reason") or Patch.StripReason.OTHER
    return [
        Patch(
            surface=surface,
            name=strip_name(reason),
            strip_of=patch,
            strip_place=values["place"],
            strip_reason=reason,
            construction=patch.construction,
            **placed_as(shape),
        )
        for shape in shapes
    ]
