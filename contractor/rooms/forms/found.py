"""Forms of what was found on a surface, and of a rule set aside."""

from django import forms

from contractor.common.forms import UnitDecimalField
from contractor.rooms.forms.drawn import length
from contractor.rooms.models import Finding, RuleOverride
from contractor.rooms.tap_drawing import MARKS, cell_key, grid_of, to_sound


class FindingForm(forms.ModelForm):
    """The grid's boxes are named after their marks; each holds the cell, such as 3-0, counted from the bottom left."""

    moisture_percent = UnitDecimalField(
        unit="%",
        label="Highest moisture reading",
        required=False,
        min_value=0,
        max_value=100,
        max_digits=4,
        decimal_places=1,
        help_text="As the meter shows it. Leave empty if none was taken.",
    )
    frame_clear_mm = length(
        "Clear beside the frame",
        required=False,
        help_text="From the wall's face to the edge of a door or window frame.",
    )

    class Meta:
        model = Finding
        fields = ["was_tapped", "moisture_percent", "frame_clear_mm", "has_salts", "is_crumbling", "note"]
        labels = {"was_tapped": "It was sounded: what is not marked is sound", "note": "Note"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.cells = {cell_key(cell): list(cell) for cell in to_sound(self.instance.surface)}
        for name in MARKS:
            self.fields[name] = forms.MultipleChoiceField(required=False, choices=[(key, key) for key in self.cells])
            kept = self.instance.marks.get(name, ())
            self.initial[name] = [cell_key(tuple(cell)) for cell in kept]
        for name in ("moisture_percent", "frame_clear_mm"):
            self.fields[name].widget.attrs["width_class"] = "half keep"

    def clean(self):
        cleaned = super().clean()
        self.instance.marks = {name: [self.cells[key] for key in cleaned.get(name) or ()] for name in MARKS}
        if any(self.instance.marks.values()):
            cleaned["was_tapped"] = self.instance.was_tapped = True
        return cleaned

    @property
    def grid(self) -> list:
        return grid_of(self.instance.surface, {name: self[name].value() or [] for name in MARKS})

    def readings(self) -> list:
        return [self[name] for name in self.Meta.fields if name != "was_tapped"]

    def grid_errors(self) -> list[str]:
        return [error for name in MARKS for error in self[name].errors]


class SetAsideForm(forms.ModelForm):
    class Meta:
        model = RuleOverride
        fields = ["reason"]
        labels = {"reason": "Why this rule is set aside here"}
        help_texts = {"reason": "Kept with your name and the day, and shown again with the quote."}
        widgets = {"reason": forms.Textarea(attrs={"rows": 3, "autofocus": True})}
        error_messages = {"reason": {"required": "Give the reason: without one the rule holds."}}
