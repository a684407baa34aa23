"""What is in the van for a job."""

from django import forms

from contractor.catalogue.models import Material
from contractor.orders.lists import OrderLine, OrderList


class VanForm(forms.Form):
    """A number of packs for every material of the order lists; left empty, none."""

    def __init__(self, *args, lists: list[OrderList], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.lists = lists
        self.lines = {str(line.material.pk): line for order in lists for line in order.lines if line.material}
        for key, line in self.lines.items():
            self.fields[f"van-{key}"] = forms.IntegerField(
                required=False,
                min_value=0,
                max_value=line.needed,
                initial=line.from_van or None,
                label=f"Packs of {line.name} in the van",
                widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 3}),
                error_messages={
                    "invalid": "Whole packs only.",
                    "min_value": "Not below nought.",
                    "max_value": f"Only {line.needed} needed.",
                },
            )

    @property
    def rows(self) -> list[tuple[OrderList, list[tuple[OrderLine, forms.BoundField | None]]]]:
        """Each list with its lines and the field of each."""
        return [(order, [(line, self._field(line)) for line in order.lines]) for order in self.lists]

    @property
    def packs(self) -> dict[Material, int]:
        return {line.material: self.cleaned_data[f"van-{key}"] or 0 for key, line in self.lines.items()}

    def _field(self, line: OrderLine) -> forms.BoundField | None:
        return self[f"van-{line.material.pk}"] if line.material else None
