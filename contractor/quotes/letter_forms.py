"""What the homeowner fills in on the letter: their acceptance with the extras they want, a refusal, a question."""

from decimal import Decimal

from django import forms
from django.utils.html import format_html

from contractor.common.forms import SignatureField
from contractor.quotes.agreed import chosen_extras, extras_offered, with_extras
from contractor.quotes.worked_out import pounds


class ExtraTicks(forms.CheckboxSelectMultiple):
    """Ticks that tell the page's script what each adds and with which options it goes."""

    extras: dict[str, dict] = {}
    goes_with: dict[str, list[str]] = {}

    def create_option(self, name, value, *args, **kwargs) -> dict:
        made = super().create_option(name, value, *args, **kwargs)
        made["attrs"] |= {
            "data-pence": in_pence(self.extras[value]["total"]),
            "data-options": " ".join(self.goes_with[value]),
        }
        return made


class OptionRadios(forms.RadioSelect):
    totals: dict[str, str] = {}

    def create_option(self, name, value, *args, **kwargs) -> dict:
        made = super().create_option(name, value, *args, **kwargs)
        made["attrs"]["data-pence"] = in_pence(self.totals[value])
        return made


class AcceptForm(forms.Form):
    """The homeowner's acceptance. Nothing is chosen or ticked beforehand.

    `sum_shown` is the sum that stood on the page for what is ticked; where extras are ticked and it is not their sum,
    the page comes back with the sum, so that nobody orders for a price they have not seen.
    """

    option = forms.ChoiceField(
        label="Which option would you like?",
        widget=OptionRadios,
        error_messages={"required": "Choose one of the options.", "invalid_choice": "Choose one of the options."},
    )
    extras = forms.MultipleChoiceField(
        label="Would you like any of these as well?",
        help_text="Optional extras. Tick what you want; what you leave is not built and not charged.",
        widget=ExtraTicks,
        required=False,
        error_messages={"invalid_choice": "This proposal has no such extra. Tick from those that stand here."},
    )
    sum_shown = forms.CharField(widget=forms.HiddenInput, required=False)
    typed_name = SignatureField()
    agreed_terms = forms.BooleanField(
        label="I have read this proposal and accept its price, its exclusions and its terms.",
        error_messages={"required": "Tick this to accept."},
    )
    early_start = forms.BooleanField(
        label="I ask you to start before my time to cancel is over.",
        required=False,
        help_text="Only if you want that. You then pay for what has been done if you cancel within that time, and once "
        "all the work is done you can no longer cancel.",
    )

    def __init__(self, *args, options: list[dict], **kwargs):
        super().__init__(*args, **kwargs)
        self.options = {option["key"]: option for option in options}
        self.only = options[0]["key"] if len(options) == 1 else None
        if self.only:
            del self.fields["option"]
        else:
            self.fields["option"].widget.totals = {key: option["total"] for key, option in self.options.items()}
            self.fields["option"].choices = [(o["key"], f"{o['name']}, {_price(o)}") for o in options]
        self.offered = extras_offered(options)
        if self.offered:
            self._offer()
        else:
            del self.fields["extras"], self.fields["sum_shown"]

    def _offer(self) -> None:
        goes_with = {
            key: [o["key"] for o in self.options.values() if any(extra["key"] == key for extra in o["extras"])]
            for key in self.offered
        }
        field = self.fields["extras"]
        field.widget.extras, field.widget.goes_with = self.offered, goes_with
        field.choices = [(key, self._told(extra, goes_with[key])) for key, extra in self.offered.items()]
        self.initial["sum_shown"] = self.reckoned["total"] if self.reckoned else ""

    def _told(self, extra: dict, keys: list[str]) -> str:
        only = "" if len(keys) == len(self.options) else f" Only with {_named(self.options[key] for key in keys)}."
        return format_html(
            '<span class="extra"><strong>{}</strong> <span class="price">+ {}</span><br><small>{}{}</small></span>',
            extra["description"],
            _price(extra),
            extra["about"],
            only,
        )

    @property
    def only_pence(self) -> int | None:
        """What the script starts from where there is one option and so nothing to choose."""
        return in_pence(self.options[self.only]["total"]) if self.only else None

    @property
    def option_key(self) -> str:
        return self.only or self.cleaned_data["option"]

    @property
    def extra_keys(self) -> list[str]:
        return self.cleaned_data.get("extras", [])

    @property
    def reckoned(self) -> dict | None:
        """The option chosen with the extras ticked, as far as they are; None where they do not go together."""
        values = {name: self[name].value() for name in ("option", "extras") if name in self.fields}
        option = self.options.get(self.only or values.get("option") or "")
        try:
            return with_extras(option, chosen_extras(option, values.get("extras") or ())) if option else None
        except ValueError:
            return None

    def clean(self) -> dict:
        cleaned = super().clean()
        option = self.options.get(self.only or cleaned.get("option") or "")
        ticked = cleaned.get("extras")
        if not (option and ticked):
            return cleaned
        held = {extra["key"] for extra in option["extras"]}
        astray = [self.offered[key]["description"] for key in ticked if key not in held]
        if astray:
            text = f"{', '.join(f'“{name}”' for name in astray)} does not go with “{option['name']}”. Untick it, or choose another option."
            self.add_error("extras", text)
        elif cleaned.get("sum_shown") != (total := self.reckoned["total"]):
            self.data = self.data.copy()
            self.data["sum_shown"] = total
            self.add_error("extras", f"With these it is {_price(self.reckoned)}. Look at it, then accept once more.")
        return cleaned


class DeclineForm(forms.Form):
    reason = forms.CharField(
        label="What should have been different?",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="If you would like to tell us.",
    )


class QuestionForm(forms.Form):
    text = forms.CharField(
        label="What would you like to know?",
        max_length=3000,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": "Write your question here."},
    )
    name = forms.CharField(
        label="Your name",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={"required": "Tell us who asks."},
    )


def in_pence(amount: str) -> int:
    return int(Decimal(amount) * 100)


def _named(options) -> str:
    return " and ".join(f"“{option['name']}”" for option in options)


def _price(priced: dict) -> str:
    """An option or an extra of the document, with the word on its VAT."""
    has_vat = Decimal(priced.get("vat_total", priced.get("vat", 0)))
    return f"{pounds(Decimal(priced['total']))} with VAT" if has_vat else pounds(Decimal(priced["total"]))
