"""The walk round a room: its walls, ceiling and floor are made and changed from it in one go."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.rooms.models import Patch, Room, Surface
from contractor.rooms.rings import Ring, is_rectangle, size_of
from contractor.rooms.selectors import usual_junction_length_mm
from contractor.rooms.services.parts import strips_renew
from contractor.rooms.shape import RoomShape, facet_name, place_of, shape_of, wall_letter
from contractor.rooms.walk import Walk

Face = Surface.Face


class DoesNotFit(ValueError):
    """What hangs on the walls does not fit the walk; `faults` by the number of the wall, None for other surfaces."""

    def __init__(self, faults: dict[int | None, list[str]]) -> None:
        super().__init__("; ".join(text for texts in faults.values() for text in texts))
        self.faults = faults


@dataclass(frozen=True, kw_only=True)
class _Wanted:
    """A surface as the walk has it, and the row that becomes it, if there is one."""

    face: str
    place: int
    ring: Ring
    name: str
    row: Surface | None = None


@transaction.atomic
def room_walk(*, room: Room, walk: Walk, drawn: Sequence[int | None], user: User) -> Room:
    """Save a room with its walk; make or change its walls, its ceiling and its floor to suit.

    `drawn` gives for each wall the id of the surface on it, None for a wall to be made. What hangs on the surfaces
    stays. Raises DoesNotFit, and then changes nothing, when a patch, an opening or a fixture would lie outside, or a
    wall goes on which something hangs.
    """
    was_drawn = bool(room.outline)
    old_walls = len(room.outline["walls"]) if was_drawn else 4
    shape = shape_of(walk)
    rows = list(Surface.objects.select_for_update().filter(room=room).order_by("letter", "pk")) if room.pk else []
    usual = _usual_junctions_mm(rows, Room.objects.get(pk=room.pk)) if room.pk else {}
    room.outline = walk.to_json()
    room.length_mm, room.width_mm = shape.extent_mm
    room.height_mm, room.volume_mm3 = shape.highest_mm, round(shape.volume_mm3)
    room.full_clean()
    room.save()
    wanted = _wanted(shape, rows, drawn, old_walls)
    kept = {want.row.pk for want in wanted if want.row}
    _take_away([s for s in rows if s.pk not in kept and _is_of_walk(s, old_walls)], user)
    others = [s for s in rows if s.pk not in kept and not _is_of_walk(s, old_walls)]
    if not was_drawn or any(want.row is None for want in wanted) or len(kept) != len(rows) - len(others):
        _letter_anew(wanted, others)
    saved = _save(room, wanted)
    followed = [s for s in saved if s.pk in usual and s.junction_length_mm == usual[s.pk]]
    now = _usual_junctions_mm(followed, room)
    for surface in followed:
        surface.junction_length_mm = now[surface.pk]
        surface.save(update_fields=["junction_length_mm"])
    return room


def _usual_junctions_mm(surfaces: list[Surface], room: Room) -> dict[int, int]:
    """By the surface's id, as the room is: not as it was when the surface was read."""
    found = {}
    for surface in surfaces:
        surface.room = room
        if surface.role == Surface.Role.FLANKING:
            found[surface.pk] = usual_junction_length_mm(surface)
    return found


def _is_of_walk(surface: Surface, walls: int) -> bool:
    return surface.place is not None or (surface.face == Face.WALL and place_of(surface, walls) is not None)


def _wanted(shape: RoomShape, rows: list[Surface], drawn: Sequence[int | None], old_walls: int) -> list[_Wanted]:
    by_pk = {surface.pk: surface for surface in rows}
    found = [
        _Wanted(
            face=Face.WALL,
            place=wall.number,
            ring=wall.outline_mm,
            name=f"Wall {wall_letter(wall.number)}",
            row=by_pk.get(pk),
        )
        for wall, pk in zip(shape.walls, drawn, strict=True)
    ]
    ceilings = _in_place([s for s in rows if s.face == Face.CEILING], old_walls)
    for facet in shape.facets:
        row = ceilings.pop(0) if ceilings else None
        found.append(
            _Wanted(face=Face.CEILING, place=facet.number, ring=facet.outline_mm, name=facet_name(facet), row=row)
        )
    floors = _in_place([s for s in rows if s.face == Face.FLOOR], old_walls)
    row = floors[0] if floors else None
    found.append(_Wanted(face=Face.FLOOR, place=1, ring=shape.floor_outline_mm, name="Floor", row=row))
    return found


def _in_place(surfaces: list[Surface], old_walls: int) -> list[Surface]:
    """Those that the walk drew, in its order; before the first walk the first of them stands for the whole."""
    placed = [s for s in surfaces if s.place is not None]
    return sorted(placed, key=lambda s: s.place) if placed else surfaces[:1]


def _take_away(surfaces: list[Surface], user: User) -> None:
    """Delete surfaces that are no longer walked past; DoesNotFit when something hangs on one."""
    faults = [f"{s} goes away, but {what} on it. Delete or move it first." for s in surfaces if (what := _held(s))]
    if faults:
        raise DoesNotFit({None: faults})
    for surface in surfaces:
        record(
            user=user, action="surface deleted", subject=surface.room.job, room=surface.room.name, surface=str(surface)
        )
        surface.delete()


def _held(surface: Surface) -> str:
    """What hangs on a surface, in words; empty when it is bare."""
    for relation in surface._meta.related_objects:
        rows = relation.related_model.objects.filter(**{relation.field.name: surface})
        if relation.related_model is Patch:
            rows = rows.filter(is_rest=False) | rows.filter(treatments__isnull=False)
        row = rows.first()
        if row is not None:
            return f"“{row}” is" if relation.related_model is not Patch or not row.is_rest else "a treatment is planned"
    return ""


def _letter_anew(wanted: list[_Wanted], others: list[Surface]) -> None:
    """Walls A, B, C … clockwise, then the ceiling, the floor, and what the walk does not know of."""
    taken = [*(want.row for want in wanted), *others]
    rows = [row for row in taken if row is not None]
    for number, row in enumerate(rows):  # out of each other's way first
        Surface.objects.filter(pk=row.pk).update(letter=f"~{chr(33 + number)}")
    for number, row in enumerate(taken, start=1):
        if row is None:
            continue
        if row.name == f"Wall {row.letter}":
            row.name = f"Wall {wall_letter(number)}"
        row.letter = wall_letter(number)
    for row in others:
        row.save(update_fields=["letter", "name"])


def _save(room: Room, wanted: list[_Wanted]) -> list[Surface]:
    faults: dict[int | None, list[str]] = {}
    saved = []
    for number, want in enumerate(wanted, start=1):
        surface = want.row or Surface(
            room=room, letter=wall_letter(number), name=want.name, face=want.face, role=Surface.Role.OTHER
        )
        surface.place = want.place
        surface.length_mm, surface.height_mm = size_of(want.ring)
        surface.outline_mm = [] if is_rectangle(want.ring) else [list(corner) for corner in want.ring]
        try:
            surface.full_clean()
        except ValidationError as error:
            key = want.place if want.face == Face.WALL else None
            faults.setdefault(key, []).extend(f"{surface}: {message}" for message in error.messages)
            continue
        surface.save()
        strips_renew(surface=surface)
        saved.append(surface)
    if faults:
        raise DoesNotFit(faults)
    return saved
