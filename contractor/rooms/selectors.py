"""Reads of the survey, each with what its page draws loaded along."""

from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404

from contractor.catalogue.models import Construction, ConstructionLayer
from contractor.jobs.models import Job
from contractor.rooms.gaps import Gap, gaps_of
from contractor.rooms.models import Fixture, Opening, Patch, Room, SidePath, Surface
from contractor.rooms.shape import shape_of, shared_edge_mm, walk_of

JOB = "job__property__customer"


def _with_layers(queryset: QuerySet) -> QuerySet:
    """Things made of a construction, with its layers and their materials: they decide how it is drawn."""
    layers = Prefetch("construction__layers", ConstructionLayer.objects.select_related("material"))
    return queryset.select_related("construction").prefetch_related(layers)


def _surveyed(rooms: QuerySet[Room]) -> QuerySet[Room]:
    surfaces = Surface.objects.select_related("far_construction", "finding").prefetch_related(
        Prefetch("patches", _with_layers(Patch.objects.all())),
        Prefetch("openings", Opening.objects.select_related("construction")),
        "fixtures",
    )
    return rooms.prefetch_related(Prefetch("surfaces", surfaces), "side_paths")


def job_rooms(job: Job) -> list[Room]:
    """The job's rooms with surfaces, patches, openings and side paths. Six queries, however many rows."""
    return list(_surveyed(Room.objects.filter(job=job)))


def room_for(room_id: int) -> Room:
    """The room with its job, customer and whole survey; 404 if there is none."""
    return get_object_or_404(_surveyed(Room.objects.select_related(JOB)), pk=room_id)


def surface_for(surface_id: int) -> Surface:
    """The surface within its room, which holds the whole survey; 404 if there is none."""
    found = get_object_or_404(Surface.objects.only("room_id"), pk=surface_id)
    return _surface_in(room_for(found.room_id), surface_id)


def patch_for(patch_id: int) -> Patch:
    """A patch that is not the rest, within its surface and room; 404 if there is none."""
    found = get_object_or_404(Patch.objects.select_related("surface").filter(is_rest=False), pk=patch_id)
    surface = _surface_in(room_for(found.surface.room_id), found.surface_id)
    return next(patch for patch in surface.patches.all() if patch.pk == patch_id)


def opening_for(opening_id: int) -> Opening:
    """An opening within its surface and room; 404 if there is none."""
    found = get_object_or_404(Opening.objects.select_related("surface"), pk=opening_id)
    surface = _surface_in(room_for(found.surface.room_id), found.surface_id)
    return next(opening for opening in surface.openings.all() if opening.pk == opening_id)


def fixture_for(fixture_id: int) -> Fixture:
    """A fixture within its surface and room; 404 if there is none."""
    found = get_object_or_404(Fixture.objects.select_related("surface"), pk=fixture_id)
    surface = _surface_in(room_for(found.surface.room_id), found.surface_id)
    return next(fixture for fixture in surface.fixtures.all() if fixture.pk == fixture_id)


def side_path_for(path_id: int) -> SidePath:
    """A side path with its room, job and customer; 404 if there is none."""
    return get_object_or_404(SidePath.objects.select_related(f"room__{JOB}"), pk=path_id)


def _surface_in(room: Room, surface_id: int) -> Surface:
    return next(surface for surface in room.surfaces.all() if surface.pk == surface_id)


def rest_of(surface: Surface) -> Patch | None:
    """The patch that covers what no other does; None while nothing was said of what the surface is built of."""
    return next((patch for patch in surface.patches.all() if patch.is_rest), None)


def constructions_for(face: str) -> QuerySet[Construction]:
    """What a wall, ceiling or floor may be built of."""
    kinds = {
        Surface.Face.WALL: [Construction.Kind.WALL],
        Surface.Face.CEILING: [Construction.Kind.FLOOR, Construction.Kind.ROOF],
        Surface.Face.FLOOR: [Construction.Kind.FLOOR],
    }
    return Construction.objects.filter(is_active=True, kind__in=kinds[face])


def conditions_for(face: str) -> list[tuple[str, str]]:
    """The conditions in which a wall, ceiling or floor may be found, as choices; the usual one first."""
    found = Patch.Condition
    kinds = {
        Surface.Face.WALL: [c for c in found if c != found.BOARDS],
        Surface.Face.CEILING: [
            found.BOARD,
            found.LATH,
            found.SOUND,
            found.PART_HOLLOW,
            found.BLOWN,
            found.BARE,
            found.EXISTING_LINING,
        ],
        Surface.Face.FLOOR: [found.BOARDS, found.BARE],
    }
    return [(condition.value, condition.label) for condition in kinds[face]]


def usual_junction_length_mm(surface: Surface) -> int:
    """The edge that a flanking surface shares with the separating one, where nothing else is said: in a room that was
    walked round, where they meet. Else:

    A wall meets a separating wall along its height, and a separating floor or ceiling along its length; a ceiling or
    floor meets a separating wall along that wall's length.
    """
    separating = surface.room.surfaces.filter(role=Surface.Role.SEPARATING).exclude(pk=surface.pk).first()
    is_wall = surface.face == Surface.Face.WALL
    if separating is not None and surface.room.outline:
        shared_mm = shared_edge_mm(shape_of(walk_of(surface.room), [surface, separating]), surface, separating)
        if shared_mm:
            return shared_mm
    if separating is None or separating.face == Surface.Face.WALL:
        if is_wall:
            return surface.height_mm
        return separating.length_mm if separating else surface.length_mm
    return surface.length_mm


def job_gaps(job: Job) -> list[Gap]:
    """What is missing before a price is safe, with the page that mends each. Five queries, however many rows."""
    return gaps_of(job, _rooms_to_check(job))


def _rooms_to_check(job: Job) -> list[Room]:
    surfaces = Surface.objects.select_related("finding").prefetch_related("patches", "openings")
    return list(Room.objects.filter(job=job).prefetch_related(Prefetch("surfaces", surfaces)))


def survey_state(job: Job) -> tuple[str, str]:
    """For the thread: done when nothing is missing."""
    rooms = _rooms_to_check(job)
    gaps = gaps_of(job, rooms)
    if not rooms:
        return "now", "No room yet"
    if gaps:
        return "now", "1 thing missing" if len(gaps) == 1 else f"{len(gaps)} things missing"
    return "done", "1 room" if len(rooms) == 1 else f"{len(rooms)} rooms"
