"""The form of a material."""

from decimal import Decimal

from django import forms

from contractor.catalogue.forms.fields import number
from contractor.catalogue.forms.renderer import QuickRenderer
from contractor.catalogue.models import Material
from contractor.common.forms import MoneyField

Form = Material.Form
SIZES_NEEDED = {  # what the take-off cannot do without
    Form.SHEET: (["length_mm", "width_mm"], "The layout of sheets is drawn from it."),
    Form.BATT: (["length_mm", "width_mm"], "Slabs are cut from it."),
    Form.LENGTH: (["length_mm"], "Pieces are cut from it."),
}


class MaterialForm(forms.ModelForm):
    groups = [
        ("What it is", ["name", "kind", "form", "note"]),
        ("Size", ["length_mm", "width_mm", "thickness_mm", "volume_ml"]),
        ("Mass", ["mass_kg_m2", "mass_kg_m", "mass_kg_each"]),
        ("Price and pack", ["price", "price_checked", "pack_quantity", "pack_unit", "coverage", "coverage_unit", "waste_percent", "supplier", "supplier_code", "lead_time_days"]),
        ("For the prediction", ["density_kg_m3", "coincidence_m_hz", "loss_factor", "flow_resistivity_pa_s_m2", "dynamic_stiffness_mn_m3", "shear_modulus_pa", "is_masonry"]),
        ("Where the figures come from", ["origin"]),
    ]  # fmt: skip
    length_mm = number(Material, "length_mm", "mm")
    width_mm = number(Material, "width_mm", "mm")
    thickness_mm = number(Material, "thickness_mm", "mm")
    volume_ml = number(Material, "volume_ml", "ml")
    mass_kg_m2 = number(Material, "mass_kg_m2", "kg/m²")
    mass_kg_m = number(Material, "mass_kg_m", "kg/m")
    mass_kg_each = number(Material, "mass_kg_each", "kg")
    density_kg_m3 = number(Material, "density_kg_m3", "kg/m³")
    coincidence_m_hz = number(Material, "coincidence_m_hz", "Hz·m")
    loss_factor = number(Material, "loss_factor", "η")
    flow_resistivity_pa_s_m2 = number(Material, "flow_resistivity_pa_s_m2", "Pa·s/m²")
    shear_modulus_pa = number(Material, "shear_modulus_pa", "Pa")
    dynamic_stiffness_mn_m3 = number(Material, "dynamic_stiffness_mn_m3", "MN/m³")
    pack_quantity = number(Material, "pack_quantity", "in a pack")
    waste_percent = number(Material, "waste_percent", "%")
    lead_time_days = number(Material, "lead_time_days", "days")
    coverage = number(Material, "coverage", "a pack")
    price = MoneyField(required=False, label="Price of a pack, ex VAT", help_text="A new price is dated today.")
    price_checked = forms.BooleanField(
        required=False, label="Checked today: this is our price", help_text="Dates the price today without changing it."
    )
    coverage_unit = forms.ChoiceField(
        required=False,
        label="Covers, counted in",
        choices=[("", "Nothing"), ("m2", "m²"), ("m", "m"), ("each", "each")],
    )

    class Meta:
        model = Material
        fields = [
            "name", "kind", "form", "note", "length_mm", "width_mm", "thickness_mm", "volume_ml", "mass_kg_m2",
            "mass_kg_m", "mass_kg_each", "price", "pack_quantity", "pack_unit", "coverage", "coverage_unit",
            "waste_percent", "supplier", "supplier_code", "lead_time_days", "density_kg_m3", "coincidence_m_hz", "loss_factor",
            "flow_resistivity_pa_s_m2", "dynamic_stiffness_mn_m3", "shear_modulus_pa", "is_masonry", "origin",
        ]  # fmt: skip
        labels = {"form": "How it comes", "pack_unit": "Counted in", "is_masonry": "Laid or cast as masonry"}
        help_texts = {
            "pack_unit": "sheet, length, roll, slab, tube, bag, screw …",
            "is_masonry": "Brick, block, stone or concrete: decides how the prediction treats it.",
        }
        widgets = {
            "kind": forms.Select(attrs={"width_class": "half"}),
            "form": forms.Select(attrs={"width_class": "half"}),
            "pack_unit": forms.TextInput(attrs={"width_class": "third"}),
            "origin": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name, width in (
            ("price", "half"),
            ("price_checked", "half"),
            ("coverage_unit", "third"),
            ("supplier", "half"),
            ("supplier_code", "half"),
        ):
            self.fields[name].widget.attrs["width_class"] = width
        self.fields["supplier"].empty_label = "Nobody named yet"
        if self.instance.pk is None:
            del self.fields["price_checked"]

    @property
    def grouped(self) -> list[tuple[str, list]]:
        """(heading, bound fields) in the order of the page."""
        return [(heading, [self[name] for name in names if name in self.fields]) for heading, names in self.groups]

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        others = Material.objects.filter(name__iexact=name).exclude(pk=self.instance.pk)
        if others.exists():
            raise forms.ValidationError("Another material has this name. Give it one of its own.", code="taken")
        return name

    def clean(self) -> dict:
        values = super().clean()
        names, reason = SIZES_NEEDED.get(values.get("form"), ([], ""))
        for name in names:
            if name not in self.errors and not values.get(name):
                self.add_error(name, f"Give the {name.removesuffix('_mm')}. {reason}")
        if values.get("coverage") and not values.get("coverage_unit"):
            self.add_error("coverage_unit", "Say what the coverage is counted in.")
        if values.get("price_checked") and values.get("price") is None and "price" not in self.errors:
            self.add_error("price", "There is no price to check. Give one, or leave the tick out.")
        return values


class PricesForm(forms.Form):
    """The prices of many materials at once: a price and a tick for each."""

    default_renderer = QuickRenderer

    def __init__(self, *args, materials: list[Material], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.materials = {str(material.pk): material for material in materials}
        for key, material in self.materials.items():
            price = MoneyField(required=False, label=f"Price of {material.name}", initial=material.price)
            checked = forms.BooleanField(required=False, label=f"Price of {material.name} checked")
            self.fields |= {f"price-{key}": price, f"checked-{key}": checked}

    @property
    def rows(self) -> list[tuple[Material, forms.BoundField, forms.BoundField]]:
        return [(material, self[f"price-{key}"], self[f"checked-{key}"]) for key, material in self.materials.items()]

    @property
    def prices(self) -> dict[Material, Decimal | None]:
        return {material: self.cleaned_data[f"price-{key}"] for key, material in self.materials.items()}

    @property
    def checked(self) -> set[Material]:
        return {material for key, material in self.materials.items() if self.cleaned_data[f"checked-{key}"]}
