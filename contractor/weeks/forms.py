"""Forms for moving a visit and for laying out a job's days."""

from django import forms

from contractor.accounts.models import User
from contractor.accounts.selectors import active_people
from contractor.common.forms import DateField
from contractor.jobs.forms import PeopleField


class MoveForm(forms.Form):
    on_date = forms.DateField()
    from_person = forms.ModelChoiceField(User.objects.all(), required=False)
    to_person = forms.ModelChoiceField(User.objects.filter(is_active=True), required=False)


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
