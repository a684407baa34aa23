"""Form fields that speak as the trade does: lengths in millimetres, money in pounds, a unit in each field."""

import re
from decimal import Decimal

from django import forms

_LENGTH = re.compile(r"^(-?[\d.,\s]*\d)\s*(mm|cm|m)?$", re.IGNORECASE)
_TO_MM = {"mm": 1, "cm": 10, "m": 1000}


class LengthField(forms.IntegerField):
    """Whole millimetres. Accepts 2385, "2,385", "2385 mm", "238.5 cm" and "2.385 m"."""

    default_error_messages = {
        "invalid": "Enter a length such as 2385 (millimetres) or 2.385 m.",
        "fraction": "Lengths are kept in whole millimetres.",
    }

    def __init__(self, *, min_value=1, max_value=50_000, **kwargs):
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "data-unit": "mm"}))
        super().__init__(min_value=min_value, max_value=max_value, **kwargs)

    def to_python(self, value):
        if isinstance(value, int) or value in self.empty_values:
            return super().to_python(value)
        found = _LENGTH.match(str(value).strip())
        if not found:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        try:
            number = Decimal(found[1].replace(",", "").replace(" ", ""))
        except ArithmeticError:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid") from None
        length_mm = number * _TO_MM[(found[2] or "mm").lower()]
        if length_mm != length_mm.to_integral_value():
            raise forms.ValidationError(self.error_messages["fraction"], code="fraction")
        return int(length_mm)


class UnitDecimalField(forms.DecimalField):
    """A number with its unit shown inside the field."""

    def __init__(self, *, unit: str, **kwargs):
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "data-unit": unit}))
        super().__init__(**kwargs)

    def to_python(self, value):
        return super().to_python(value.replace(",", "").strip() if isinstance(value, str) else value)


class MoneyField(UnitDecimalField):
    """Pounds and pence, at least nothing unless told otherwise."""

    def __init__(self, **kwargs):
        kwargs = {"unit": "£", "max_digits": 10, "decimal_places": 2, "min_value": 0} | kwargs
        super().__init__(**kwargs)

    def to_python(self, value):
        return super().to_python(value.replace("£", "") if isinstance(value, str) else value)


class SignatureField(forms.CharField):
    """A full name, typed in place of a signature."""

    def __init__(self):
        super().__init__(
            label="Your full name",
            max_length=120,
            widget=forms.TextInput(attrs={"autocomplete": "name"}),
            help_text="Typing it here stands for your signature.",
            error_messages={"required": "Type your full name."},
        )


class DateField(forms.DateField):
    """A day, with the browser's own date entry."""

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**kwargs)
