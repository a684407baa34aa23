"""What was found on a surface by knocking and measuring, and what the rules make of it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from contractor.accounts.access import office_only
from contractor.rooms import selectors, services
from contractor.rooms import selectors_found as found
from contractor.rooms.forms.found import FindingForm, SetAsideForm
from contractor.rooms.models import Patch, SidePath, Surface
from contractor.rooms.preparation import KEPT
from contractor.rooms.rule_notes import page_of_rules, with_pages
from contractor.rooms.rules import RuleSheet, rule_sheet, verdicts
from contractor.rooms.rules.book import rulebook
from contractor.rooms.rules.sheet import RuledPlace
from contractor.rooms.tap_drawing import shares_of, tap_drawing
from contractor.rooms.views.survey import asks_for_drawing, in_job


@office_only
def condition(request: HttpRequest, surface_id: int) -> HttpResponse:
    surface = selectors.surface_for(surface_id)
    form = FindingForm(request.POST or None, instance=found.finding_of(surface))
    if asks_for_drawing(request):
        form.is_valid()
        return render(request, "rooms/_tap_drawing.html", _drawn(surface, form))
    if form.is_valid():
        services.finding_save(finding=form.instance)
        messages.success(request, f"What was found on {surface} is saved.")
        return redirect("rooms:condition", surface.pk)
    context = in_job(
        surface.room.job,
        room=surface.room,
        surface=surface,
        form=form,
        patches=_ruled(surface, rule_sheet(surface.room.job)),
        past=[o for o in found.past_overrides(surface) if o.withdrawn_at],
        photos=found.photos_of(surface.room, surface),
        **_drawn(surface, form),
    )
    return render(request, "rooms/condition.html", context)


def _drawn(surface: Surface, form: FindingForm) -> dict:
    finding = form.instance
    return {"drawing": tap_drawing(surface, finding), "shares": shares_of(surface, finding)}


def _ruled(surface: Surface, sheet: RuleSheet) -> list[dict]:
    """Each patch with the verdicts on it, or why there are none."""
    return [
        {"patch": patch, "kept": KEPT.get(patch.condition, ""), "verdicts": _verdicts(patch, sheet)}
        for patch in surface.patches.all()
    ]


def _verdicts(patch: Patch, sheet: RuleSheet) -> list[tuple]:
    """What the rules say of a patch that is built on, with the page where each is set aside."""
    if not patch.depth_limit_mm or not patch.surface.takes_part:
        return []
    return with_pages(patch, verdicts(patch, sheet=sheet))


@office_only
def rule_aside(request: HttpRequest, surface_id: int, patch_id: int, key: str) -> HttpResponse:
    return _aside(request, found.patch_on(selectors.surface_for(surface_id), patch_id), key)


@office_only
def opening_rule_aside(request: HttpRequest, opening_id: int, key: str) -> HttpResponse:
    return _aside(request, selectors.opening_for(opening_id), key)


@office_only
def side_path_rule_aside(request: HttpRequest, path_id: int, key: str) -> HttpResponse:
    return _aside(request, selectors.side_path_for(path_id), key)


def _aside(request: HttpRequest, place: RuledPlace, key: str) -> HttpResponse:
    """A rule on a place, and the form to set it aside with a reason."""
    rule = next((rule for rule in rulebook() if rule.key == key), None)
    if rule is None:
        raise Http404("There is no such rule.")
    form = None if rule.is_firm else SetAsideForm(request.POST or None, instance=services.override_on(place))
    room = place.room if isinstance(place, SidePath) else place.surface.room
    if form is not None and form.is_valid():
        services.rule_set_aside(place=place, rule=rule, reason=form.cleaned_data["reason"], by=request.user)
        messages.success(request, f"“{rule.name}” is set aside on {place}.")
        return redirect(page_of_rules(place))
    context = in_job(room.job, room=room, place=place, back=page_of_rules(place), rule=rule, form=form)
    return render(request, "rooms/rule_aside.html", context)


@office_only
@require_POST
def override_withdraw(request: HttpRequest, override_id: int) -> HttpResponse:
    override = found.override_for(override_id)
    services.override_withdraw(override=override, by=request.user)
    messages.success(request, f"“{override.rule_name}” holds again.")
    return redirect(page_of_rules(override.place))
