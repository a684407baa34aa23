from decimal import Decimal

from django import forms

from contractor.accounts.models import Firm
from contractor.common.forms import MoneyField, UnitDecimalField
from contractor.jobs.models import Job
from contractor.quotes.models import ExtraLine
from contractor.rooms.models import Scheme

WIDTH = {"half": {"width_class": "half"}, "quarter": {"width_class": "quarter keep"}}
MOST_DAYS = 365


class ExtraLineForm(forms.ModelForm):
    quantity = UnitDecimalField(unit="×", max_digits=9, decimal_places=2, min_value=Decimal("0.01"), initial=1)
    unit_price = MoneyField(
        label="Unit price, ex VAT", min_value=None, help_text="A discount has a minus before its price."
    )
    vat_percent = UnitDecimalField(label="VAT", unit="%", max_digits=5, decimal_places=2, min_value=0, max_value=100)

    class Meta:
        model = ExtraLine
        fields = ["section", "description", "quantity", "unit", "unit_price", "vat_percent", "scheme"]

    def __init__(self, *args, job: Job, firm: Firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.job = job
        if self.instance.pk is None:
            self.fields["vat_percent"].initial = f"{firm.vat_percent.normalize():f}"
        self.fields["scheme"].queryset = Scheme.objects.filter(job=job)
        self.fields["scheme"].empty_label = "Every option"
        self.fields["scheme"].help_text = ""
        for name in ("section", "scheme"):
            self.fields[name].widget.attrs["width_class"] = "half"
        for name in ("quantity", "unit", "unit_price", "vat_percent"):
            self.fields[name].widget.attrs["width_class"] = "quarter keep"


class SendForm(forms.Form):
    """`after_number` is the newest revision when the form was drawn, so that two people do not send at once."""

    opening = forms.CharField(
        label="A few words to open the letter",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="In your own words. It stands above everything else.",
    )
    valid_days = forms.IntegerField(
        label="The price stands for",
        min_value=1,
        max_value=MOST_DAYS,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "data-unit": "days", "width_class": "half"}),
    )
    after_number = forms.IntegerField(widget=forms.HiddenInput)
    leave_out_unpriced = forms.BooleanField(
        label="Send it although something is missing. The proposal says which parts are not included.",
        required=False,
    )

    accept_preview = forms.BooleanField(
        label="Send it with the preview of the take-off",
        required=False,
        help_text="A better one is being worked out. Wait for it, or send what stands now: the sent quote will say so.",
    )

    def __init__(self, *args, has_unpriced: bool, is_preview: bool, **kwargs):
        super().__init__(*args, **kwargs)
        if not has_unpriced:
            del self.fields["leave_out_unpriced"]
        if not is_preview:
            del self.fields["accept_preview"]


class AcceptForm(forms.Form):
    """The homeowner's acceptance. Nothing is chosen or ticked beforehand."""

    option = forms.ChoiceField(
        label="Which option would you like?",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the options.", "invalid_choice": "Choose one of the options."},
    )
    typed_name = forms.CharField(
        label="Your full name",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        help_text="Typing it here stands for your signature.",
        error_messages={"required": "Type your full name."},
    )
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
        self.only = options[0]["key"] if len(options) == 1 else None
        if self.only:
            del self.fields["option"]
        else:
            self.fields["option"].choices = [(o["key"], f"{o['name']}, {_price(o)}") for o in options]

    @property
    def option_key(self) -> str:
        return self.only or self.cleaned_data["option"]


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


class AnswerForm(forms.Form):
    answer = forms.CharField(
        label="Your answer",
        max_length=5000,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text="They read it in the proposal and by e-mail. It cannot be changed afterwards.",
        error_messages={"required": "Write the answer first."},
    )


def _price(option: dict) -> str:
    return (
        f"£{Decimal(option['total']):,.2f} with VAT"
        if Decimal(option["vat_total"])
        else f"£{Decimal(option['total']):,.2f}"
    )
