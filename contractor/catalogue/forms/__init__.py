"""Forms of the catalogue, by noun."""

from contractor.catalogue.forms.build_ups import BuildUpForm, LayerForm, build_up_layer_rows
from contractor.catalogue.forms.climates import ClimateForm
from contractor.catalogue.forms.constructions import ConstructionForm, ConstructionLayerForm, construction_layer_rows
from contractor.catalogue.forms.labour import AllowanceForm, FactorForm, RateForm
from contractor.catalogue.forms.materials import MaterialForm, PricesForm
from contractor.catalogue.forms.suppliers import SupplierForm

__all__ = [
    "AllowanceForm",
    "BuildUpForm",
    "ClimateForm",
    "ConstructionForm",
    "ConstructionLayerForm",
    "FactorForm",
    "LayerForm",
    "MaterialForm",
    "PricesForm",
    "RateForm",
    "SupplierForm",
    "build_up_layer_rows",
    "construction_layer_rows",
]
