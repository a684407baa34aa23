"""Rows of a form that are added, taken out and moved by buttons, so that no script is needed.

A button is named `change` and says what to do: "add", "remove 2", "up 2", "down 2" (rows count from 0). The page
comes back with what was typed, the rows changed, nothing checked and nothing saved.
"""

import re
from typing import Any

from django import forms
from django.forms.utils import ErrorDict, ErrorList
from django.http import QueryDict

from contractor.catalogue.forms.renderer import QuickRenderer
from contractor.catalogue.models import Material

PREFIX = "layers"
MOST_ROWS = 40
_CHANGE = re.compile(r"^(add|remove|up|down)(?: (\d+))?$")


class MaterialNameField(forms.CharField):
    """A material by its name, chosen from the list that the page holds once for all rows."""

    def __init__(self, **kwargs) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"list": "material-names", "autocomplete": "off"}))
        super().__init__(required=False, **kwargs)
        self.materials: dict[str, Material] = {}

    def clean(self, value: Any) -> Material | None:
        name = super().clean(value)
        if not name:
            return None
        found = self.materials.get(name) or next(
            (material for other, material in self.materials.items() if other.lower() == name.lower()), None
        )
        if found is None:
            raise forms.ValidationError(f"No material is called “{name}”. Choose one from the list.", code="unknown")
        return found


class RowForm(forms.Form):
    """A form whose material fields share one list. A row in which only `preset` fields are set counts as empty."""

    preset: tuple[str, ...] = ()
    default_renderer = QuickRenderer

    def __init__(self, *args, materials: dict[str, Material], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, MaterialNameField):
                field.materials = materials

    def has_changed(self) -> bool:
        return any(name not in self.preset for name in self.changed_data)


def changed_rows(data: QueryDict, change: str, blank: dict[str, str]) -> QueryDict:
    """The posted data with one row added, taken out or moved. An unknown change leaves it as it is."""
    rows = _rows_of(data)
    found = _CHANGE.match(change)
    if found is None:
        return data
    what, index = found[1], int(found[2] or 0)
    if what == "add" and len(rows) < MOST_ROWS:
        rows.append(dict(blank))
    elif what == "remove" and index < len(rows):
        rows.pop(index)
    elif what in ("up", "down"):
        other = index + (1 if what == "down" else -1)
        if 0 <= index < len(rows) and 0 <= other < len(rows):
            rows[index], rows[other] = rows[other], rows[index]
    return _with_rows(data, rows)


def unchecked(form: forms.Form) -> forms.Form:
    """A bound form that shows what was typed without checking it."""
    form._errors, form.cleaned_data = ErrorDict(), {}
    return form


def unchecked_rows(formset: forms.BaseFormSet) -> forms.BaseFormSet:
    """A bound formset that shows what was typed without checking it."""
    formset._errors, formset._non_form_errors = [], ErrorList()
    for form in formset.forms:
        unchecked(form)
    return formset


def _rows_of(data: QueryDict) -> list[dict[str, str]]:
    try:
        count = min(int(data.get(f"{PREFIX}-TOTAL_FORMS", 0)), MOST_ROWS)
    except ValueError:
        count = 0
    rows: list[dict[str, str]] = [{} for _ in range(max(count, 0))]
    for key in data:
        parts = key.split("-", 2)
        if len(parts) == 3 and parts[0] == PREFIX and parts[1].isdigit() and int(parts[1]) < len(rows):
            rows[int(parts[1])][parts[2]] = data[key]
    return rows


def _with_rows(data: QueryDict, rows: list[dict[str, str]]) -> QueryDict:
    changed = data.copy()
    for key in list(changed):
        if key.startswith(f"{PREFIX}-"):
            del changed[key]
    changed[f"{PREFIX}-TOTAL_FORMS"] = str(len(rows))
    changed[f"{PREFIX}-INITIAL_FORMS"] = "0"
    for index, row in enumerate(rows):
        for name, value in row.items():
            changed[f"{PREFIX}-{index}-{name}"] = value
    return changed


def row_set(form_class, *, check=None):
    """A formset class of rows; `check(formset)` looks at all rows together once each is right."""

    class Rows(forms.BaseFormSet):
        @property
        def rows(self) -> list[dict]:
            """Cleaned rows in order; wholly empty ones are left out."""
            return [form.cleaned_data for form in self.forms if form.cleaned_data]

        @property
        def filled(self) -> list[forms.Form]:
            return [form for form in self.forms if form.cleaned_data]

        def clean(self) -> None:
            if any(self.errors):
                return
            if not self.rows:
                raise forms.ValidationError("Add at least one layer.", code="empty")
            if check is not None:
                check(self)

    return forms.formset_factory(
        form_class, formset=Rows, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS, validate_max=True
    )
