"""Forms for the firm, its people and one's own account."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm, SetPasswordForm

from contractor.accounts.models import PERCENT, Firm, User
from contractor.common.forms import UnitDecimalField
from contractor.common.logos import LogoField


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "That name and password do not belong together. Capital letters count.",
        "inactive": "This account is closed. Ask the owner of the firm.",
    }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"


def percent_field(name: str, label: str) -> UnitDecimalField:
    """A percentage of the firm's, with the model's own help and limits."""
    field = Firm._meta.get_field(name)
    return UnitDecimalField(
        unit="%",
        label=label,
        help_text=field.help_text,
        max_digits=5,
        decimal_places=2,
        validators=PERCENT,
    )


class FirmForm(forms.ModelForm):
    materials_markup_percent = percent_field("materials_markup_percent", "Materials markup")
    overhead_profit_percent = percent_field("overhead_profit_percent", "Overhead and profit")
    preliminaries_percent = percent_field("preliminaries_percent", "Preliminaries")
    vat_percent = percent_field("vat_percent", "VAT")
    deposit_percent = percent_field("deposit_percent", "Deposit")

    day_hours = UnitDecimalField(
        unit="h",
        label="A working day",
        help_text=Firm._meta.get_field("day_hours").help_text,
        max_digits=4,
        decimal_places=2,
        min_value=1,
        max_value=16,
    )

    groups = [
        ("Who you are", ["name", "address", "phone", "email", "company_number", "vat_number", "insurance_note"]),
        (
            "What a quote adds",
            ["materials_markup_percent", "overhead_profit_percent", "preliminaries_percent", "vat_percent"],
        ),
        ("What a quote says", ["deposit_percent", "quote_valid_days", "exclusions", "terms", "guarantee"]),
        ("How long work takes", ["crew_size", "day_hours"]),
    ]

    class Meta:
        model = Firm
        fields = [
            "name",
            "address",
            "phone",
            "email",
            "company_number",
            "vat_number",
            "insurance_note",
            "materials_markup_percent",
            "overhead_profit_percent",
            "preliminaries_percent",
            "vat_percent",
            "deposit_percent",
            "quote_valid_days",
            "exclusions",
            "terms",
            "guarantee",
            "crew_size",
            "day_hours",
        ]
        labels = {
            "email": "E-mail",
            "company_number": "Company number",
            "vat_number": "VAT number",
            "insurance_note": "Insurance",
            "quote_valid_days": "A quote is good for",
            "crew_size": "A crew",
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 4}),
            **{name: forms.Textarea(attrs={"rows": 6}) for name in ("exclusions", "terms", "guarantee")},
            "quote_valid_days": forms.TextInput(attrs={"inputmode": "numeric", "data-unit": "days"}),
            "crew_size": forms.TextInput(attrs={"inputmode": "numeric", "data-unit": "people"}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        halves = [
            "phone",
            "email",
            "company_number",
            "vat_number",
            "deposit_percent",
            "quote_valid_days",
            "crew_size",
            "day_hours",
        ]
        for name in halves + self.groups[1][1]:
            self.fields[name].widget.attrs["width_class"] = "half"

    @property
    def grouped(self):
        """(heading, bound fields) in the order of the page."""
        return [(heading, [self[name] for name in names]) for heading, names in self.groups]


class LogoForm(forms.Form):
    logo = LogoField(
        label="Logo",
        help_text="PNG, JPEG or WebP. It is cut to what is drawn and made small enough for a letter.",
        error_messages={"required": "Choose a picture first."},
    )


class OwnDetailsForm(forms.ModelForm):
    class Meta:
        model = User
        fields = ["first_name", "last_name", "email", "phone"]
        labels = {"email": "E-mail"}
        widgets = {
            "first_name": forms.TextInput(attrs={"width_class": "half", "autocomplete": "given-name"}),
            "last_name": forms.TextInput(attrs={"width_class": "half", "autocomplete": "family-name"}),
            "email": forms.EmailInput(attrs={"width_class": "half", "autocomplete": "email"}),
            "phone": forms.TextInput(attrs={"width_class": "half", "autocomplete": "tel", "inputmode": "tel"}),
        }


class OwnPasswordForm(SetPasswordForm):
    old_password = forms.CharField(
        label="Password now", widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )
    field_order = ["old_password", "new_password1", "new_password2"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = "At least 10 characters; not a common word, not only figures."
        self.fields["new_password2"].label = "New password again"
        self.fields["new_password2"].help_text = ""

    def clean_old_password(self) -> str:
        if not self.user.check_password(self.cleaned_data["old_password"]):
            raise forms.ValidationError("That is not your password now.")
        return self.cleaned_data["old_password"]


class PersonForm(forms.ModelForm):
    class Meta:
        model = User
        fields = ["first_name", "last_name", "username", "role", "email", "phone"]
        labels = {"username": "Sign-in name", "email": "E-mail"}
        help_texts = {
            "username": "Letters, figures and @ . + - _ only.",
            "role": "A fitter sees the days and jobs they are booked on. The office sees everything but people, "
            "the record and the firm's settings, which are the owner's.",
        }
        widgets = {
            "first_name": forms.TextInput(attrs={"width_class": "half"}),
            "last_name": forms.TextInput(attrs={"width_class": "half"}),
            "username": forms.TextInput(attrs={"width_class": "half", "autocapitalize": "none"}),
            "role": forms.Select(attrs={"width_class": "half"}),
            "email": forms.EmailInput(attrs={"width_class": "half"}),
            "phone": forms.TextInput(attrs={"width_class": "half", "inputmode": "tel"}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["first_name"].required = True


class PersonEditForm(PersonForm):
    class Meta(PersonForm.Meta):
        fields = [*PersonForm.Meta.fields, "is_active"]
        labels = PersonForm.Meta.labels | {"is_active": "May sign in"}
        help_texts = PersonForm.Meta.help_texts | {
            "is_active": "Take the tick away when someone leaves; what they did stays on the record."
        }
