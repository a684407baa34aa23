"""A variation begun on site: what was found and why it must change; the office prices it and sends it."""

from django import forms

from contractor.billing import services
from contractor.billing.models import Variation
from contractor.billing.selectors import variations_of
from contractor.jobs.models import Job
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
        made = services.variation_start(job=act.job, user=act.person, act=act, **data)
    except services.Refused as refusal:
        return Done(outcome=Act.Outcome.REFUSED, told=str(refusal))
    return Done(told=f"{made.reference} is with the office. Work on it waits until the customer has approved it.")


STANDS = {
    Variation.Status.DRAFT: "with the office; work on it waits.",
    Variation.Status.SENT: "wait for the customer's answer; only make safe.",
    Variation.Status.APPROVED: "approved, go ahead.",
    Variation.Status.DECLINED: "the customer said no; leave it as it is.",
    Variation.Status.WITHDRAWN: "taken back by the office; leave it as it is.",
}


def how_they_stand(job: Job) -> list[tuple[str, str]]:
    """The job's variations for those on site, without prices."""
    return [(str(variation), STANDS[variation.status]) for variation in variations_of(job)]


def add_acts() -> None:
    kind = Kind(
        form=FoundForm, apply=found, heading="Something to vary", button="Tell the office", listed=how_they_stand
    )
    add_kind("variation", kind)
