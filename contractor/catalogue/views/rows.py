"""A form with rows in one request: a button may add, take out or move a row; any other button saves."""

from collections.abc import Callable

from django import forms
from django.http import HttpRequest, QueryDict

from contractor.catalogue import selectors
from contractor.catalogue.forms.rows import PREFIX, changed_rows, unchecked, unchecked_rows


class RowsForm:
    """`make_form` takes posted data or None; `rows_class` comes from forms.rows.row_set."""

    def __init__(
        self,
        request: HttpRequest,
        make_form: Callable[[QueryDict | None], forms.Form],
        rows_class: type[forms.BaseFormSet],
        *,
        initial: list[dict],
        blank: dict[str, str],
    ) -> None:
        self.materials = selectors.materials_by_name()
        shared = {"prefix": PREFIX, "form_kwargs": {"materials": self.materials}}
        self.is_saving = request.method == "POST" and "change" not in request.POST
        if request.method != "POST":
            self.form = make_form(None)
            self.rows = rows_class(initial=initial, **shared)
            return
        data = request.POST if self.is_saving else changed_rows(request.POST, request.POST["change"], blank)
        self.form, self.rows = make_form(data), rows_class(data, **shared)
        if not self.is_saving:
            unchecked(self.form)
            unchecked_rows(self.rows)

    def is_valid(self) -> bool:
        """Both are checked, so that every error shows at once."""
        return self.is_saving and all([self.form.is_valid(), self.rows.is_valid()])

    @property
    def context(self) -> dict:
        return {"form": self.form, "rows": self.rows, "material_names": list(self.materials)}
