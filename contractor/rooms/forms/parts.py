"""Patches and openings: rectangles on a surface."""

from django import forms

from contractor.catalogue.models import Construction
from contractor.rooms.forms.drawn import DrawnForm, length
from contractor.rooms.models import Opening, Patch, Surface
from contractor.rooms.rings import height_at
from contractor.rooms.selectors import conditions_for, constructions_for


class PatchForm(DrawnForm):
    """A patch other than the rest."""

    drawn = ("x_mm", "y_mm", "width_mm", "height_mm")
    within = "surface"
    half = (*drawn, "projection_mm", "depth_limit_mm")

    x_mm = length("From the left", min_value=0)
    width_mm = length("Width")
    y_mm = length("From the floor", min_value=0, initial=0)
    height_mm = length("Height", required=False, help_text="Left empty, it reaches the top.")
    projection_mm = length(
        "Stands out by",
        min_value=0,
        initial=0,
        help_text="A chimney breast stands out into the room; its two cheeks are lined too.",
    )
    depth_limit_mm = length(
        "Depth the customer will give", required=False, help_text="Leave empty if nothing may be built here."
    )

    class Meta:
        model = Patch
        fields = [
            "name",
            "x_mm",
            "width_mm",
            "y_mm",
            "height_mm",
            "projection_mm",
            "depth_limit_mm",
            "construction",
            "condition",
        ]
        labels = {"construction": "Built of", "condition": "Condition found"}
        help_texts = {"name": "Such as Left alcove, Chimney breast or Wall above the units."}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_directions(self, self.instance.surface)
        built_of = constructions_for(self.instance.surface.face)
        if self.instance.construction_id:
            built_of = built_of | Construction.objects.filter(pk=self.instance.construction_id)
        self.fields["condition"].choices = conditions_for(self.instance.surface.face)
        self.fields["construction"].queryset = built_of
        self.fields["construction"].empty_label = "Choose what it is built of"

    def clean(self) -> dict:
        data = super().clean()
        if data.get("height_mm") is None and "height_mm" not in self.errors:
            above_mm = self._top_mm(data) - (data.get("y_mm") or 0)
            if above_mm > 0:
                data["height_mm"] = above_mm
            else:
                self.add_error("y_mm", "This begins above the top edge of the surface.")
        return data

    def _top_mm(self, data: dict) -> int:
        """How high the surface reaches over the patch."""
        ring = self.instance.surface.ring
        left_mm = data.get("x_mm") or 0
        right_mm = left_mm + (data.get("width_mm") or 0)
        at = [left_mm, right_mm, *(x for x, _ in ring if left_mm < x < right_mm)]
        return round(max(height_at(ring, x_mm) for x_mm in at))


class OpeningForm(DrawnForm):
    drawn = ("x_mm", "y_mm", "width_mm", "height_mm")
    within = "surface"
    half = drawn

    x_mm = length("From the left", min_value=0)
    width_mm = length("Width")
    y_mm = length("From the floor", min_value=0, initial=0, help_text="To the sill; nothing for a door.")
    height_mm = length("Height")

    class Meta:
        model = Opening
        fields = ["kind", "x_mm", "width_mm", "y_mm", "height_mm", "construction"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_directions(self, self.instance.surface)
        self.fields["kind"].choices = Opening.Kind.choices
        if self.instance.kind == "" and not self.is_bound:
            self.initial.setdefault("kind", Opening.Kind.WINDOW)
        made_of = Construction.objects.filter(kind__in=[Construction.Kind.DOOR, Construction.Kind.WINDOW])
        self.fields["construction"].queryset = made_of.filter(is_active=True) | made_of.filter(
            pk=self.instance.construction_id
        )
        self.fields["construction"].empty_label = "Not said"


def name_directions(form: forms.ModelForm, surface: Surface) -> None:
    """A ceiling or floor has no floor to measure from."""
    if surface.face != Surface.Face.WALL:
        form.fields["y_mm"].label = "From the lower edge"
        form.fields["y_mm"].help_text = ""
        form.fields["height_mm"].label = "Depth on the drawing"
