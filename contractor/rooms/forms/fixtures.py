"""What hangs or stands on a surface, and strips that a lining leaves clear."""

from django import forms

from contractor.rooms.forms.drawn import DrawnForm, drawn_attrs, length
from contractor.rooms.forms.parts import name_directions
from contractor.rooms.models import Fixture, Patch, Surface
from contractor.rooms.strips import places_of
from contractor.rooms.usual_sizes import kinds_for


class FixtureForm(DrawnForm):
    drawn = ("x_mm", "width_mm", "y_mm", "height_mm")
    within = "surface"
    half = (*drawn, "projection_mm")

    x_mm = length("From the left", min_value=0)
    width_mm = length("Width")
    y_mm = length("From the floor", min_value=0, initial=0, help_text="To its lower edge.")
    height_mm = length("Height")
    projection_mm = length("Stands out by", min_value=0, initial=0)

    class Meta:
        model = Fixture
        fields = [
            "kind",
            "x_mm",
            "width_mm",
            "y_mm",
            "height_mm",
            "projection_mm",
            "fate",
            "is_back_to_back",
            "note",
        ]
        widgets = {"fate": forms.RadioSelect, "note": forms.TextInput}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_directions(self, self.instance.surface)
        kinds = kinds_for(self.instance.surface.face)
        if self.instance.kind and self.instance.kind not in dict(kinds):
            kinds.append((self.instance.kind, self.instance.get_kind_display()))
        self.fields["kind"].choices = kinds
        self.fields["fate"].choices = Fixture.Fate.choices
        self.fields["is_back_to_back"].widget.attrs["width_class"] = "asks-back"

    def clean(self) -> dict:
        data = super().clean()
        kind = data.get("kind")
        if kind == Fixture.Kind.AIR_BRICK and data.get("fate") not in (None, Fixture.Fate.STAYS):
            self.add_error("fate", "An air brick stays, open and clear: it airs the timbers under the floor.")
        if data.get("is_back_to_back") and kind not in Fixture.BOXES:
            self.add_error("is_back_to_back", "Only sockets, switches and data points lie back to back.")
        return data


class StripForm(forms.Form):
    """A lining must stop short: of which patch, where, by how much and why."""

    drawn = ("clear_mm", "place", "patch")

    patch = forms.ModelChoiceField(Patch.objects.none(), label="The lining of", empty_label=None)
    place = forms.ChoiceField(label="Stops short")
    clear_mm = length("By", help_text="The width left clear.")
    reason = forms.ChoiceField(label="Because", choices=[("", "Choose why"), *Patch.StripReason.choices])

    def __init__(self, *args, surface: Surface, draw_at: str = "", **kwargs):
        super().__init__(*args, **kwargs)
        self.surface = surface
        self.fields["patch"].queryset = surface.patches.filter(strip_reason="")
        self.fields["place"].choices = places_of(surface)
        self.fields["clear_mm"].widget.attrs["width_class"] = "half keep"
        for name in self.drawn if draw_at else ():
            self.fields[name].widget.attrs |= drawn_attrs(draw_at)
