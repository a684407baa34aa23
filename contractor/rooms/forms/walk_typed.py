"""A walk as it is typed: its rows together, what they draw, and their check sums beside the fields at fault."""

from django.http import QueryDict

from contractor.common.templatetags.wording import mm
from contractor.rooms.forms.walk import Diagonals, Heights, RoomFactsForm, Walls, walk_typed, wall_rows
from contractor.rooms.models import Room, Surface
from contractor.rooms.shape import RoomShape, room_shape, shape_of, wall_letter
from contractor.rooms.walk import Misclosure, Suspect, Walk, completed
from contractor.rooms.walk_checks import changed, corner, diagonal_said, gap_said, sums_said

MOST_SPREAD = 25  # a gap of more than a 25th of the way round is a mistake, not a room out of square


class TypedWalk:
    """The forms of a room's page. `shape` is None while lengths are missing or the walls cross."""

    def __init__(self, room: Room, data: QueryDict | None = None, *, draw_at: str = ""):
        self.room = room
        self.surfaces = list(room.surfaces.all()) if room.pk else []
        known = room_shape(room) if room.pk else None
        initial = _initial(known)
        kwargs = {"data": data, "form_kwargs": {"draw_at": draw_at, "empty_permitted": False}}
        corner = known.walk.corner if known else ""
        self.facts = RoomFactsForm(data, instance=room, initial={"corner": corner})
        self.walls = Walls(prefix="walls", initial=initial["walls"], **kwargs)
        self.heights = Heights(prefix="heights", initial=initial["heights"], **kwargs)
        self.diagonals = Diagonals(prefix="diagonals", initial=initial["diagonals"], **kwargs)
        self._name_walls()
        self.is_bound = data is not None
        self.keeps_gap = bool(data and data.get("keep_gap"))
        self.asks_to_keep_gap = False
        self.checks: list[str] = []
        self.shape: RoomShape | None = None
        self._read(known)

    @property
    def drawn(self) -> list[int | None]:
        """The surface on each wall."""
        own = {surface.pk for surface in self.surfaces if surface.face == Surface.Face.WALL}
        found = [row.cleaned_data.get("surface") for row in self.walls]
        return [pk if pk in own and pk not in found[:i] else None for i, pk in enumerate(found)]

    @property
    def floor_m2(self) -> float:
        return self.shape.area_m2

    @property
    def volume_m3(self) -> float:
        return self.shape.volume_mm3 / 1e9

    @property
    def rows(self) -> list:
        return [*self.walls, *self.heights, *self.diagonals]

    def is_valid(self) -> bool:
        return (
            self.facts.is_valid()
            and self.walls.is_valid()
            and self.heights.is_valid()
            and self.diagonals.is_valid()
            and self.shape is not None
            and not any(row.errors for row in self.rows)
        )

    def hush(self) -> None:
        """Say nothing of what is not typed yet: only a row was added or taken out."""
        for form in [self.facts, *self.rows]:
            form.errors.clear()

    def add_faults(self, faults: dict[int | None, list[str]]) -> None:
        """What `services.room_walk` refused, beside the walls."""
        for number, texts in faults.items():
            if number is None:
                self.facts.add_error(None, texts)
            else:
                self.walls.forms[number - 1].add_error("length_mm", texts)

    def _name_walls(self) -> None:
        count = len(self.walls.forms)
        numbers = range(1, count + 1)
        for number, row in zip(numbers, self.walls.forms, strict=True):
            row.letter, row.number = wall_letter(number), number
            row.corner = corner(number, count)
        for row in self.heights:
            row.fields["wall"].choices = [(number, wall_letter(number)) for number in numbers]
        for row in self.diagonals:
            for name in ("from_corner", "to_corner"):
                row.fields[name].choices = [(number, corner(number, count)) for number in numbers]

    def _read(self, known: RoomShape | None) -> None:
        if not self.is_bound:
            self.walk = known.walk if known else None
            if known:
                self.shape = known
                self._say_sums(known)
                self.asks_to_keep_gap = self.keeps_gap = not known.misclosure.closes
            return
        self.facts.is_valid()
        for rows in (self.walls, self.heights, self.diagonals):
            rows.is_valid()
        self.walk = walk_typed(
            self.facts.cleaned_data.get("corner", ""), self.walls.forms, self.heights.forms, self.diagonals.forms
        )
        if len(self.walk.legs) < 3:
            self.facts.add_error(None, "A room has at least three walls.")
            return
        whole = completed(self.walk)
        self._check_heights(whole or self.walk)
        if whole is None:
            self._ask_for_lengths()
            return
        self.walk = whole
        shape = shape_of(whole)
        if self._check_turns(shape.misclosure) and self._check_gap(shape.misclosure):
            for problem in shape.problems:
                self.facts.add_error(None, problem)
            self.shape = None if shape.problems else shape
        if self.shape:
            self._say_sums(shape)

    def _ask_for_lengths(self) -> None:
        missing = [row for row in self.walls if row.is_valid() and row.cleaned_data.get("length_mm") is None]
        text = "Measure this wall. Two lengths at most may be left to be worked out, of walls that are not parallel."
        for row in missing[:-2] or missing[:1]:
            row.add_error("length_mm", text)

    def _check_turns(self, off: Misclosure) -> bool:
        if abs(off.turns_deg) < 5:
            return True
        found = off.turns_deg + 360
        text = f"The turns add up to {found:g}°. Once round a room to the right is 360°."
        suspects = [s for s in off.suspects if s.wall <= len(self.walls.forms)]
        if len(suspects) == 1:
            at = suspects[0].wall
            self.walls.forms[at - 1].add_error(
                "turn",
                f"{text} A turn the other way here, at the corner {corner(at + 1, len(self.walls.forms))}, would close it.",
            )
        else:
            self.walls.forms[-1].add_error("turn", f"{text} Look at each turn again.")
        self.checks.append(text)
        return False

    def _check_gap(self, off: Misclosure) -> bool:
        """Whether the walk closes, or is kept though it does not."""
        if off.closes:
            return True
        self.asks_to_keep_gap = off.mm <= self.walk.length_mm / MOST_SPREAD
        if self.keeps_gap and self.asks_to_keep_gap:
            return True
        text = gap_said(off, len(self.walls.forms))
        self.checks.append(text)
        first, *others = [s for s in off.suspects if s.by_mm] or [Suspect(wall=len(self.walls.forms))]
        self.walls.forms[first.wall - 1].add_error("length_mm", text)
        for suspect in others:
            message = f"Or this wall: {changed(suspect)} would close the room."
            self.walls.forms[suspect.wall - 1].add_error("length_mm", message)
        return False

    def _check_heights(self, walk: Walk) -> None:
        for row in self.heights:
            number, at_mm = row.cleaned_data.get("wall"), row.cleaned_data.get("at_mm")
            length_mm = walk.legs[number - 1].length_mm if number else None
            if length_mm and at_mm is not None and at_mm > length_mm:
                row.add_error("at_mm", f"Wall {wall_letter(number)} is only {mm(length_mm)} long.")

    def _say_sums(self, shape: RoomShape) -> None:
        self.checks += sums_said(shape)
        for row, diagonal in zip(self.diagonals, shape.walk.diagonals, strict=False):
            row.remark = diagonal_said(shape, diagonal)
        if not shape.is_level:
            self.checks.append(f"Between {mm(shape.lowest_mm)} and {mm(shape.highest_mm)} high.")


def _initial(known: RoomShape | None) -> dict[str, list[dict]]:
    if known is None:
        return {"walls": [{"turn": "right"} for _ in range(4)], "heights": [], "diagonals": []}
    drawn = [wall.surface.pk if wall.surface else None for wall in known.walls]
    return {
        "walls": wall_rows(known.walk, drawn),
        "heights": [vars(height) for height in known.walk.heights],
        "diagonals": [vars(diagonal) for diagonal in known.walk.diagonals],
    }
