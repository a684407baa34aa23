"""A variation begun on site: what was found and why it must change; the office prices it and sends it."""

from django import forms

from contractor.billing import services
from contractor.billing.models import Variation
from contractor.site.kinds import Done, Kind, add_kind
from contractor.site.models import Act


class FoundForm(forms.ModelForm):
    class Meta:
        model = Variation
        fields = ["title", "cause", "why"]
        labels = {"title": "What has to change"}
        help_texts = {"why": "What you found. Work on it waits until the customer has approved it; only make safe."}
        widgets = {"why": forms.Textarea(attrs={"rows": 3})}


def found(act: Act, data: dict) -> Done:
    try:
        made = services.variation_start(job=act.job, user=act.person, **data)
    except services.Refused as refusal:
        return Done(outcome=Act.Outcome.REFUSED, told=str(refusal))
    return Done(told=f"{made.reference} is with the office. Work on it waits until the customer has approved it.")


def add_acts() -> None:
    add_kind("variation", Kind(form=FoundForm, apply=found, heading="Something to vary", button="Tell the office"))
