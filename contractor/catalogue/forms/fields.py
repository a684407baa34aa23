"""Model fields as form fields with their unit in the box."""

from decimal import Decimal

from django import forms

from contractor.common.forms import UnitDecimalField


def number(model, name: str, unit: str, width: str = "third") -> forms.Field:
    """The form field of a model's number field, with the model's own label, help and limits."""
    field = model._meta.get_field(name)
    label = field.verbose_name
    common = {
        "unit": unit,
        "label": label[:1].upper() + label[1:] if label != field.name.replace("_", " ") else _label(field.name),
        "help_text": field.help_text,
        "required": not field.blank,
        "validators": field.validators,
    }
    if hasattr(field, "decimal_places"):
        made = TidyDecimalField(max_digits=field.max_digits, decimal_places=field.decimal_places, **common)
    else:
        made = WholeNumberField(**common)
    made.widget.attrs["width_class"] = width
    return made


def _label(name: str) -> str:
    """The words of a field's name without the unit that ends it."""
    for ending in ("_mm", "_kg_m3", "_kg_m2", "_pa", "_hz", "_percent", "_ml", "_days", "_mn_m3"):
        name = name.removesuffix(ending)
    return name.replace("_", " ").capitalize()


class TidyDecimalField(UnitDecimalField):
    """A number shown without the noughts that the database keeps after it."""

    def prepare_value(self, value):
        return f"{value.normalize():f}" if isinstance(value, Decimal) and value.is_finite() else value


class WholeNumberField(UnitDecimalField):
    """A whole number, typed with or without thousands marked."""

    default_error_messages = {"max_decimal_places": "Enter a whole number."}

    def __init__(self, **kwargs) -> None:
        super().__init__(max_digits=15, decimal_places=0, **kwargs)

    def clean(self, value):
        number = super().clean(value)
        return None if number is None else int(number)
