"""What kinds of act there are. Each is a form for its payload and what it does; apps above add their own."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from django import forms
from django.http import HttpRequest
from django.utils import timezone

from contractor.common.forms import DateField
from contractor.jobs.models import Job
from contractor.site.models import Act, Delivery, Override, SiteNote, TimeEntry

PAST = timedelta(days=60)


@dataclass(frozen=True, kw_only=True)
class Done:
    """What came of an act: its outcome and what the person is told; nothing where there is nothing to say."""

    outcome: str = Act.Outcome.APPLIED
    told: str = ""


@dataclass(frozen=True, kw_only=True)
class Kind:
    """`apply` gets the kept act and the form's cleaned data, inside the transaction that keeps the act. `shown` makes
    the piece of the page that the act changed. One with a `heading` has its form on the page of notes, and under it what
    `listed` says of the job, as pairs of what and how it stands."""

    form: type[forms.Form]
    apply: Callable[[Act, dict], Done]
    shown: Callable[[HttpRequest, Act], str] | None = None
    heading: str = ""
    button: str = ""
    listed: Callable[[Job], list[tuple[str, str]]] | None = None


_kinds: dict[str, Kind] = {}


def add_kind(name: str, kind: Kind) -> None:
    """Called from an app's ready()."""
    _kinds[name] = kind


def kinds_on_page() -> dict[str, Kind]:
    """Those with a form on the page of notes, in the order in which they were added."""
    return {name: kind for name, kind in _kinds.items() if kind.heading}


def kind_of(name: str) -> Kind | None:
    return _kinds.get(name)


class TimeForm(forms.Form):
    on_date = DateField(label="Day")
    task = forms.ChoiceField(label="What on", choices=TimeEntry.Task.choices)
    hours = forms.DecimalField(
        label="How long", min_value=0, max_value=24, max_digits=4, decimal_places=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "data-unit": "hours"}),
        help_text="Such as 2.5 or 7.75.",
    )  # fmt: skip
    note = forms.CharField(label="Note", required=False, max_length=200)

    def clean_hours(self):
        hours = self.cleaned_data["hours"]
        if hours * 60 < 5:
            raise forms.ValidationError("At least five minutes.")
        return hours

    def clean_on_date(self):
        day, today = self.cleaned_data["on_date"], timezone.localdate()
        if not today - PAST <= day <= today + timedelta(days=1):
            raise forms.ValidationError("A day of the last weeks, not one to come.")
        return day


class NoteForm(forms.Form):
    kind = forms.ChoiceField(label="What it is", choices=SiteNote.Kind.choices)
    where = forms.CharField(label="Where", required=False, max_length=120)
    text = forms.CharField(label="What you saw", max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))


class SnagDoneForm(forms.Form):
    snag = forms.UUIDField()
    done = forms.BooleanField(required=False)


class DeliveryForm(forms.Form):
    what = forms.CharField(label="What came", max_length=120)
    state = forms.ChoiceField(label="How it came", choices=Delivery.State.choices)
    note = forms.CharField(label="What is missing or damaged", required=False, max_length=200)

    def clean(self):
        found = super().clean()
        if found.get("state") in (Delivery.State.SHORT, Delivery.State.DAMAGED) and not found.get("note"):
            self.add_error("note", "Say what, so that the office can ring the supplier.")
        return found


class OverrideForm(forms.Form):
    row_key = forms.CharField(max_length=80)
    reason = forms.CharField(label="Why it may go on", max_length=300, min_length=4)


def _time(act: Act, data: dict) -> Done:
    minutes = int(data["hours"] * 60)
    TimeEntry.objects.create(
        job=act.job, person=act.person, on_date=data["on_date"], task=data["task"], minutes=minutes, note=data["note"],
        act=act,
    )  # fmt: skip
    return Done()


def _note(act: Act, data: dict) -> Done:
    SiteNote.objects.create(job=act.job, by=act.person, at=act.done_at, act=act, **data)
    return Done()


def _snag_done(act: Act, data: dict) -> Done:
    changed = SiteNote.objects.filter(job=act.job, act__key=data["snag"], kind=SiteNote.Kind.SNAG)
    if not changed.update(is_done=data["done"]):
        return Done(outcome=Act.Outcome.REFUSED, told="There is no such snag on this job.")
    return Done()


def _delivery(act: Act, data: dict) -> Done:
    Delivery.objects.create(job=act.job, by=act.person, at=act.done_at, act=act, **data)
    return Done()


def _override(act: Act, data: dict) -> Done:
    made, is_new = Override.objects.get_or_create(
        job=act.job, row_key=data["row_key"],
        defaults={"reason": data["reason"], "by": act.person, "at": act.done_at, "act": act},
    )  # fmt: skip
    if not is_new:
        return Done(told=f"{made.by.display_name} had let it pass already: {made.reason}")
    return Done()


def add_own_kinds() -> None:
    add_kind("note", Kind(form=NoteForm, apply=_note, heading="Note or snag", button="Write it down"))
    add_kind("time", Kind(form=TimeForm, apply=_time, heading="Time", button="Write the time down"))
    add_kind("snag-done", Kind(form=SnagDoneForm, apply=_snag_done))
    add_kind(
        "delivery",
        Kind(form=DeliveryForm, apply=_delivery, heading="Came, and stands on no order", button="Write it down"),
    )
    add_kind("override", Kind(form=OverrideForm, apply=_override))
