"""Forms for moving a visit and for laying out a job's days."""

from datetime import timedelta

from django import forms

from contractor.accounts.models import User
from contractor.accounts.selectors import active_people
from contractor.common.forms import DateField
from contractor.jobs.forms import PeopleField
from contractor.jobs.models import DayOff

LONGEST_AWAY = timedelta(days=366)


class MoveForm(forms.Form):
    on_date = forms.DateField()
    from_person = forms.ModelChoiceField(User.objects.all(), required=False)
    to_person = forms.ModelChoiceField(User.objects.filter(is_active=True), required=False)


class DayOffForm(forms.ModelForm):
    first_day = DateField(label="From")
    last_day = DateField(label="To, the last day included", required=False, help_text="Empty for one day.")

    class Meta:
        model = DayOff
        fields = ["person", "reason", "first_day", "last_day"]
        labels = {"person": "Who is away"}
        help_texts = {"reason": "Such as bank holiday, leave, training."}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = active_people()
        self.fields["person"].empty_label = "Everybody: the firm is closed"
        self.fields["person"].label_from_instance = lambda person: person.display_name
        for field in self.fields.values():
            field.widget.attrs["width_class"] = "half"

    def clean(self) -> dict:
        values = super().clean()
        first, last = values.get("first_day"), values.get("last_day")
        if first and "last_day" not in self.errors:
            values["last_day"] = last = last or first
            if last < first:
                self.add_error("last_day", "The last day comes before the first.")
            elif last - first > LONGEST_AWAY:
                self.add_error("last_day", "That is more than a year. Take somebody who left off the list of people.")
        return values


class YearForm(forms.Form):
    year = forms.IntegerField(min_value=2000, max_value=2100)


class DaysForm(forms.Form):
    first = DateField(label="First day of work")
    starts_at = forms.TimeField(
        label="From", initial="08:00", widget=forms.TimeInput(attrs={"type": "time", "width_class": "half"})
    )
    people = PeopleField(
        User.objects.none(), label="Who goes", widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose who goes."},
    )  # fmt: skip

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["people"].queryset = active_people()
        self.fields["first"].widget.attrs["width_class"] = "half"
