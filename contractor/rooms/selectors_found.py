"""Reads of what the survey found on a surface: its tap test, photographs, and what was set aside of the rules."""

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from contractor.catalogue.models import LabourAllowance
from contractor.rooms.inputs import built_treatments
from contractor.rooms.models import Finding, Opening, Patch, Photo, Room, Rule, RuleOverride, SidePath, Surface
from contractor.rooms.rule_notes import with_pages
from contractor.rooms.rules import Verdict, rule_sheet, verdicts
from contractor.rooms.rules.book import NAMES, shipped

PLACES = ("patch__surface__room__job", "opening__surface__room__job", "side_path__room__job")


def finding_of(surface: Surface) -> Finding:
    """What is known of the surface; an unsaved, empty finding where nothing is yet. One query."""
    return Finding.objects.filter(surface=surface).first() or Finding(surface=surface)


def photos_of(room: Room, surface: Surface | None = None) -> QuerySet[Photo]:
    """The room's photographs, or those of one surface, with what each is of. One query."""
    photos = Photo.objects.filter(room=room).select_related("room", "surface", "patch")
    return photos if surface is None else photos.filter(surface=surface)


def photo_for(photo_id: int) -> Photo:
    """A photo with its room, job and customer; 404 if there is none."""
    related = ("room__job__property__customer", "surface", "patch", "added_by")
    return get_object_or_404(Photo.objects.select_related(*related), pk=photo_id)


def patch_on(surface: Surface, patch_id: int) -> Patch:
    """A patch of this surface, the rest too; 404 if there is none."""
    for patch in surface.patches.all():
        if patch.pk == patch_id:
            return patch
    raise Http404("There is no such patch on this surface.")


def past_overrides(surface: Surface) -> QuerySet[RuleOverride]:
    """Every rule set aside on the surface, withdrawn ones too, oldest first. One query."""
    return RuleOverride.objects.filter(patch__surface=surface).select_related("by", "patch")


def verdicts_where_built(place: Opening | SidePath) -> list[tuple[Verdict, str]]:
    """What the rules say of an opening or a side path with whatever the job's options build there, each rule once, with
    the page where it is set aside. Nothing of one that is not saved yet."""
    if place.pk is None:
        return []
    job = (place.room if isinstance(place, SidePath) else place.surface.room).job
    sheet = rule_sheet(job)
    on = {"side_path" if isinstance(place, SidePath) else "opening": place}
    built = [treatment.build_up for treatment in built_treatments().filter(**on)]
    found = [verdict for build_up in built or [None] for verdict in verdicts(place, build_up, sheet=sheet)]
    return with_pages(place, {verdict.rule: verdict for verdict in found}.values())


def override_for(override_id: int) -> RuleOverride:
    """A rule set aside, with its place, room and job; 404 if there is none."""
    return get_object_or_404(RuleOverride.objects.select_related(*PLACES, "by"), pk=override_id)


def rule_row(key: str) -> Rule:
    """The firm's form of a rule, or an unsaved one that says what the shipped rule says; 404 for no rule."""
    row = Rule.objects.filter(key=key).first()
    if row is not None:
        return row
    rule = shipped().get(key)
    if rule is None:
        raise Http404("There is no such rule.")
    values = {name: getattr(rule, name) for name in NAMES}
    return Rule(**values | {"conditions": [dict(c) for c in rule.conditions], "works": [dict(w) for w in rule.works]})


def allowances() -> list[LabourAllowance]:
    return list(LabourAllowance.objects.order_by("name"))
