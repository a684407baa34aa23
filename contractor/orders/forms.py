"""What is in the van for a job, what is ordered, and what is needed besides."""

from django import forms
from django.utils import timezone

from contractor.billing.models import Variation
from contractor.catalogue.models import Material
from contractor.common.forms import DateField
from contractor.jobs.models import Job
from contractor.jobs.selectors import closed_from
from contractor.orders import selectors
from contractor.orders.acting import whole
from contractor.orders.lists import OrderLine, OrderList, working_days_after
from contractor.orders.models import MoreNeeded, Order


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


class PlaceForm(forms.Form):
    """An order to one supplier: packs of each line as they are still to order, and the days."""

    last_seen = forms.IntegerField(widget=forms.HiddenInput)
    ordered_on = DateField(label="Ordered on")
    due_on = DateField(
        label="Due on site", required=False, help_text="As the supplier says. Until then, what the lead times come to."
    )
    reference = forms.CharField(label="Supplier’s reference", required=False, max_length=60)

    def __init__(self, *args, order_list: OrderList, last: int, **kwargs) -> None:
        today = timezone.localdate()
        days = max((line.lead_time_days for line in order_list.to_order), default=0)
        initial = {
            "last_seen": last,
            "ordered_on": today,
            "due_on": working_days_after(today, days, closed_from(today)),
        }
        super().__init__(*args, initial=initial, **kwargs)
        for name in ("ordered_on", "due_on", "reference"):
            self.fields[name].widget.attrs["width_class"] = "third"
        self.order_list = order_list
        supplier = order_list.supplier
        if supplier and supplier.email:
            self.fields["mail"] = forms.BooleanField(
                label=f"Send it to {supplier.email} too", required=False, initial=False
            )
        for number, line in enumerate(order_list.to_order):
            self.fields[f"packs-{number}"] = whole(f"Packs of {line.name}", required=False, initial=line.packs)

    @property
    def heads(self) -> list[forms.BoundField]:
        return [self[name] for name in ("ordered_on", "due_on", "reference")]

    @property
    def rows(self) -> list[tuple[OrderLine, forms.BoundField]]:
        return [(line, self[f"packs-{number}"]) for number, line in enumerate(self.order_list.to_order)]

    @property
    def asked(self) -> list[tuple[OrderLine, int]]:
        rows = enumerate(self.order_list.to_order)
        return [(line, self.cleaned_data[f"packs-{number}"] or 0) for number, line in rows]

    def clean(self) -> dict:
        found = super().clean()
        ordered, due = found.get("ordered_on"), found.get("due_on")
        if ordered and due and due < ordered:
            self.add_error("due_on", "Before it is ordered.")
        return found


class OrderForm(forms.ModelForm):
    """What the supplier says of an order after it was placed."""

    due_on = DateField(label="Due on site", required=False)

    class Meta:
        model = Order
        fields = ["due_on", "reference"]

    def clean_due_on(self):
        due = self.cleaned_data["due_on"]
        if due and due < self.instance.ordered_on:
            raise forms.ValidationError("Before it was ordered.")
        return due


class CancelForm(forms.Form):
    why = forms.CharField(label="Why it is cancelled", max_length=200)


class MoreForm(forms.ModelForm):
    class Meta:
        model = MoreNeeded
        fields = ["material", "packs", "why", "variation"]

    def __init__(self, *args, job: Job, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["material"].queryset = selectors.materials_to_buy()
        self.fields["packs"] = whole("Packs")
        open_ones = Variation.objects.filter(job=job).exclude(status=Variation.Status.DECLINED)
        self.fields["variation"].queryset = open_ones.order_by("number")

    def clean_packs(self) -> int:
        packs = self.cleaned_data["packs"]
        if packs < 1:
            raise forms.ValidationError("At least one pack.")
        return packs
