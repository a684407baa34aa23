"""What a press of a tick sends."""

from django import forms

from contractor.common.forms import LengthField
from contractor.common.geometry import box_round
from contractor.offcuts.models import Offcut


class TickForm(forms.Form):
    """The state is said, not switched: sent twice, it is the same."""

    key = forms.CharField(max_length=80)
    done = forms.ChoiceField(choices=[("1", "Done"), ("0", "Not done")])


class LeftForm(forms.Form):
    """For each part left over: whether it goes into the store, and in what condition."""

    def __init__(self, *args, rows: list[dict], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.parts = rows
        for number, row in enumerate(rows):
            self.fields[f"keep-{number}"] = forms.BooleanField(
                label=f"Keep {row['label']}", required=False, initial=True
            )
            self.fields[f"condition-{number}"] = forms.ChoiceField(
                label=f"Condition of {row['label']}", choices=Offcut.Condition.choices
            )

    @property
    def rows(self) -> list[tuple[dict, forms.BoundField, forms.BoundField]]:
        return [(row, self[f"keep-{n}"], self[f"condition-{n}"]) for n, row in enumerate(self.parts)]

    @property
    def kept(self) -> list[dict]:
        return [row for n, row in enumerate(self.parts) if self.cleaned_data[f"keep-{n}"]]

    @property
    def conditions(self) -> dict[str, str]:
        return {row["label"]: self.cleaned_data[f"condition-{n}"] for n, row in enumerate(self.parts)}


MOST_OFF_MM = 300  # more than this is another wall, or a slip of the thumb


class MeasureForm(forms.Form):
    """A surface as it is built: its width and height."""

    width_mm = LengthField(label="Width")
    height_mm = LengthField(label="Height")
    confirmed = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, face: dict, **kwargs) -> None:
        around = box_round(face["outline_mm"])
        self.sizes = {"width_mm": around.width_mm, "height_mm": around.height_mm}
        super().__init__(*args, initial=self.sizes, **kwargs)
        for name in self.sizes:
            self.fields[name].widget.attrs["width_class"] = "half keep"

    def clean(self) -> dict:
        values = super().clean()
        for name, planned in self.sizes.items():
            if name in values and abs(values[name] - planned) > MOST_OFF_MM:
                text = f"More than {MOST_OFF_MM} mm from the {planned:,} mm planned. Measure again, or ring the office."
                self.add_error(name, text)
        if not self.errors and all(values[name] == planned for name, planned in self.sizes.items()):
            self.add_error(None, "That is the size as planned: nothing changes.")
        return values
