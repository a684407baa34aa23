"""The form of a rule: what it says, its conditions and its works, each in rows that the page has a few empty ones of."""

from decimal import Decimal, InvalidOperation
from functools import cache

from django import forms

from contractor.catalogue.forms.renderer import QuickRenderer
from contractor.catalogue.models import LabourAllowance
from contractor.jobs.models import Gate
from contractor.rooms.models import Rule
from contractor.rooms.rules.book import RuleText
from contractor.rooms.rules.facts import FACTS, OPENING, WAY
from contractor.rooms.rules.verdicts import HOLLOW, WHOLE
from contractor.rooms.rules.wording import HOW

SPARE_CONDITIONS, SPARE_WORKS = 3, 2
MUST, ENOUGH = "", "any"


@cache
def _fact_choices() -> list:
    """Every measure, and every answer to a question; those of the build-up say so."""
    choices = [("", "Nothing")]
    for fact in FACTS.values():
        label = f"Build-up: {fact.label[:1].lower()}{fact.label[1:]}" if fact.of_build_up else fact.label
        if fact.is_number:
            choices.append((fact.key, f"{label} ({fact.unit})" if fact.unit else label))
        else:
            choices += [(f"{fact.key}={value}", f"{label}: {text}") for value, text in fact.choices]
    return choices


class ConditionForm(forms.Form):
    """One condition: a measure with a bound, or an answer that is or is not given."""

    default_renderer = QuickRenderer

    fact = forms.ChoiceField(label="When", required=False)
    how = forms.ChoiceField(label="Is", required=False, choices=[("is", HOW["is"]), *list(HOW.items())[1:]])
    bound = forms.CharField(
        label="Bound", required=False, max_length=60, widget=forms.TextInput(attrs={"inputmode": "decimal"})
    )
    joined = forms.ChoiceField(
        label="Weighed", required=False, choices=[(MUST, "Must hold"), (ENOUGH, "One of these is enough")]
    )

    def __init__(self, *args, condition: dict | None = None, **kwargs):
        initial = {}
        if condition:
            is_number = FACTS[condition["fact"]].is_number
            initial = {
                "fact": condition["fact"] if is_number else f"{condition['fact']}={condition['value']}",
                "how": condition["is"],
                "bound": self._shown(condition["value"]) if is_number else "",
                "joined": ENOUGH if condition.get("any") else MUST,
            }
        super().__init__(*args, initial=initial, **kwargs)
        self.fields["fact"].choices = _fact_choices()
        for name in self.fields:
            self.fields[name].widget.attrs["width_class"] = f"of-{name}"

    @staticmethod
    def _shown(value: str) -> str:
        return FACTS[value].label if value in FACTS else value

    def clean(self):
        cleaned = super().clean()
        key, _, answer = (cleaned.get("fact") or "").partition("=")
        fact = FACTS.get(key)
        if fact is None:
            return cleaned
        if fact.is_number:
            self._clean_bound(cleaned)
        elif cleaned.get("how") not in ("is", "is_not"):
            self.add_error("how", "An answer is given or is not: choose “is” or “is not”.")
        else:
            cleaned["value"] = answer
        return cleaned

    def _clean_bound(self, cleaned: dict) -> None:
        if cleaned.get("how") in ("is", "is_not"):
            self.add_error("how", "A measure has a bound: more than, at least, less than or at most.")
        typed = (cleaned.get("bound") or "").strip()
        by_label = {fact.label.lower(): fact.key for fact in FACTS.values() if fact.is_number}
        if typed.lower() in by_label:
            cleaned["value"] = by_label[typed.lower()]
            return
        try:
            bound = Decimal(typed.replace(",", ""))
        except InvalidOperation:
            self.add_error("bound", "Give a number, or the name of another measure.")
            return
        if not bound.is_finite():
            self.add_error("bound", "Give a number.")
            return
        cleaned["value"] = format(bound, "f")

    @property
    def condition(self) -> dict | None:
        if not self.cleaned_data.get("fact"):
            return None
        row = {
            "fact": self.cleaned_data["fact"].partition("=")[0],
            "is": self.cleaned_data["how"],
            "value": self.cleaned_data["value"],
        }
        return row | ({"any": True} if self.cleaned_data.get("joined") == ENOUGH else {})


class WorkForm(forms.Form):
    """One work: hours of the catalogue for each square metre, of the whole patch or its hollow part."""

    default_renderer = QuickRenderer

    allowance = forms.ChoiceField(label="Work", required=False)
    amount = forms.DecimalField(
        label="For each m²",
        required=False,
        min_value=Decimal("0.0001"),
        max_digits=8,
        decimal_places=4,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
    of = forms.ChoiceField(
        label="Of", required=False, choices=[(WHOLE, "the whole patch"), (HOLLOW, "its hollow part")]
    )
    why = forms.CharField(label="Why, if the reason above does not say it", required=False, max_length=240)

    def __init__(self, *args, allowances: list[LabourAllowance], work: dict | None = None, **kwargs):
        super().__init__(*args, initial=work or {}, **kwargs)
        shown = [(a.key, f"{a.name} ({a.unit.replace('m2', 'm²')})") for a in allowances]
        kept = (work or {}).get("allowance")
        if kept and kept not in dict(shown):
            shown.append((kept, f"{kept} (not in the catalogue)"))
        self.fields["allowance"].choices = [("", "Nothing"), *shown]
        for name, width in (("allowance", "half"), ("amount", "quarter"), ("of", "quarter")):
            self.fields[name].widget.attrs["width_class"] = width

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("allowance") and not cleaned.get("amount") and "amount" not in self.errors:
            self.add_error("amount", "Say how much of it: 1 for hours that are for a square metre.")
        return cleaned

    @property
    def work(self) -> dict | None:
        if not self.cleaned_data.get("allowance"):
            return None
        row = {
            "allowance": self.cleaned_data["allowance"],
            "amount": format(self.cleaned_data["amount"].normalize(), "f"),
        }
        if self.cleaned_data.get("of") == HOLLOW:
            row["of"] = HOLLOW
        return row | ({"why": self.cleaned_data["why"]} if self.cleaned_data.get("why") else {})


class RuleForm(forms.ModelForm):
    gate = forms.ChoiceField(label="Which caution", required=False, choices=[("", "None"), *Gate.Kind.choices])

    class Meta:
        model = Rule
        fields = ["name", "effect", "is_active", "reason", "fabric", "gate", "origin"]
        labels = {"reason": "Reason, as it is shown", "origin": "Where the rule comes from"}
        help_texts = {
            "reason": "Measures in braces are filled in, such as {hollow_percent}.",
            "fabric": "For preparation work: what becomes of the old face.",
            "origin": "Such as common practice, or from memory.",
        }
        widgets = {"reason": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, data=None, *, rule: RuleText | None, row: Rule, allowances: list[LabourAllowance]):
        super().__init__(data, instance=row)
        conditions = [dict(c) for c in rule.conditions if c["fact"] in FACTS] if rule else []
        works = [dict(w) for w in rule.works] if rule else []
        self.condition_rows = [
            ConditionForm(data, prefix=f"c{n}", condition=condition)
            for n, condition in enumerate([*conditions, *[None] * SPARE_CONDITIONS])
        ]
        self.work_rows = [
            WorkForm(data, prefix=f"w{n}", allowances=allowances, work=work)
            for n, work in enumerate([*works, *[None] * SPARE_WORKS])
        ]
        self.fields["effect"].choices = Rule.Effect.choices
        if row.is_firm:  # a matter of safety: what it says can be sharpened, not switched off
            for name in ("effect", "is_active", "gate"):
                del self.fields[name]
        for name in ("effect", "fabric", "gate"):
            if name in self.fields:
                self.fields[name].widget.attrs["width_class"] = "half"

    def is_valid(self) -> bool:
        """All rows are checked, so that every error shows at once."""
        rows = [form.is_valid() for form in (*self.condition_rows, *self.work_rows)]
        return super().is_valid() and all(rows) and self._hangs_together()

    def _hangs_together(self) -> bool:
        effect = self.cleaned_data.get("effect", self.instance.effect)
        if not self.conditions:
            self.add_error(None, "Give at least one condition: a rule without one never applies.")
        if effect == Rule.Effect.WORK and not self.works:
            self.add_error("effect", "Preparation work needs at least one work below.")
        if effect != Rule.Effect.WORK and self.works:
            self.add_error("effect", "Only preparation work has works. Take them out, or choose preparation work.")
        if effect == Rule.Effect.WORK and {c["fact"] for c in self.conditions} & {WAY, OPENING}:
            self.add_error(
                "effect", "Preparation work is by the m² of a wall, ceiling or floor, not of ways or openings."
            )
        if effect == Rule.Effect.GATE and "gate" in self.fields and not self.cleaned_data.get("gate"):
            self.add_error("gate", "Choose the caution that this rule asks to be settled.")
        return not self.errors

    @property
    def conditions(self) -> list[dict]:
        return [form.condition for form in self.condition_rows if form.condition]

    @property
    def works(self) -> list[dict]:
        return [form.work for form in self.work_rows if form.work]
