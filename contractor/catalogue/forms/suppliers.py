"""The form of a supplier."""

from django import forms

from contractor.catalogue.models import Supplier
from contractor.catalogue.selectors import unsupplied_kinds


class SupplierForm(forms.ModelForm):
    kinds = forms.MultipleChoiceField(
        required=False,
        label="Buy here what nobody supplies yet",
        help_text="Of these kinds, every material without a supplier gets this one. A single one is set on its own page.",
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Supplier
        fields = ["name", "email", "account_note"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].widget.attrs["width_class"] = "half"
        self.fields["email"].widget.attrs["width_class"] = "half"
        choices = unsupplied_kinds()
        if choices:
            self.fields["kinds"].choices = choices
        else:
            del self.fields["kinds"]

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if Supplier.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError("Another supplier has this name. Give it one of its own.", code="taken")
        return name
