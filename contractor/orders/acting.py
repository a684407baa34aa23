"""What is counted at the door and what was used, as acts of a phone; the pages that it keeps for them."""

from django import forms
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import User
from contractor.fitting.selectors import days_of
from contractor.jobs.models import Job
from contractor.orders import selectors
from contractor.orders.counts import Counted, Goods
from contractor.orders.models import CheckOff, UsedMaterial
from contractor.site.kinds import Done, Kind, add_kind
from contractor.site.models import Act
from contractor.site.pages import add_pages

MOST_PACKS = 9999


def whole(label: str, **more) -> forms.IntegerField:
    widget = forms.TextInput(attrs={"inputmode": "numeric", "size": 4})
    errors = {"invalid": "Whole packs only.", "min_value": "Not below nought."}
    return forms.IntegerField(
        label=label, min_value=0, max_value=MOST_PACKS, widget=widget, error_messages=errors, **more
    )


class CameForm(forms.Form):
    line = forms.CharField(max_length=30, widget=forms.HiddenInput)
    seen = forms.CharField(max_length=20, required=False, widget=forms.HiddenInput)
    here = whole("Packs here now, in all")
    damaged = whole("Of those damaged", required=False)
    note = forms.CharField(label="What is wrong", required=False, max_length=200)

    def clean(self) -> dict:
        found = super().clean()
        found["damaged"] = found.get("damaged") or 0
        if found.get("here") is not None and found["damaged"] > found["here"]:
            self.add_error("damaged", "More damaged than there are.")
        return found


def came(act: Act, data: dict) -> Done:
    """Keep the count. Where another person has counted otherwise since this page was made, both are told, and the one
    that counted last stands."""
    Job.objects.select_for_update(of=("self",)).get(pk=act.job_id)
    line = selectors.counted_line(act.job, data["line"])
    if line is None:
        return Done(outcome=Act.Outcome.REFUSED, told="This line is not on the order any more. Ring the office.")
    before = line.standing
    count = CheckOff.objects.create(
        job=act.job, line=None if line.is_van else line.row, material_key=line.material_key, here=data["here"],
        damaged=data["damaged"], note=data["note"], by=act.person, at=act.done_at, act=act,
    )  # fmt: skip
    is_unseen = before is not None and before.by_id != act.person_id and data["seen"] != line.seen
    if is_unseen and (before.here, before.damaged) != (count.here, count.damaged):
        first, last = sorted([before, count], key=lambda c: (c.at, c.pk))
        told = f"{line.name}: {_said(first)}; {_said(last)}, and that stands. Both are kept."
        return Done(outcome=Act.Outcome.CONFLICT, told=told)
    if count.here > line.packs:
        return Done(told=f"{line.name}: {count.here - line.packs} more here than ordered. The office sees it.")
    return Done()


def _said(count: CheckOff) -> str:
    damaged = f", {count.damaged} of them damaged" if count.damaged else ""
    at = timezone.localtime(count.at)
    return f"{count.by.display_name} counted {count.here} here{damaged} at {at:%H:%M}"


def came_shown(request: HttpRequest, act: Act) -> str:
    """The line as it stands now."""
    name = act.payload.get("line") if isinstance(act.payload, dict) else None
    line = selectors.counted_line(act.job, str(name or ""))
    return line_html(request, act.job, line) if line else ""


def line_html(request: HttpRequest, job: Job, line: Counted, form: CameForm | None = None) -> str:
    form = form or CameForm(initial={"line": line.key, "seen": line.seen}, auto_id=f"came-{line.key}-%s")
    return render_to_string("orders/_counted.html", {"job": job, "line": line, "form": form}, request)


class UsedForm(forms.Form):
    material = forms.CharField(max_length=60, widget=forms.HiddenInput)
    left_over = forms.DecimalField(
        label="Packs left over", min_value=0, max_value=MOST_PACKS, max_digits=6, decimal_places=2, required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "size": 5}),
    )  # fmt: skip
    bought = forms.DecimalField(
        label="Bought besides", min_value=0, max_value=MOST_PACKS, max_digits=6, decimal_places=2, required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "size": 5}),
    )  # fmt: skip
    note = forms.CharField(label="Why, or where it went", required=False, max_length=200)


def used(act: Act, data: dict) -> Done:
    known = {row.key: row for row in selectors.material_of(act.job)}
    row = known.get(data["material"])
    if row is None:
        return Done(outcome=Act.Outcome.REFUSED, told="This material was neither ordered nor taken from the van.")
    left_over, bought = data["left_over"] or 0, data["bought"] or 0
    if left_over > row.came + bought:
        return Done(
            outcome=Act.Outcome.REFUSED,
            told=f"{row.name}: {left_over.normalize():f} left over, but only {row.came + bought} came.",
        )
    UsedMaterial.objects.create(
        job=act.job, material_key=row.key, left_over=left_over, bought=bought, note=data["note"], by=act.person,
        at=act.done_at, act=act,
    )  # fmt: skip
    return Done()


def used_shown(request: HttpRequest, act: Act) -> str:
    key = act.payload.get("material") if isinstance(act.payload, dict) else None
    row = next((row for row in selectors.material_of(act.job) if row.key == key), None)
    return used_html(request, act.job, row) if row else ""


def used_html(request: HttpRequest, job: Job, row: Goods, form: UsedForm | None = None) -> str:
    form = form or UsedForm(initial=row.initial, auto_id=f"used-{row.number}-%s")
    return render_to_string("orders/_used.html", {"job": job, "row": row, "form": form}, request)


def goods_pages(person: User) -> list[str]:
    """Of each job of today and the next two days: what is to come, and what was used."""
    jobs = dict.fromkeys(visit.job.number for day in days_of(person) for visit in day.visits)
    return [reverse(f"orders:{name}", args=[number]) for number in jobs for name in ("deliveries", "used")]


def add_acts() -> None:
    add_kind("came", Kind(form=CameForm, apply=came, shown=came_shown))
    add_kind("used", Kind(form=UsedForm, apply=used, shown=used_shown))
    add_pages(goods_pages)
