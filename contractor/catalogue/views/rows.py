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
        self.region = "section-drawing" if request.POST.get("change") == "draw" else "layer-rows"
        if request.method != "POST":
            self.form = make_form(None)
            self.rows = rows_class(initial=initial, **shared)
            self._drawn = None
            return
        data = request.POST if self.is_saving else changed_rows(request.POST, request.POST["change"], blank)
        self.form, self.rows = make_form(data), rows_class(data, **shared)
        self._drawn = rows_class(data, **shared)
        if not self.is_saving:
            unchecked(self.form)
            unchecked_rows(self.rows)

    def is_valid(self) -> bool:
        """Both are checked, so that every error shows at once."""
        return self.is_saving and all([self.form.is_valid(), self.rows.is_valid()])

    @property
    def name(self) -> str:
        """What the form calls the thing now."""
        return self.form["name"].value() or "what is typed here"

    @property
    def right_rows(self) -> list[forms.Form] | None:
        """The rows without errors, checked apart from those shown; None before anything was typed."""
        if self._drawn is None:
            return None
        return [form for form in self._drawn.forms if not form.errors and form.cleaned_data]

    @property
    def context(self) -> dict:
        return {"form": self.form, "rows": self.rows, "material_names": list(self.materials)}
