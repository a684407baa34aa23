"""Reads of schemes, and of which build-ups fit where."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Count, Prefetch, Q
from django.shortcuts import get_object_or_404

from contractor.catalogue.models import BuildUp
from contractor.jobs.models import Job
from contractor.rooms.inputs import build_ups_with_layers, built_treatments
from contractor.rooms.models import Opening, Patch, Room, Scheme, SidePath, Surface, Treatment
from contractor.rooms.rules import RuleSheet, blocks, verdicts
from contractor.rooms.rules.facts import leaves
from contractor.rooms.rules.sheet import RuledPlace

SIDE_PATH_SURFACES = {
    SidePath.Kind.VOID: (BuildUp.Surface.FLOOR_EDGE,),
    SidePath.Kind.BEAM: (BuildUp.Surface.BEAM,),
    SidePath.Kind.FLUE: (),  # for a registered engineer, never ours to close
    SidePath.Kind.ROOF_VOID: (BuildUp.Surface.ROOF_VOID,),
    SidePath.Kind.LEAK: (BuildUp.Surface.GAP,),
    SidePath.Kind.PIPE: (BuildUp.Surface.BOXING,),
}


OPENING_SURFACES = {Opening.Kind.DOOR: BuildUp.Surface.DOOR, Opening.Kind.WINDOW: BuildUp.Surface.WINDOW}


@dataclass(frozen=True)
class Fit:
    """A build-up beside a place: `why_not` is empty where it fits."""

    build_up: BuildUp
    why_not: str = ""


@dataclass(frozen=True, kw_only=True)
class Place:
    """A patch, opening or side path that may be treated, with the build-ups meant for such a place."""

    key: str
    room: Room
    name: str
    detail: str
    patch: Patch | None = None
    opening: Opening | None = None
    side_path: SidePath | None = None
    fits: list[Fit] = field(default_factory=list)

    @property
    def ruled(self) -> RuledPlace:
        """What the rules are weighed on."""
        return self.patch or self.opening or self.side_path

    @property
    def may_lie_across(self) -> bool:
        """Only on a wall can boards stand or lie; elsewhere they go across what carries them."""
        return self.patch is not None and self.patch.surface.face == Surface.Face.WALL and bool(self.fitting)

    @property
    def fitting(self) -> list[BuildUp]:
        return [fit.build_up for fit in self.fits if not fit.why_not]

    @property
    def unfit(self) -> list[Fit]:
        return [fit for fit in self.fits if fit.why_not]


def schemes_of(job: Job) -> list[Scheme]:
    """The job's schemes in order, each with what it builds where, down to the materials."""
    treatments = built_treatments().select_related("patch__surface", "opening__surface", "side_path")
    return list(job.schemes.order_by("position", "pk").prefetch_related(Prefetch("treatments", treatments)))


def scheme_for(scheme_id: int) -> Scheme:
    """The scheme with its job, home and customer; 404 if there is none."""
    return get_object_or_404(Scheme.objects.select_related("job__property__customer"), pk=scheme_id)


def build_ups_by_id(ids: Iterable[int]) -> dict[int, BuildUp]:
    """Build-ups with their layers, for choices that are not saved."""
    return build_ups_with_layers().in_bulk(list(ids))


def treatment_state(job: Job) -> tuple[str, str]:
    """For the thread: whether any option has treatments. One query."""
    counts = list(Scheme.objects.filter(job=job).annotate(built=Count("treatments")).values_list("built", flat=True))
    if not counts:
        return "waiting", "No options yet"
    if not any(counts):
        return "now", "Nothing chosen yet"
    return "done", "1 option" if len(counts) == 1 else f"{len(counts)} options"


def places_of(rooms: list[Room], treatments: Iterable[Treatment] = (), sheet: RuleSheet | None = None) -> list[Place]:
    """Every patch of the surfaces that sound comes through or past, then the side paths. One query for the catalogue,
    and its layers where a `sheet` of rules says what must not be built.

    What `treatments` have chosen stays in the list, though the surface takes no part now or the build-up is retired.
    """
    chosen_on = {(t.patch_id, t.build_up_id) for t in treatments}
    treated, chosen = {patch for patch, _ in chosen_on}, {build_up for _, build_up in chosen_on}
    catalogue = build_ups_with_layers() if sheet else BuildUp.objects.all()
    build_ups = list(catalogue.filter(Q(is_active=True) | Q(pk__in=chosen)))
    places = []
    for room in rooms:
        for surface in sorted(room.surfaces.all(), key=lambda s: (s.role != Surface.Role.SEPARATING, s.letter)):
            places += [
                _place_of_patch(room, patch, [b for b in build_ups if _is_meant(b, patch, chosen_on)], sheet)
                for patch in surface.patches.all()
                if surface.role != Surface.Role.OTHER or patch.pk in treated
            ]
            places += [
                _place_of_opening(room, surface, opening, build_ups, sheet)
                for opening in surface.openings.all()
                if surface.role == Surface.Role.SEPARATING and opening.construction and opening.kind in OPENING_SURFACES
            ]
        places += [_place_of_path(room, path, build_ups, sheet) for path in room.side_paths.all()]
    return places


def patch_name(patch: Patch) -> str:
    """With its surface's letter, and the surface's own name for what is not patched. Reads the surface."""
    return f"{patch.surface.letter} {patch.surface.name if patch.is_rest else patch.name}"


def _is_meant(build_up: BuildUp, patch: Patch, chosen_on: set[tuple]) -> bool:
    """Whether a build-up is for such a patch, or is chosen there already."""
    if build_up.surface != patch.surface.face or build_up.unit != BuildUp.Unit.M2:
        return False
    return not build_up.only_on_projections or patch.projection_mm > 0 or (patch.pk, build_up.pk) in chosen_on


def _place_of_patch(room: Room, patch: Patch, meant: list[BuildUp], sheet: RuleSheet | None) -> Place:
    limit = f"{patch.depth_limit_mm:,} mm may go" if patch.depth_limit_mm else "no depth given"
    return Place(
        key=f"patch-{patch.pk}",
        room=room,
        name=patch_name(patch),
        detail=f"{patch.construction.name}; {limit}",
        patch=patch,
        fits=[Fit(b, why_unfit(b, patch) or why_forbidden(b, patch, sheet)) for b in meant],
    )


def why_unfit(build_up: BuildUp, patch: Patch) -> str:
    """Why a build-up meant for such a surface cannot go on this patch, or nothing."""
    if patch.depth_limit_mm is None:
        return "the survey gives no depth here"
    if build_up.depth_mm > patch.depth_limit_mm:
        return f"needs {build_up.depth_mm.normalize():f} mm and {patch.depth_limit_mm} mm is given"
    if build_up.replaces_face and not has_face_to_take_down(patch):
        return "takes down one face of a hollow construction, and this is none"
    return ""


def has_face_to_take_down(patch: Patch) -> bool:
    """Whether a light face stands on a frame or joists: of a wall both faces are light with a void between; a ceiling
    or deck is light itself, the loft or room behind it being the void. Reads the construction's layers."""
    found = leaves(patch.construction)
    if patch.surface.face == Surface.Face.WALL:
        return len(found) > 1 and not any(layer.material.is_masonry for leaf in found for layer in leaf)
    near = found[0 if patch.surface.face == Surface.Face.FLOOR else -1]
    return bool(near) and not any(layer.material.is_masonry for layer in near)


def why_forbidden(build_up: BuildUp, place: RuledPlace, sheet: RuleSheet | None) -> str:
    """What the rules in force have against a build-up on this place, unless they were set aside there."""
    if sheet is None:
        return ""
    reasons = " ".join(verdict.reason for verdict in blocks(verdicts(place, build_up, sheet=sheet)))
    return f"{reasons[:1].lower()}{reasons[1:]}".removesuffix(".")


def _place_of_opening(
    room: Room, surface: Surface, opening: Opening, build_ups: list[BuildUp], sheet: RuleSheet | None
) -> Place:
    kind, size = opening.get_kind_display().lower(), f"{opening.width_mm:,} × {opening.height_mm:,} mm"
    return Place(
        key=f"opening-{opening.pk}",
        room=room,
        name=f"{surface.letter} {kind}",
        detail=f"{opening.construction.name}; {size}",
        opening=opening,
        fits=[
            Fit(b, why_forbidden(b, opening, sheet)) for b in build_ups if b.surface == OPENING_SURFACES[opening.kind]
        ],
    )


def _place_of_path(room: Room, path: SidePath, build_ups: list[BuildUp], sheet: RuleSheet | None) -> Place:
    meant = [b for b in build_ups if b.surface in SIDE_PATH_SURFACES[path.kind]]
    length = f"; {path.length_mm:,} mm long" if path.length_mm else ""
    return Place(
        key=f"path-{path.pk}",
        room=room,
        name=path.name,
        detail=f"{path.get_kind_display()}{length}",
        side_path=path,
        fits=[Fit(b, why_forbidden(b, path, sheet)) for b in meant],
    )
