"""Forms of labour: rates, allowances of hours, factors on hours."""

from django import forms

from contractor.catalogue.forms.fields import number
from contractor.catalogue.models import LabourAllowance, LabourFactor, LabourRate
from contractor.common.forms import MoneyField


class RateForm(forms.ModelForm):
    rate = MoneyField(label="Charged at, ex VAT", max_digits=8, help_text="A new rate is dated today.")
    rate_checked = forms.BooleanField(
        required=False, label="Checked today: this is our rate", help_text="Dates the rate today without changing it."
    )

    class Meta:
        model = LabourRate
        fields = ["name", "unit", "rate"]
        labels = {"unit": "For a"}
        help_texts = {"unit": "hour, point, visit, each …"}
        widgets = {
            "name": forms.TextInput(attrs={"width_class": "half"}),
            "unit": forms.TextInput(attrs={"width_class": "half"}),
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is None:
            del self.fields["rate_checked"]


class AllowanceForm(forms.ModelForm):
    hours_per_unit = number(LabourAllowance, "hours_per_unit", "hours")

    class Meta:
        model = LabourAllowance
        fields = ["name", "hours_per_unit", "unit", "rate", "origin"]
        labels = {"unit": "For a", "rate": "Charged as", "origin": "Where the figure comes from"}
        help_texts = {"unit": "m², m, t or each."}
        widgets = {
            "unit": forms.TextInput(attrs={"width_class": "third"}),
            "rate": forms.Select(attrs={"width_class": "third"}),
        }

    def clean_unit(self) -> str:
        return self.cleaned_data["unit"].replace("²", "2")


class FactorForm(forms.ModelForm):
    factor = number(LabourFactor, "factor", "×")

    class Meta:
        model = LabourFactor
        fields = ["name", "factor", "origin"]
        labels = {"name": "Circumstance", "origin": "Where the figure comes from"}
        help_texts = {"factor": "1.15 makes the hours 15 % longer."}
