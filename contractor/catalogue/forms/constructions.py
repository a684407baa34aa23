"""The form of a construction that stands already, and of its layers."""

from django import forms

from contractor.catalogue.forms.fields import number
from contractor.catalogue.forms.rows import MaterialNameField, RowForm, row_set
from contractor.catalogue.layers.checking.bridge import problem_of_found
from contractor.catalogue.models import Connection, Construction, ConstructionLayer

SOLID, CAVITY = "solid", "cavity"
NARROW = "quarter keep"


class ConstructionForm(forms.ModelForm):
    known_weighted_db = number(Construction, "known_weighted_db", "dB", width="half")

    class Meta:
        model = Construction
        fields = ["name", "kind", "known_weighted_db", "note", "origin", "is_active"]
        labels = {"is_active": "Offered in surveys", "origin": "Where the figures come from"}
        help_texts = {"is_active": "Take the tick out to retire it: what uses it keeps it, nothing new can choose it."}
        widgets = {"kind": forms.Select(attrs={"width_class": "half"}), "origin": forms.Textarea(attrs={"rows": 2})}


class ConstructionLayerForm(RowForm):
    preset = ("what", "connection")

    what = forms.ChoiceField(label="Layer", choices=[(SOLID, "Solid"), (CAVITY, "Cavity")])
    material = MaterialNameField(label="Material, or the wool in a cavity")
    thickness_mm = number(ConstructionLayer, "thickness_mm", "mm", width=NARROW)
    fill_thickness_mm = number(ConstructionLayer, "fill_thickness_mm", "mm", width=NARROW)
    connection = forms.ChoiceField(label="What crosses the cavity", choices=Connection.choices, required=False)
    spacing_mm = number(ConstructionLayer, "spacing_mm", "mm", width=NARROW)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fill_thickness_mm"].label = "Wool"
        self.fields["what"].widget.attrs["width_class"] = "quarter"
        self.fields["material"].widget.attrs["width_class"] = "half"
        self.fields["connection"].widget.attrs["width_class"] = "half"

    def clean(self) -> dict:
        values = super().clean()
        material, is_cavity = values.get("material"), values.get("what") == CAVITY
        if "material" not in self.errors:
            if not is_cavity and material is None:
                self.add_error("material", "Say what a solid layer is made of.")
            elif is_cavity and material is not None and not material.flow_resistivity_pa_s_m2:
                self.add_error("material", f"{material.name} is no wool: it has no airflow resistivity.")
            elif not is_cavity and not (material.density_kg_m3 or material.mass_kg_m2):
                self.add_error("material", f"{material.name} has no density: give it in the catalogue first.")
        fill_mm, depth_mm = values.get("fill_thickness_mm"), values.get("thickness_mm")
        if is_cavity and fill_mm and depth_mm and fill_mm > depth_mm:
            self.add_error("fill_thickness_mm", f"The wool is {fill_mm - depth_mm:g} mm thicker than its cavity.")
        return values

    @property
    def fields_of_layer(self) -> dict:
        """What a ConstructionLayer takes."""
        values = self.cleaned_data
        is_cavity = values["what"] == CAVITY
        return {
            "is_cavity": is_cavity,
            "material": values["material"],
            "thickness_mm": values["thickness_mm"],
            "fill_thickness_mm": values["fill_thickness_mm"] if is_cavity and values["material"] else None,
            "connection": (values["connection"] or Connection.NONE) if is_cavity else Connection.NONE,
            "spacing_mm": values["spacing_mm"] if is_cavity else None,
        }


def layers_of(forms_: list[ConstructionLayerForm]) -> list[ConstructionLayer]:
    """Layers, not saved, of the rows given, in order."""
    return [ConstructionLayer(order=order, **form.fields_of_layer) for order, form in enumerate(forms_, start=1)]


def _check(formset) -> None:
    """A cavity stands between solid layers, and the prediction can work with each."""
    for form, layer in zip(formset.filled, layers_of(formset.filled), strict=True):
        problem = problem_of_found(layer)
        if problem:
            form.add_error(*problem)
    kinds = [form.cleaned_data["what"] for form in formset.filled]
    for place, form in enumerate(formset.filled):
        if kinds[place] != CAVITY:
            continue
        if place == 0 or place == len(kinds) - 1:
            form.add_error("what", "A cavity needs a solid layer on each side.")
        elif kinds[place - 1] == CAVITY:
            form.add_error("what", "Two cavities follow each other: make them one.")


construction_layer_rows = row_set(ConstructionLayerForm, check=_check)


def rows_from(construction: Construction | None) -> list[dict]:
    """Initial rows for the form; three empty ones for a new construction."""
    if construction is None:
        return [{"what": SOLID, "connection": Connection.NONE} for _ in range(3)]
    return [
        {
            "what": CAVITY if layer.is_cavity else SOLID,
            "material": layer.material.name if layer.material else "",
            "thickness_mm": layer.thickness_mm,
            "fill_thickness_mm": layer.fill_thickness_mm,
            "connection": layer.connection,
            "spacing_mm": layer.spacing_mm,
        }
        for layer in construction.layers.all()
    ]
