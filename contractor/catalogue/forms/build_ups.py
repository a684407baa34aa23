"""The form of a build-up and of its layers, each with its fixing and hold points."""

from decimal import Decimal

from django import forms

from contractor.catalogue.forms.fields import number
from contractor.catalogue.forms.rows import MaterialNameField, RowForm, row_set
from contractor.catalogue.layers.checking.bridge import problem_of_built
from contractor.catalogue.models import BuildUp, BuildUpFixing, BuildUpLayer, Connection, Direction
from contractor.catalogue.performance.bridge import screw_problem

QUANTITY_UNITS = ["", "m2", "m", "each", "tube", "bag", "bottle", "tin", "tub"]
UNIT_NAMES = {"": "Nothing", "m2": "m²"}
HALF = {"width_class": "half"}
NARROW = "quarter keep"


def lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _hold_point_lines(text: str) -> str:
    longest = max((len(line) for line in lines(text)), default=0)
    if longest > 240:
        raise forms.ValidationError(f"A hold point has at most 240 letters; one has {longest}.", code="long")
    return text


class BuildUpForm(forms.ModelForm):
    labour_hours_per_unit = number(BuildUp, "labour_hours_per_unit", "hours", width="half")
    crew_size = number(BuildUp, "crew_size", "people", width="half")
    before_starting = forms.CharField(
        required=False,
        label="Hold points before starting",
        help_text="One to a line: what must be settled before any work.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    class Meta:
        model = BuildUp
        fields = [
            "name", "surface", "unit", "labour_hours_per_unit", "crew_size", "replaces_face", "only_on_projections",
            "plain_words", "use_when", "avoid_when", "tools", "origin", "is_active",
        ]  # fmt: skip
        labels = {
            "surface": "Where it goes",
            "unit": "Measured in",
            "is_active": "Offered for treatments",
            "origin": "Where the figures come from",
        }
        help_texts = {"is_active": "Take the tick out to retire it: what uses it keeps it, nothing new can choose it."}
        widgets = {
            "surface": forms.Select(attrs=HALF),
            "unit": forms.Select(attrs=HALF),
            **{name: forms.Textarea(attrs={"rows": 3}) for name in ("plain_words", "tools", "origin")},
            **{name: forms.Textarea(attrs={"rows": 2, "width_class": "half"}) for name in ("use_when", "avoid_when")},
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            points = [point.text for point in self.instance.hold_points.all() if point.after_layer_id is None]
            self.initial["before_starting"] = "\n".join(points)

    def clean_before_starting(self) -> str:
        return _hold_point_lines(self.cleaned_data["before_starting"])


class LayerForm(RowForm):
    preset = ("counts_in_depth", "connection")

    role = forms.ChoiceField(label="Role", choices=[("", "Choose"), *BuildUpLayer.Role.choices])
    description = forms.CharField(max_length=200, label="Layer")
    material = MaterialNameField(label="Material")
    thickness_mm = number(BuildUpLayer, "thickness_mm", "mm", width=NARROW)
    counts_in_depth = forms.BooleanField(required=False, label="Counts in the depth")
    quantity_per_unit = number(BuildUpLayer, "quantity_per_unit", "per unit", width=NARROW)
    quantity_unit = forms.ChoiceField(
        required=False, label="Counted in", choices=[(unit, UNIT_NAMES.get(unit, unit)) for unit in QUANTITY_UNITS]
    )
    connection = forms.ChoiceField(required=False, label="What crosses the gap here", choices=Connection.choices)
    spacing_mm = number(BuildUpLayer, "spacing_mm", "mm", width=NARROW)
    direction = forms.ChoiceField(required=False, label="Runs", choices=[("", "Does not matter"), *Direction.choices])
    in_existing_cavity = forms.BooleanField(required=False, label="Goes between the old studs or joists")
    instruction = forms.CharField(required=False, label="For the fitter", widget=forms.Textarea(attrs={"rows": 2}))
    fixing_material = MaterialNameField(label="Fixed with")
    per_unit = number(BuildUpFixing, "per_unit", "per unit", width=NARROW)
    screw_length_mm = number(BuildUpFixing, "screw_length_mm", "mm", width=NARROW)
    hold_points = forms.CharField(
        required=False,
        label="Hold points after this layer",
        help_text="One to a line.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    plain = ["role", "description", "thickness_mm", "material", "counts_in_depth"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["per_unit"].required = False
        self.fields["thickness_mm"].required = False
        self.fields["per_unit"].label = "Fixings"
        self.fields["screw_length_mm"].label = "Screw length"
        self.fields["quantity_per_unit"].label = "Quantity"
        widths = {"role": "quarter", "description": "half", "material": "half", "counts_in_depth": "quarter keep"}
        widths |= {
            "quantity_unit": "quarter keep",
            "connection": "half",
            "direction": "quarter",
            "fixing_material": "half",
        }
        for name, width in widths.items():
            self.fields[name].widget.attrs["width_class"] = width

    @property
    def plain_fields(self) -> list:
        return [self[name] for name in self.plain]

    @property
    def other_fields(self) -> list:
        return [self[name] for name in self.fields if name not in self.plain]

    @property
    def has_hidden_errors(self) -> bool:
        return any(name not in self.plain for name in self.errors)

    def clean_thickness_mm(self) -> Decimal:
        return self.cleaned_data["thickness_mm"] or Decimal(0)

    def clean_hold_points(self) -> str:
        return _hold_point_lines(self.cleaned_data["hold_points"])

    def clean(self) -> dict:
        values = super().clean()
        is_bare_board = values.get("role") == BuildUpLayer.Role.BOARD and values.get("material") is None
        if is_bare_board and "material" not in self.errors:
            self.add_error("material", "A board needs its material: it is laid out, cut and bought.")
        has_fixing = values.get("fixing_material") is not None
        counts_nothing = not has_fixing and (values.get("per_unit") or values.get("screw_length_mm"))
        if has_fixing and not values.get("per_unit") and "per_unit" not in self.errors:
            self.add_error("per_unit", "Say how many fixings go into a unit.")
        if counts_nothing and "fixing_material" not in self.errors:
            self.add_error("fixing_material", "Say what it is fixed with.")
        if values.get("quantity_per_unit") and not values.get("quantity_unit"):
            self.add_error("quantity_unit", "Say what the quantity is counted in.")
        return values

    @property
    def fields_of_layer(self) -> dict:
        """What a BuildUpLayer takes, with its fixing and hold points."""
        values = self.cleaned_data
        extra = ("fixing_material", "per_unit", "screw_length_mm", "hold_points")
        fixing = {
            "material": values["fixing_material"],
            "per_unit": values["per_unit"],
            "screw_length_mm": values["screw_length_mm"],
        }
        return {
            **{name: value for name, value in values.items() if name not in extra},
            "connection": values["connection"] or Connection.NONE,
            "fixing": fixing if values["fixing_material"] else None,
            "hold_points": lines(values["hold_points"]),
        }


def layers_of(forms_: list[LayerForm]) -> list[BuildUpLayer]:
    """Layers, not saved, of the rows given, in order."""
    names = {field.name for field in BuildUpLayer._meta.concrete_fields}
    return [
        BuildUpLayer(order=order, **{name: value for name, value in form.fields_of_layer.items() if name in names})
        for order, form in enumerate(forms_, start=1)
    ]


def _check(formset) -> None:
    """The prediction can work with each layer; screws must hold and must not bridge."""
    layers = layers_of(formset.filled)
    for form, layer in zip(formset.filled, layers, strict=True):
        refused = problem_of_built(layer)
        if refused:
            form.add_error(*refused)
            continue
        length_mm = form.cleaned_data["screw_length_mm"]
        problem = screw_problem(layers, layer, length_mm) if length_mm else None
        if problem:
            form.add_error("screw_length_mm", problem)


build_up_layer_rows = row_set(LayerForm, check=_check)


def rows_from(build_up: BuildUp | None) -> list[dict]:
    """Initial rows for the form; one empty one for a new build-up."""
    return [{"counts_in_depth": True}] if build_up is None else [_row(layer) for layer in build_up.layers.all()]


def _row(layer: BuildUpLayer) -> dict:
    fixing = next(iter(layer.fixings.all()), None)
    return {
        "role": layer.role,
        "description": layer.description,
        "material": layer.material.name if layer.material else "",
        "thickness_mm": layer.thickness_mm,
        "counts_in_depth": layer.counts_in_depth,
        "quantity_per_unit": layer.quantity_per_unit,
        "quantity_unit": layer.quantity_unit,
        "connection": layer.connection,
        "spacing_mm": layer.spacing_mm,
        "direction": layer.direction,
        "in_existing_cavity": layer.in_existing_cavity,
        "instruction": layer.instruction,
        "fixing_material": fixing.material.name if fixing else "",
        "per_unit": fixing.per_unit if fixing else None,
        "screw_length_mm": fixing.screw_length_mm if fixing else None,
        "hold_points": "\n".join(point.text for point in layer.hold_points.all()),
    }
