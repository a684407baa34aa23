"""The form of a climate: a row for each month."""

from django import forms

from contractor.catalogue.forms.fields import TidyDecimalField
from contractor.catalogue.models import Climate
from contractor.catalogue.models.climates import MONTHS

COLUMNS = {  # name of the column: what it is called, its unit, least and most
    "temperature_c": ("temperature", "°C", -60, 50),
    "humidity_percent": ("humidity", "%", 1, 100),
}


def _name(column: str, month: int) -> str:
    return f"{column}_{month + 1}"


class ClimateForm(forms.ModelForm):
    class Meta:
        model = Climate
        fields = ["name", "indoors", "origin"]
        labels = {"origin": "Where the figures come from"}
        help_texts = {
            "indoors": "How much moisture a household gives off: humidity classes 1 to 4 of EN ISO 13788.",
            "origin": "The weather station or table, and its years.",
        }
        widgets = {
            "name": forms.TextInput(attrs={"width_class": "half"}),
            "indoors": forms.Select(attrs={"width_class": "half"}),
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for column, (word, unit, least, most) in COLUMNS.items():
            known = getattr(self.instance, column) or []
            for month, called in enumerate(MONTHS):
                field = TidyDecimalField(
                    unit=unit,
                    label=f"{called}, {word}",
                    min_value=least,
                    max_value=most,
                    decimal_places=1,
                    initial=known[month] if known else None,
                )
                field.widget.attrs["width_class"] = "quarter keep"
                self.fields[_name(column, month)] = field

    def months(self) -> list[tuple[str, list]]:
        """The name of each month and its two fields."""
        return [(called, [self[_name(column, month)] for column in COLUMNS]) for month, called in enumerate(MONTHS)]

    def of_the_whole(self) -> list:
        return [self[name] for name in self.Meta.fields]

    def values(self) -> dict:
        """What is kept, from a valid form."""
        data = self.cleaned_data
        return {name: data[name] for name in self.Meta.fields} | {
            column: [float(data[_name(column, month)]) for month in range(12)] for column in COLUMNS
        }

    def _post_clean(self) -> None:
        """The model is checked when it is kept, once the months are lists."""
