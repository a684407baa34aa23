"""Forms for variations and their lines, the homeowner's answer, stages, payments, and how the firm bills."""

from decimal import Decimal

from django import forms
from django.utils import timezone

from contractor.billing.models import BillingSettings, Payment, Variation, VariationLine
from contractor.common.forms import DateField, MoneyField, SignatureField, UnitDecimalField

HALF, QUARTER = {"width_class": "half"}, {"width_class": "quarter keep"}
MOST_STAGES = 6


class VariationForm(forms.ModelForm):
    days = forms.IntegerField(
        label="Working days more",
        min_value=-60,
        max_value=120,
        initial=0,
        widget=forms.TextInput(attrs={"inputmode": "numeric", **HALF}),
        help_text="0 where the end stays; fewer have a minus before them.",
    )

    class Meta:
        model = Variation
        fields = ["title", "cause", "days", "why"]
        widgets = {"cause": forms.Select(attrs=HALF), "why": forms.Textarea(attrs={"rows": 4})}


class LineForm(forms.ModelForm):
    quantity = UnitDecimalField(
        unit="×", max_digits=9, decimal_places=2, initial=1, help_text="With a minus for what is left out."
    )
    unit_price = MoneyField(label="Unit price, ex VAT", min_value=None)
    vat_percent = UnitDecimalField(label="VAT", unit="%", max_digits=5, decimal_places=2, min_value=0, max_value=100)

    class Meta:
        model = VariationLine
        fields = ["description", "quantity", "unit", "unit_price", "vat_percent"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("quantity", "unit", "unit_price", "vat_percent"):
            self.fields[name].widget.attrs.update(QUARTER)

    def clean_quantity(self):
        if not self.cleaned_data["quantity"]:
            raise forms.ValidationError("Not nought: then there is no line.")
        return self.cleaned_data["quantity"]


class ApproveForm(forms.Form):
    typed_name = SignatureField()
    agreed = forms.BooleanField(
        label="I agree to this change, to its price and to what it does to the dates.",
        error_messages={"required": "Tick this to agree."},
    )


class DeclineForm(forms.Form):
    reason = forms.CharField(
        label="Would you tell us why?", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )


class StagesForm(forms.Form):
    """Up to six stages; those without a name are left out. They must add up to the whole."""

    def __init__(self, *args, stages, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for n in range(1, MOST_STAGES + 1):
            row = stages[n - 1] if n <= len(stages) else None
            self.fields[f"label-{n}"] = forms.CharField(
                label=f"Stage {n}", required=False, max_length=80, initial=row.label if row else "",
                widget=forms.TextInput(attrs={"width_class": "half keep"}),
            )  # fmt: skip
            self.fields[f"percent-{n}"] = UnitDecimalField(
                unit="%", label="Share", required=False, max_digits=5, decimal_places=2, min_value=Decimal("0.01"),
                max_value=100, initial=f"{row.percent.normalize():f}" if row else None,
            )  # fmt: skip
            self.fields[f"percent-{n}"].widget.attrs["width_class"] = "half keep"

    def clean(self):
        found = super().clean()
        self.stages = []
        for n in range(1, MOST_STAGES + 1):
            label, percent = found.get(f"label-{n}"), found.get(f"percent-{n}")
            if label and percent:
                self.stages.append((label, percent))
            elif label and f"percent-{n}" not in self.errors:
                self.add_error(f"percent-{n}", "How much of the sum?")
            elif percent:
                self.add_error(f"label-{n}", "When does it fall due?")
        whole = sum(percent for _, percent in self.stages)
        if not self.errors and whole != 100:
            self.add_error(None, f"Together they are {whole.normalize():f} %, not 100 %." if whole else "Name a stage.")
        return found


class _MoneyForm(forms.ModelForm):
    """`expected` is what the invoice stood open at when the form was shown, so that a second press does nothing."""

    amount = MoneyField(min_value=Decimal("0.01"), max_digits=11)
    on_date = DateField(label="Day")
    expected = forms.DecimalField(widget=forms.HiddenInput)

    class Meta:
        model = Payment
        fields = ["amount", "on_date", "how", "note"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        by_hand = [choice for choice in Payment.How.choices if choice[0] != Payment.How.SET_OFF]
        self.fields["how"].choices = by_hand
        for name in self.Meta.fields:
            self.fields[name].widget.attrs.update(QUARTER)

    def clean_on_date(self):
        day = self.cleaned_data["on_date"]
        if day > timezone.localdate():
            raise forms.ValidationError("That day is still to come.")
        return day


class PaymentForm(_MoneyForm):
    is_more = forms.BooleanField(label="More came in than is open", required=False, widget=forms.HiddenInput)

    field_order = ["amount", "on_date", "how", "note", "is_more"]

    def ask_whether_more(self) -> None:
        self.fields["is_more"].widget = forms.CheckboxInput()


class RefundForm(_MoneyForm):
    pass


class SetOffForm(forms.Form):
    """Against which of the job's open invoices."""

    other = forms.TypedChoiceField(label="Set it against", coerce=int)
    expected = forms.DecimalField(widget=forms.HiddenInput)

    def __init__(self, *args, others, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["other"].choices = [(other.pk, str(other)) for other in others]


class CreditForm(forms.Form):
    reason = forms.CharField(max_length=80, label="Why it is taken back")


class SettingsForm(forms.ModelForm):
    next_number = forms.IntegerField(
        label="Number of the next invoice", min_value=1, max_value=99_999_999,
        widget=forms.TextInput(attrs={"inputmode": "numeric", **HALF}),
        help_text="Only forward, and only before the first invoice here: the series has no gap afterwards.",
    )  # fmt: skip
    days_to_pay = forms.IntegerField(
        label="Days to pay", min_value=0, max_value=120,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "data-unit": "days", **HALF}),
    )  # fmt: skip

    class Meta:
        model = BillingSettings
        fields = ["next_number", "days_to_pay", "how_to_pay"]
        widgets = {"how_to_pay": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args, is_begun: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if is_begun:
            del self.fields["next_number"]


class ExportForm(forms.Form):
    first = DateField(label="From", required=False)
    last = DateField(label="To", required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs.update(QUARTER)

    def clean(self):
        found = super().clean()
        if found.get("first") and found.get("last") and found["last"] < found["first"]:
            self.add_error("last", "Before the first day.")
        return found
