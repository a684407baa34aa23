"""Rooms, surfaces and side paths as they are asked for on site, in the order in which one walks round the room."""

from django import forms

from contractor.catalogue.models import Construction
from contractor.common.forms import UnitDecimalField
from contractor.rooms.forms.drawn import DrawnForm, length
from contractor.rooms.models import SidePath, Surface
from contractor.rooms.selectors import conditions_for, constructions_for, rest_of, usual_junction_length_mm
from contractor.rooms.side_paths import GUIDES


class SurfaceForm(DrawnForm):
    """A surface with what most of it is built of. The view groups the fields: `parts()` and `junction_fields()`."""

    within = "room"
    drawn = ("length_mm", "height_mm")
    half = ("length_mm", "height_mm", "condition", "depth_limit_mm", "boxes", "out_of_true_mm")

    length_mm = length("Length")
    height_mm = length("Height")
    construction = forms.ModelChoiceField(
        Construction.objects.none(),
        label="Built of",
        required=False,
        empty_label="Not yet known",
        error_messages={"required": "Say what it is built of: it takes part."},
        help_text="Patches built of something else, such as a chimney breast, are added below.",
    )
    condition = forms.ChoiceField(label="Condition found")
    depth_limit_mm = length(
        "Depth the customer will give", required=False, help_text="Leave empty if nothing may be built here."
    )
    out_of_true_mm = length("Out of true", min_value=0, initial=0, help_text="Gap under a 1.8 m level.")
    junction_length_mm = length("Length of the junction", required=False)
    far_area_m2 = UnitDecimalField(
        unit="m²",
        label="Area on the noise's side",
        required=False,
        min_value=0.01,
        max_digits=6,
        decimal_places=2,
        help_text="Leave empty if it is the same.",
    )

    class Meta:
        model = Surface
        fields = [
            "letter",
            "name",
            "role",
            "length_mm",
            "height_mm",
            "boxes",
            "out_of_true_mm",
            "faces_outdoors",
            "junction",
            "junction_length_mm",
            "far_construction",
            "far_area_m2",
        ]
        labels = {"role": "What it does", "junction": "How it meets the separating surface"}
        widgets = {
            "role": forms.RadioSelect,
            "boxes": forms.TextInput(attrs={"inputmode": "numeric"}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["letter"].widget.attrs |= {"width_class": "quarter keep", "autocapitalize": "characters"}
        self.fields["name"].widget.attrs["width_class"] = "beside-letter"
        self.fields["role"].choices = Surface.Role.choices
        face = self.instance.face
        self.fields["condition"].choices = conditions_for(face)
        built_of = constructions_for(face)
        self.fields["construction"].queryset = built_of
        self.fields["far_construction"].queryset = built_of
        self.fields["far_construction"].empty_label = "The same"
        role = (self.data.get("role") if self.is_bound else None) or self.instance.role
        self.fields["construction"].required = role in (Surface.Role.SEPARATING, Surface.Role.FLANKING)
        # Shown as required wherever it is shown at all.
        self.fields["junction"].required = role == Surface.Role.FLANKING or not self.is_bound
        self.fields["junction"].error_messages["required"] = "Say how this surface meets the separating one."
        if self.instance.place is not None:  # its sizes come from the walk round the room
            del self.fields["length_mm"], self.fields["height_mm"]
        placed = sum(f.is_box for f in self.instance.fixtures.all()) if self.instance.pk else 0
        if placed:
            self.fields["boxes"].help_text = f"{placed} placed below: those are counted."
        self._say_what_sizes_are(face)
        rest = rest_of(self.instance) if self.instance.pk else None
        if rest:
            # A construction since retired stays choosable where it is in use.
            self.fields["construction"].queryset = built_of | Construction.objects.filter(pk=rest.construction_id)
            for name in ("construction", "condition", "depth_limit_mm"):
                self.initial.setdefault(name, getattr(rest, name))

    def _say_what_sizes_are(self, face: str) -> None:
        if face == Surface.Face.WALL:
            self.fields["junction_length_mm"].help_text = "Left empty, the height of this wall is taken."
        else:
            if "height_mm" in self.fields:
                self.fields["height_mm"].label = "Width"
            self.fields["junction_length_mm"].help_text = "Left empty, the length of the separating wall is taken."

    def clean_letter(self) -> str:
        letter = self.cleaned_data["letter"].upper()
        others = self.instance.room.surfaces.exclude(pk=self.instance.pk)
        if others.filter(letter=letter).exists():
            raise forms.ValidationError("Another surface of this room has that letter.")
        return letter

    def clean(self) -> dict:
        data = super().clean()
        is_flanking = data.get("role") == Surface.Role.FLANKING
        if is_flanking and not data.get("junction_length_mm") and "junction_length_mm" not in self.errors:
            data["junction_length_mm"] = self._junction_length_mm(data)
        return data

    def _junction_length_mm(self, data: dict) -> int | None:
        self.instance.length_mm = data.get("length_mm") or self.instance.length_mm
        self.instance.height_mm = data.get("height_mm") or self.instance.height_mm
        return usual_junction_length_mm(self.instance)

    def rest(self) -> dict:
        """What the surface's rest patch is to be, for services.surface_save."""
        return {
            "construction": self.cleaned_data["construction"],
            "condition": self.cleaned_data["condition"],
            "depth_limit_mm": self.cleaned_data["depth_limit_mm"],
        }

    def parts(self) -> list:
        """The legend and fields of each group, in the order of the walk round the room."""
        return [
            ("What it is", self._bound("letter", "name", "role")),
            *([] if self.instance.place is not None else [("Size", self._bound("length_mm", "height_mm"))]),
            ("As found", self._bound("construction", "condition", "depth_limit_mm", "boxes", "out_of_true_mm")),
            ("Beyond it", self._bound("faces_outdoors")),
        ]

    def junction_fields(self) -> list:
        return self._bound("junction", "junction_length_mm", "far_construction", "far_area_m2")

    def junction_is_at_fault(self) -> bool:
        """The junction is hidden while the surface is no flanking one, unless something in it must be mended."""
        return any(field.errors for field in self.junction_fields())

    def _bound(self, *names: str) -> list:
        return [self[name] for name in names]


class SidePathForm(forms.ModelForm):
    length_mm = length("Length")
    open_area_mm2 = forms.IntegerField(
        label="Open area",
        min_value=1,
        max_value=1_000_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "data-unit": "mm²"}),
    )

    class Meta:
        model = SidePath
        fields = ["kind", "name", "length_mm", "open_area_mm2", "note"]
        widgets = {"note": forms.TextInput}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = SidePath.Kind.choices
        self.fields["name"].required = False
        self.fields["name"].help_text = "Left empty, the kind is taken."
        if self.is_bound:
            self._ask_only_what_the_kind_needs()
        self.fields["length_mm"].widget.attrs["width_class"] = "asks-length"
        self.fields["open_area_mm2"].widget.attrs["width_class"] = "asks-area"
        asked = [guide for guide in GUIDES.values() if guide.length_label]
        self.fields["length_mm"].help_text = "For " + ", ".join(guide.name.lower() for guide in asked) + "."
        self.fields["open_area_mm2"].help_text = "For gaps and leaks. A gap of 2 mm, 1 m long, is 2,000 mm²."

    def clean(self) -> dict:
        data = super().clean()
        guide = GUIDES.get(data.get("kind"))
        if guide is None:
            return data
        data["name"] = data.get("name") or guide.name
        return data

    def _ask_only_what_the_kind_needs(self) -> None:
        guide = GUIDES.get(self.data.get("kind"))
        self.fields["length_mm"].required = guide is not None and bool(guide.length_label)
        self.fields["open_area_mm2"].required = guide is not None and bool(guide.area_label)
        if guide is not None:
            self.fields["length_mm"].error_messages["required"] = f"{guide.length_label} is needed."
            self.fields["open_area_mm2"].error_messages["required"] = "Estimate the open area."
