"""Forms for a job, the noises, the gates, the stage and the visits."""

from decimal import Decimal

from django import forms
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.selectors import active_people
from contractor.common.files import PaperField
from contractor.common.forms import DateField, MoneyField, UnitDecimalField
from contractor.jobs.models import DiaryEntry, Gate, Job, NoiseHeard, Stage, Visit
from contractor.jobs.stages import stages_by_hand


def half(**attrs) -> dict:
    return {"width_class": "half", **attrs}


class JobForm(forms.ModelForm):
    budget = MoneyField(required=False, label="Budget", help_text="If they named one.")
    storey = forms.IntegerField(
        label="Storeys to carry up",
        min_value=0,
        max_value=60,
        initial=0,
        widget=forms.TextInput(attrs=half(inputmode="numeric")),
        help_text="Boards and tools go up by hand; 0 for the ground floor.",
    )

    class Meta:
        model = Job
        fields = ["title", "wish", "budget", "storey", "is_occupied", "notes"]
        labels = {"title": "What it is about"}
        help_texts = {"title": "In a few words, such as Bedroom party wall.", "notes": "For the office only."}
        widgets = {"wish": forms.Textarea(attrs={"rows": 4}), "notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["budget"].widget.attrs["width_class"] = "half"


class NoiseForm(forms.ModelForm):
    class Meta:
        model = NoiseHeard
        fields = ["kind", "direction", "comes_from", "heard_in", "strongest_at", "times", "words", "is_felt"]
        labels = {"kind": "What is heard", "direction": "Which way"}
        help_texts = {
            "comes_from": "Such as next door's bedroom, or the flat above.",
            "heard_in": "The room or rooms.",
            "strongest_at": "Which wall, floor or ceiling; by the skirting, a socket, the chimney; over the bed.",
            "is_felt": "A hand on the wall or floor feels it. Points to bass or knocks that run through the building.",
            "times": "Times and days, such as weekdays after ten at night.",
            "words": "Every word heard points to a gap or a very light wall.",
        }
        widgets = {
            "kind": forms.Select(attrs=half(autofocus=True)),
            "direction": forms.Select(attrs=half()),
            "comes_from": forms.TextInput(attrs=half()),
            "heard_in": forms.TextInput(attrs=half()),
            "strongest_at": forms.TextInput(attrs=half()),
            "times": forms.TextInput(attrs=half()),
            "words": forms.Select(attrs=half()),
        }


class GateForm(forms.ModelForm):
    cleared_on = DateField(required=False, label="On")
    paper = PaperField(
        label="The paper itself", help_text="A PDF or a picture of it, at most 10 MB. The office alone opens it."
    )
    drop_paper = forms.BooleanField(label="Take away the paper that is kept", required=False)

    class Meta:
        model = Gate
        fields = ["need", "evidence", "cleared_by", "cleared_on"]
        labels = {"need": "Is it needed for this job", "evidence": "Evidence"}
        help_texts = {
            "evidence": "Report or certificate and where it is kept; or, where it is not needed, how that is known.",
            "cleared_by": "Who said so, and in what capacity.",
        }
        widgets = {"need": forms.RadioSelect, "cleared_by": forms.TextInput(attrs=half())}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["cleared_on"].widget.attrs["width_class"] = "half"
        if not self.instance.paper:
            del self.fields["drop_paper"]

    field_order = ["need", "evidence", "paper", "drop_paper", "cleared_by", "cleared_on"]

    def clean_cleared_on(self):
        day = self.cleaned_data["cleared_on"]
        if day and day > timezone.localdate():
            raise forms.ValidationError("That day is still to come.")
        return day

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("need") == Gate.Need.NOT_NEEDED and not cleaned.get("evidence"):
            self.add_error("evidence", "Say why it is not needed, and how that is known.")
        return cleaned


class StageField(forms.ChoiceField):
    """Takes any stage: the service refuses a wrong one with its reason, as when someone else moved the job meanwhile."""

    def valid_value(self, value) -> bool:
        return value in Stage.values


class StageForm(forms.Form):
    to_stage = StageField(label="Move on to", widget=forms.Select(attrs=half()))
    note = forms.CharField(
        required=False,
        max_length=200,
        label="Note",
        help_text="Kept in the job's history.",
        widget=forms.TextInput(attrs=half()),
    )

    def __init__(self, *args, job: Job, **kwargs):
        super().__init__(*args, **kwargs)
        self.job = job
        self.fields["to_stage"].choices = [("", "Choose"), *((s, Stage(s).label) for s in stages_by_hand(job))]

    def clean(self):
        """A reason is asked for where a job stops, so that the list of lost work teaches something."""
        cleaned = super().clean()
        if cleaned.get("to_stage") in (Stage.LOST, Stage.ON_HOLD) and not cleaned.get("note"):
            self.add_error("note", "Say why.")
        return cleaned


class PeopleField(forms.ModelMultipleChoiceField):
    def label_from_instance(self, person: User) -> str:
        return f"{person.display_name} ({person.get_role_display().lower()})"


class VisitForm(forms.ModelForm):
    on_date = DateField(label="Day")
    starts_at = forms.TimeField(
        label="From", initial="08:00", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    hours = UnitDecimalField(
        unit="hours",
        label="For",
        required=False,
        max_digits=4,
        decimal_places=2,
        min_value=Decimal("0.25"),
        max_value=16,
        help_text="Empty: a day for fitting, two hours for a survey or test, three for snags.",
    )
    people = PeopleField(
        queryset=User.objects.none(),
        label="Who goes",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one person."},
    )

    class Meta:
        model = Visit
        fields = ["purpose", "on_date", "starts_at", "hours", "people", "note"]
        labels = {"purpose": "What for"}
        help_texts = {"note": "Seen by who goes, such as bring the lift."}
        widgets = {"purpose": forms.Select(attrs=half())}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["people"].queryset = active_people()
        for name in ("on_date", "starts_at", "hours"):
            self.fields[name].widget.attrs["width_class"] = "half"
        if self.instance.pk:
            self.fields["people"].queryset = (active_people() | User.objects.filter(visits=self.instance)).distinct()


class VisitNewForm(VisitForm):
    working_days = forms.IntegerField(
        label="For how many working days",
        min_value=1,
        max_value=30,
        initial=1,
        help_text="One after the other, Monday to Friday, without the firm's days off.",
        widget=forms.TextInput(attrs=half(inputmode="numeric", **{"data-unit": "days"})),
    )
    field_order = ["purpose", "working_days", "on_date", "starts_at", "hours", "people", "note"]

    def clean_on_date(self):
        day = self.cleaned_data["on_date"]
        if day < timezone.localdate():
            raise forms.ValidationError("That day is past.")
        return day


class DiaryEntryForm(forms.ModelForm):
    """For the household, on a phone: what was heard, when, for how long, how loud and where."""

    heard_on = DateField(label="Which day")
    starts_at = forms.TimeField(
        label="From about", widget=forms.TimeInput(attrs={"type": "time", "width_class": "half keep"}, format="%H:%M")
    )

    class Meta:
        model = DiaryEntry
        fields = ["kind", "heard_on", "starts_at", "minutes", "loudness", "heard_in", "note"]
        help_texts = {"heard_in": "Such as in bed, or the sofa by the window.", "note": ""}
        widgets = {"loudness": forms.RadioSelect}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["heard_on"].widget.attrs["width_class"] = "half keep"
        self.fields["loudness"].choices = DiaryEntry.Loudness.choices
        self.fields["kind"].choices = [("", "Choose"), *NoiseHeard.Kind.choices]

    def clean_heard_on(self):
        day = self.cleaned_data["heard_on"]
        today = timezone.localdate()
        if day > today:
            raise forms.ValidationError("That day is still to come.")
        if (today - day).days > 60:
            raise forms.ValidationError("That is more than two months ago. Tell us of it when we meet.")
        return day
