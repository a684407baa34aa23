"""Forms for a sound test: its details, the table of readings, the files and what their columns are, the targets."""

from collections.abc import Iterator, Sequence

from django import forms

from contractor.common.curves import OCTAVES_HZ
from contractor.common.forms import DateField, UnitDecimalField
from contractor.common.pictures import ManyFiles
from contractor.common.tables import CannotRead, decoded, number
from contractor.rooms.models import Room
from contractor.soundtests import table
from contractor.soundtests.bridge import CannotRate
from contractor.soundtests.compare import band_name
from contractor.soundtests.models import QUANTITIES, Kind, SoundTest, Target

BAND_SETS = {
    "thirds": ("Third octaves, 100 to 3150 Hz", list(table.THIRDS_HZ[3:19])),
    "wide": ("Third octaves, 50 to 5000 Hz", list(table.THIRDS_HZ)),
    "octaves": ("Octaves, 125 to 2000 Hz", list(OCTAVES_HZ[1:6])),
    "weighted": ("dB(A), dB(C) and the low octaves", ["A", "C", 63, 125, 250]),
}
QUANTITY_LABELS = {
    "source": ("Source room", "dB"),
    "receiving": ("Receiving room", "dB"),
    "background": ("Background", "dB"),
    "reverberation": ("Reverberation time", "s"),
}
LARGEST_POSITIONS = 40
OUT = "out"
SEPARATORS = "/|;\t "


def quantities_for(kind: str, basis: str) -> list[str]:
    """What is read: nothing in the source room of an impact test, no reverberation in a comparison."""
    wanted = list(QUANTITIES)
    if basis == SoundTest.Basis.COMPARATIVE:
        wanted.remove("reverberation")
    elif kind == Kind.IMPACT:
        wanted.remove("source")
    return wanted


def _one_of(label: str, choices: list[tuple[str, str]]) -> forms.ChoiceField:
    """All in view, the first chosen: the words are too long for a list on a phone."""
    return forms.ChoiceField(label=label, choices=choices, initial=choices[0][0], widget=forms.RadioSelect)


class StartForm(forms.Form):
    """What kind of test is entered; answered by a GET, so that the table fits."""

    basis = _one_of("What was done", SoundTest.Basis.choices)
    kind = _one_of("Which sound", Kind.choices)
    bands = forms.ChoiceField(label="Bands", choices=[(key, label) for key, (label, _) in BAND_SETS.items()])

    def clean(self):
        found = super().clean()
        is_standard = found.get("basis") == SoundTest.Basis.STANDARD
        if is_standard and found.get("bands") == "weighted":
            self.add_error("bands", "A sound test needs its bands; weighted levels serve only for a comparative check.")
        if not is_standard and found.get("kind") == Kind.IMPACT:
            self.add_error("kind", "A comparative check compares levels in two rooms: choose airborne.")
        return found


class DetailsForm(forms.ModelForm):
    measured_on = DateField(label="Measured on")
    volume_m3 = UnitDecimalField(unit="m³", label="Volume of the receiving room", max_digits=7, decimal_places=2)
    area_m2 = UnitDecimalField(
        unit="m²",
        label="Area of the separating surface",
        max_digits=6,
        decimal_places=2,
        required=False,
        help_text="For the apparent sound reduction index; leave empty without one.",
    )
    assumed_reverberation_s = UnitDecimalField(
        unit="s",
        label="Reverberation time, if not measured",
        max_digits=4,
        decimal_places=2,
        help_text="0.5 s is usual for a furnished room. It is said beside the result that it was assumed.",
    )

    class Meta:
        model = SoundTest
        fields = [
            "room", "source_room", "moment", "measured_on", "measured_by", "instrument",
            "volume_m3", "area_m2", "assumed_reverberation_s", "note",
        ]  # fmt: skip
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args, rooms: Sequence[Room], is_standard: bool, kind: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["room"].queryset = Room.objects.filter(pk__in=[room.pk for room in rooms])
        self.fields["room"].required = True
        self.fields["room"].empty_label = None if rooms else "no room surveyed yet"
        if not is_standard or kind == Kind.IMPACT:
            del self.fields["area_m2"]
        if not is_standard:
            del self.fields["assumed_reverberation_s"], self.fields["volume_m3"]
        for name in set(self.fields) - {"note"}:
            self.fields[name].widget.attrs["width_class"] = "half"


class GridForm(forms.Form):
    """A cell for each band and quantity. A cell may hold several readings, one for each position, in one order."""

    def __init__(self, *args, bands: Sequence[int | str], quantities: Sequence[str], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.bands, self.quantities = list(bands), list(quantities)
        for band in self.bands:
            for quantity in self.quantities:
                label = f"{QUANTITY_LABELS[quantity][0]}, {band_name(band)}"
                widget = forms.TextInput(attrs={"inputmode": "text", "size": 8, "autocomplete": "off"})
                self.fields[_cell(quantity, band)] = forms.CharField(
                    required=False, label=label, max_length=400, widget=widget
                )

    @property
    def heads(self) -> list[tuple[str, str]]:
        return [QUANTITY_LABELS[quantity] for quantity in self.quantities]

    @property
    def rows(self) -> Iterator[tuple[str, list[forms.BoundField]]]:
        for band in self.bands:
            yield band_name(band), [self[_cell(quantity, band)] for quantity in self.quantities]

    def clean(self):
        found = super().clean()
        self.readings = {}
        for quantity in self.quantities:
            self.readings[quantity] = self._positions(quantity, found)
        return found

    def _positions(self, quantity: str, found: dict) -> list[list[float]]:
        cells = {band: self._numbers(quantity, band, found) for band in self.bands}
        count = max(len(cell) for cell in cells.values())
        if not count:
            return []
        for band, cell in cells.items():
            name = _cell(quantity, band)
            if len(cell) != count and name not in self.errors:
                self.add_error(name, f"{len(cell)} of {count} readings." if cell else "Missing.")
        if any(len(cell) != count for cell in cells.values()):
            return []
        return [[cells[band][n] for band in self.bands] for n in range(count)]

    def _numbers(self, quantity: str, band, found: dict) -> list[float]:
        text = found.get(_cell(quantity, band), "")
        for mark in SEPARATORS:
            text = text.replace(mark, " ")
        values = [number(word) for word in text.split()]
        if None in values:
            self.add_error(_cell(quantity, band), f"“{text.split()[values.index(None)][:12]}” is no number.")
            return []
        if len(values) > LARGEST_POSITIONS:
            self.add_error(_cell(quantity, band), f"At most {LARGEST_POSITIONS} readings: import them as a file.")
            return []
        return values

    def refuse(self, error: CannotRate) -> None:
        """Write what the engine refuses beside its cell, or above the table where it is about no single one."""
        for refusal in error.refusals:
            name = _cell(refusal.quantity, refusal.band)
            self.add_error(name if name in self.fields else None, refusal.message)

    @staticmethod
    def initial_of(test: SoundTest) -> dict[str, str]:
        initial = {}
        for quantity, positions in test.readings.items():
            for n, band in enumerate(test.bands):
                initial[_cell(quantity, band)] = " ".join(f"{row[n]:g}" for row in positions)
        return initial


def _cell(quantity: str, band) -> str:
    return f"{quantity}-{band}"


class FilesField(forms.FileField):
    """Several files at once."""

    widget = ManyFiles

    def clean(self, data, initial=None):
        files = data if isinstance(data, (list, tuple)) else [data] if data else []
        return [super(FilesField, self).clean(one, initial) for one in files]


class ImportForm(forms.Form):
    """Files, or cells pasted from a spreadsheet."""

    basis = _one_of("What was done", SoundTest.Basis.choices)
    kind = _one_of("Which sound", Kind.choices)
    files = FilesField(
        required=False,
        label="Files",
        help_text="CSV as the meter or a spreadsheet saves it. Several at once, if each room has its own.",
    )
    pasted = forms.CharField(
        required=False,
        label="Or paste the cells",
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
        help_text="Marked and copied in a spreadsheet, with the line of titles.",
    )

    def clean(self):
        found = super().clean()
        texts = []
        for file in found.get("files") or []:
            try:
                text = decoded(file.read())
                table.read_table(text)
                texts.append((file.name, text))
            except CannotRead as error:
                self.add_error("files", f"{file.name}: {error}")
        if pasted := found.get("pasted"):
            try:
                table.read_table(pasted)
                texts.append(("Pasted cells", pasted))
            except CannotRead as error:
                self.add_error("pasted", str(error))
        if not texts and not self.errors:
            self.add_error("files", "Choose a file, or paste the cells below.")
        self.texts = texts
        return found


class ColumnsForm(forms.Form):
    """What each column of one file measured; where the bands stand in the columns, what each row did."""

    def __init__(
        self, *args, name: str, found: table.Table, quantities: Sequence[str], by: int | None, **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.name, self.table = name, found
        choices = [(OUT, "Leave out")] + [(q, QUANTITY_LABELS[q][0]) for q in quantities]
        self.by_words = table.words_columns(found) if found.is_across else []
        by_column = dict(self.by_words)
        self.words_column = by if by in by_column else (self.by_words[0][0] if self.by_words else None)
        self.keys: dict[str, int | str] = {}
        for place, (key, title) in enumerate(self._what(by_column)):
            guessed = table.guess(title) or table.guess(name if found.is_across and self.words_column is None else "")
            self.keys[f"role-{place}"] = key
            self.fields[f"role-{place}"] = forms.ChoiceField(
                label=title or "Every row of it",
                choices=choices,
                initial=guessed if guessed in quantities else OUT,
                widget=forms.Select(attrs={"width_class": "half"}),
            )

    def _what(self, by_column: dict) -> list[tuple[int | str, str]]:
        if not self.table.is_across:
            return [(n, self.table.header[n] or f"Column {n + 1}") for n in self.table.columns]
        if self.words_column is None:
            return [("", "")]
        return [(words, words or "(empty)") for words in by_column[self.words_column]]

    @property
    def told_apart_by(self) -> list[tuple[int, str, bool]]:
        """Columns of words that may say what a row measured: their place, title, and whether it is the one in use."""
        return [(n, self.table.header[n] or f"column {n + 1}", n == self.words_column) for n, _ in self.by_words]

    @property
    def preview(self) -> list[tuple[int, list[str]]]:
        return self.table.rows[:6]

    def readings(self) -> table.Readings:
        """Raises CannotRead."""
        chosen = ((key, self.cleaned_data[field]) for field, key in self.keys.items())
        roles = {key: table.IGNORE if role == OUT else role for key, role in chosen}
        if self.table.is_across:
            return table.pick_across(self.table, roles=roles, words_column=self.words_column)
        return table.pick_down(self.table, roles)


class TargetForm(forms.ModelForm):
    limit_db = forms.IntegerField(
        label="Limit",
        min_value=10,
        max_value=100,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "data-unit": "dB"}),
    )

    class Meta:
        model = Target
        fields = ["name", "place", "quantity", "limit_db", "source"]
