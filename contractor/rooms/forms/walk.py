"""The walk round a room: rows of walls, of heights along them and of diagonals, and what they say together."""

from collections.abc import Mapping

from django import forms
from django.http import QueryDict

from contractor.catalogue.forms.renderer import QuickRenderer
from contractor.common.forms import LengthField, UnitDecimalField
from contractor.rooms.forms.drawn import drawn_attrs, length
from contractor.rooms.models import Room
from contractor.rooms.walk import Diagonal, HeightAt, Leg, Walk

MOST_WALLS, MOST_ROWS = 24, 12
TURNS = [
    ("right", "Right"),
    ("left", "Left"),
    ("right_by", "Right by …°"),
    ("left_by", "Left by …°"),
]


class RoomFactsForm(forms.ModelForm):
    """What is asked of a room beside its walk."""

    corner = forms.CharField(
        label="Start at the corner",
        max_length=60,
        required=False,
        help_text="Such as Left of the door. Walk with the wall on your left hand, clockwise on the plan.",
    )
    reverberation_s = UnitDecimalField(
        unit="s",
        label="Reverberation time",
        initial="0.50",
        max_digits=4,
        decimal_places=2,
        min_value=0.1,
        max_value=10,
        help_text="0.5 s is usual for a furnished room.",
    )

    class Meta:
        model = Room
        fields = ["name", "corner", "reverberation_s", "notes"]
        help_texts = {"name": "As the household calls it, such as Back bedroom."}
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["reverberation_s"].widget.attrs["width_class"] = "half keep"

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if Room.objects.filter(job=self.instance.job, name=name).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError("This job already has a room of that name.")
        return name


class RowForm(forms.Form):
    """One row of a walk; its fields have the drawing made anew while they are typed in."""

    default_renderer = QuickRenderer

    def __init__(self, *args, draw_at: str = "", **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if draw_at and not field.widget.is_hidden:
                field.widget.attrs |= drawn_attrs(draw_at)

    def take_cursor(self) -> None:
        """The page opens with the cursor in the first field of this row."""
        next(iter(self.visible_fields())).field.widget.attrs["autofocus"] = True


class WallRow(RowForm):
    surface = forms.IntegerField(required=False, widget=forms.HiddenInput)
    length_mm = length("Length", required=False)
    height_mm = length("Height at its left end", required=False)
    turn = forms.ChoiceField(label="Turn at its end", choices=TURNS, initial="right")
    angle_deg = forms.DecimalField(
        label="Degrees",
        required=False,
        min_value=0,
        max_value=170,
        decimal_places=1,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "data-unit": "°"}),
    )
    floor_mm = LengthField(label="Floor lower at its left end by", required=False, min_value=-2000, max_value=2000)

    def clean(self) -> dict:
        data = super().clean()
        if data.get("turn", "").endswith("_by") and data.get("angle_deg") is None and "angle_deg" not in self.errors:
            self.add_error("angle_deg", "By how many degrees does the walk turn here?")
        return data

    @property
    def turn_deg(self) -> float:
        turn, angle = self.cleaned_data.get("turn", "right"), self.cleaned_data.get("angle_deg")
        size = float(angle or 0) if turn.endswith("_by") else 90.0
        return -size if turn.startswith("left") else size


class HeightRow(RowForm):
    wall = forms.TypedChoiceField(label="On wall", coerce=int, required=False)
    at_mm = length("From its left end", min_value=0)
    height_mm = length("Height there")
    fold = forms.TypedChoiceField(
        label="The ceiling folds here",
        coerce=int,
        required=False,
        empty_value=0,
        choices=[("", "No"), *((n, f"Fold {n}") for n in range(1, 7))],
    )


class DiagonalRow(RowForm):
    from_corner = forms.TypedChoiceField(label="From the corner", coerce=int)
    to_corner = forms.TypedChoiceField(label="To the corner", coerce=int)
    length_mm = length("Diagonal")

    def clean(self) -> dict:
        data = super().clean()
        if data.get("from_corner") and data.get("from_corner") == data.get("to_corner"):
            self.add_error("to_corner", "A diagonal ends at another corner.")
        return data


Walls = forms.formset_factory(WallRow, extra=0, max_num=MOST_WALLS, absolute_max=MOST_WALLS)
Heights = forms.formset_factory(HeightRow, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS)
Diagonals = forms.formset_factory(DiagonalRow, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS)
ROWS = {"walls": (Walls, MOST_WALLS), "heights": (Heights, MOST_ROWS), "diagonals": (Diagonals, MOST_ROWS)}


def wall_rows(walk: Walk, drawn: list[int | None]) -> list[dict]:
    """Initial values of the wall rows; a length that was worked out is left to be worked out again."""
    rows = []
    for number, (leg, surface) in enumerate(zip(walk.legs, drawn, strict=True), start=1):
        turn = {90.0: "right", -90.0: "left"}.get(leg.turn_deg) or ("left_by" if leg.turn_deg < 0 else "right_by")
        rows.append(
            {
                "surface": surface,
                "length_mm": None if number in walk.worked_out else leg.length_mm,
                "height_mm": leg.height_mm,
                "turn": turn,
                "angle_deg": f"{abs(leg.turn_deg):g}" if turn.endswith("_by") else None,
                "floor_mm": leg.floor_mm or None,
            }
        )
    return rows


def walk_typed(corner: str, walls: list[WallRow], heights: list[HeightRow], diagonals: list[DiagonalRow]) -> Walk:
    """The walk as far as the rows are valid. A height left empty is the height at the first corner."""
    values = [row.cleaned_data for row in walls]
    first_mm = next((v["height_mm"] for v in values if v.get("height_mm")), 2400)
    legs = tuple(
        Leg(
            length_mm=value.get("length_mm"),
            turn_deg=row.turn_deg,
            height_mm=value.get("height_mm") or first_mm,
            floor_mm=value.get("floor_mm") or 0,
        )
        for row, value in zip(walls, values, strict=True)
    )
    along = [row.cleaned_data for row in heights]
    across = [row.cleaned_data for row in diagonals]
    return Walk(
        corner=corner,
        legs=legs,
        heights=tuple(
            HeightAt(wall=v["wall"], at_mm=v["at_mm"], height_mm=v["height_mm"], fold=v.get("fold") or 0)
            for v in along
            if v.get("wall") and v.get("at_mm") is not None and v.get("height_mm") and v["wall"] <= len(legs)
        ),
        diagonals=tuple(
            Diagonal(from_corner=v["from_corner"], to_corner=v["to_corner"], length_mm=v["length_mm"])
            for v in across
            if v.get("from_corner") and v.get("to_corner") and v.get("length_mm")
        ),
    )


def with_rows_changed(data: QueryDict, order: str) -> QueryDict:
    """What was sent with a row more or less: `order` is "add walls 3" (after row 3), "add heights", "remove walls 2"
    (row numbers begin with 1). Heights and diagonals go along with the walls and corners that they name."""
    words = order.split()
    if len(words) < 2 or words[1] not in ROWS:
        return data
    action, name = words[:2]
    number = int(words[2]) if len(words) > 2 and words[2].isdigit() else 0
    rows = _rows(data, name)
    changed = data.copy()
    if action == "add" and len(rows) < ROWS[name][1]:
        place = number or len(rows)
        rows.insert(place, {"turn": "right"} if name == "walls" else {})
        if name == "walls":
            _renumber(changed, lambda n: n + 1 if n > place else n)
    elif action == "remove" and 1 <= number <= len(rows):
        del rows[number - 1]
        if name == "walls":
            _renumber(changed, lambda n: None if n == number else n - 1 if n > number else n)
    _write(changed, name, rows)
    return changed


def _rows(data: Mapping, name: str) -> list[dict]:
    total = data.get(f"{name}-TOTAL_FORMS", "0")
    count = min(int(total), ROWS[name][1]) if total.isdigit() else 0
    fields = ROWS[name][0].form.base_fields
    return [{f: data.get(f"{name}-{i}-{f}", "") for f in fields} for i in range(count)]


def _write(data: QueryDict, name: str, rows: list[dict]) -> None:
    for key in [key for key in data if key.startswith(f"{name}-")]:
        del data[key]
    data[f"{name}-TOTAL_FORMS"], data[f"{name}-INITIAL_FORMS"] = str(len(rows)), "0"
    for i, row in enumerate(rows):
        for field, value in row.items():
            data[f"{name}-{i}-{field}"] = value


def _renumber(data: QueryDict, number) -> None:
    for name, fields in (("heights", ("wall",)), ("diagonals", ("from_corner", "to_corner"))):
        rows = _rows(data, name)
        for row in rows:
            for field in fields:
                if row[field].isdigit():
                    row[field] = str(number(int(row[field])) or "")
        _write(data, name, rows)
