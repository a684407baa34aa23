"""Forms of a supplier's price list: the file, and what its columns hold."""

from django import forms

from contractor.catalogue import price_lists
from contractor.catalogue.models import Material, Supplier
from contractor.common.tables import CannotRead, decoded

ROLES = (
    (price_lists.PRICE, "Price of a pack, ex VAT"),
    (price_lists.CODE, "Article number"),
    (price_lists.NAME, "Name"),
    (price_lists.PER, "Number of pieces that the price is for"),
)
NO_COLUMN = ""


class PriceListForm(forms.Form):
    """A file, or cells pasted from a spreadsheet. `cleaned_data["text"]` and `["name"]` are what to keep."""

    supplier = forms.ModelChoiceField(Supplier.objects.all(), label="Whose list", empty_label=None)
    file = forms.FileField(
        required=False,
        label="File",
        help_text="CSV as a spreadsheet saves it, with a line of titles. At most 5 MB.",
    )
    pasted = forms.CharField(
        required=False,
        strip=False,
        label="Or paste the cells",
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
        help_text="Marked and copied in a spreadsheet, with the line of titles.",
    )

    def clean(self) -> dict:
        values = super().clean()
        file, pasted = values.get("file"), values.get("pasted")
        field = "file" if file else "pasted"
        try:
            if file:
                values |= {"text": decoded(file.read()), "name": file.name}
            elif pasted and pasted.strip():
                values |= {"text": pasted, "name": "Pasted cells"}
            elif not self.errors:
                self.add_error("file", "Choose a file, or paste the cells below.")
            if values.get("text"):
                price_lists.read_list(values["text"])
        except CannotRead as error:
            self.add_error(field, str(error))
        return values


class ColumnsForm(forms.Form):
    """Which column holds what. Asked by a GET, so that the page shows at once what follows."""

    def __init__(self, *args, read: price_lists.List, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        columns = [(str(n), title or f"Column {n + 1}") for n, title in enumerate(read.header)]
        guessed = price_lists.guessed_columns(read.header)
        for role, label in ROLES:
            is_needed = role == price_lists.PRICE
            first = [("", "Choose a column")] if is_needed else [(NO_COLUMN, "The list has none")]
            self.fields[role] = forms.TypedChoiceField(
                label=label,
                choices=first + columns,
                coerce=int,
                empty_value=None,
                required=is_needed,
                initial=guessed.get(role, ""),
                widget=forms.Select(attrs={"width_class": "half"}),
                error_messages={"required": "Say which column holds the price."},
            )

    def clean(self) -> dict:
        values = super().clean()
        if values.get(price_lists.CODE) is None and values.get(price_lists.NAME) is None:
            self.add_error(price_lists.CODE, "Say which column holds the article number, or the name.")
        used = [place for place in values.values() if place is not None]
        for role, place in list(values.items()):
            if used.count(place) > 1:
                self.add_error(role, "This column is named twice.")
        return values

    @property
    def columns(self) -> price_lists.Columns:
        return price_lists.Columns(**self.cleaned_data)


class CodesForm(forms.Form):
    """For materials that a list does not name: which of its rows they are."""

    def __init__(self, *args, materials: list[Material], likely: dict[int, list[tuple[str, str]]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.materials = materials
        for material in materials:
            rows = [(code, f"{code}: {name}") for code, name in likely.get(material.pk, []) if code]
            self.fields[f"code-{material.pk}"] = forms.ChoiceField(
                required=False,
                label=material.name,
                choices=[("", "Not in this list"), *rows],
                widget=forms.Select(attrs={"width_class": "half"}),
            )

    @property
    def codes(self) -> dict[Material, str]:
        chosen = ((material, self.cleaned_data[f"code-{material.pk}"]) for material in self.materials)
        return {material: code for material, code in chosen if code}
