"""What a press of a tick sends."""

from django import forms

from contractor.common.forms import LengthField
from contractor.common.geometry import box_round


class TickForm(forms.Form):
    """The state is said, not switched: sent twice, it is the same."""

    key = forms.CharField(max_length=80)
    done = forms.ChoiceField(choices=[("1", "Done"), ("0", "Not done")])


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
