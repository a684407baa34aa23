from decimal import Decimal

from django import forms

from contractor.accounts.models import Firm
from contractor.common.files import PaperField
from contractor.common.forms import MoneyField, UnitDecimalField
from contractor.jobs.models import Job
from contractor.quotes.models import Discount, ExtraLine, Section, VatBasis
from contractor.quotes.prices import Line
from contractor.quotes.vat import VatReason
from contractor.quotes.worked_out import UNIT_WORDS
from contractor.rooms.models import Scheme

MOST_DAYS = 365


class VatForm(forms.ModelForm):
    """A rate of VAT with its reason and what proves it: words, a paper, or both. `vat_paper` is a Paper or None."""

    vat_percent = UnitDecimalField(label="VAT", unit="%", max_digits=5, decimal_places=2, min_value=0, max_value=100)
    vat_paper = PaperField(
        label="The paper that proves it",
        help_text="A PDF or a picture of it, at most 10 MB. The office alone opens it.",
    )
    drop_paper = forms.BooleanField(label="Take away the paper that is kept", required=False)

    def __init__(self, *args, firm: Firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.firm = firm
        self.fields["vat_reason"].required = False
        self.fields["vat_reason"].label = "Why this rate of VAT"
        self.fields["vat_evidence"].label = "What proves the rate"
        if not self.instance.vat_paper:
            del self.fields["drop_paper"]

    @property
    def has_paper(self) -> bool:
        """Whether a paper will be there once the form is saved."""
        is_kept = bool(self.instance.vat_paper) and not self.cleaned_data.get("drop_paper")
        return is_kept or bool(self.cleaned_data.get("vat_paper"))

    @property
    def paper_values(self) -> dict:
        """What is to become of the paper, for the service."""
        return {name: self.cleaned_data.get(name) for name in ("vat_paper", "drop_paper")}

    def clean_vat_reason(self) -> str:
        return self.cleaned_data["vat_reason"] or VatReason.STANDARD

    def clean(self) -> None:
        """A rate that is not the firm's own needs its reason and what proves it."""
        super().clean()
        percent, reason = self.cleaned_data.get("vat_percent"), self.cleaned_data.get("vat_reason")
        standard = f"{self.firm.vat_percent.normalize():f} %"
        if percent is None:
            return
        if percent == self.firm.vat_percent:
            if reason and reason != VatReason.STANDARD:
                self.add_error("vat_reason", f"{standard} is the firm's standard rate.")
        elif reason == VatReason.STANDARD:
            self.add_error("vat_reason", f"Say why, or charge the standard {standard}.")
        elif not (self.cleaned_data.get("vat_evidence") or self.has_paper or "vat_paper" in self.errors):
            self.add_error("vat_evidence", "Say what proves it and where it is kept, or add the paper itself.")


class ExtraLineForm(VatForm):
    quantity = UnitDecimalField(unit="×", max_digits=9, decimal_places=2, min_value=Decimal("0.01"), initial=1)
    unit_price = MoneyField(
        label="Unit price, ex VAT", min_value=None, help_text="A credit has a minus before its price."
    )

    class Meta:
        model = ExtraLine
        fields = [
            "section",
            "scheme",
            "description",
            "quantity",
            "unit",
            "unit_price",
            "vat_percent",
            "is_optional",
            "about",
            "vat_reason",
            "vat_evidence",
        ]

    field_order = [*Meta.fields, "vat_paper", "drop_paper"]

    def __init__(self, *args, job: Job, firm: Firm, **kwargs):
        super().__init__(*args, firm=firm, **kwargs)
        self.instance.job = job
        self.fields["vat_evidence"].help_text = "Where the rate is not the standard one."
        if self.instance.pk is None:
            self.fields["vat_percent"].initial = f"{firm.vat_percent.normalize():f}"
        self.fields["section"].choices = [("", "Choose"), *Section.choices]
        self.fields["scheme"].queryset = Scheme.objects.filter(job=job)
        self.fields["scheme"].empty_label = "Every option"
        self.fields["scheme"].help_text = ""
        self.fields["about"].help_text = "A sentence, if it is an optional extra. It stands beside the price they tick."
        for name in ("section", "scheme", "vat_reason", "vat_evidence"):
            self.fields[name].widget.attrs["width_class"] = "half"
        for name in ("quantity", "unit", "unit_price", "vat_percent"):
            self.fields[name].widget.attrs["width_class"] = "quarter keep"

    def clean(self) -> None:
        super().clean()
        if not self.cleaned_data.get("is_optional"):
            return
        if not self.cleaned_data.get("about"):
            self.add_error("about", "Say in a few words what the customer would get.")
        if (price := self.cleaned_data.get("unit_price")) is not None and price <= 0:
            self.add_error("unit_price", "An optional extra has a price above nothing.")


class VatBasisForm(VatForm):
    class Meta:
        model = VatBasis
        fields = ["vat_percent", "vat_reason", "vat_evidence"]

    def __init__(self, *args, firm: Firm, **kwargs):
        super().__init__(*args, firm=firm, **kwargs)
        self.fields["vat_evidence"].help_text = "What proves it, such as a letter of the council, and where it is kept."
        self.fields["vat_percent"].widget.attrs["width_class"] = "quarter keep"


class OverrideForm(forms.Form):
    """What the office sets on a worked-out line. An empty field leaves its value as worked out."""

    quantity = UnitDecimalField(unit="×", max_digits=10, decimal_places=3, min_value=Decimal("0.001"), required=False)
    unit_price = MoneyField(label="Unit price, ex VAT", required=False)
    reason = forms.CharField(
        label="Why",
        max_length=300,
        help_text="For the office. It stands beside the line with your name and the day.",
        error_messages={"required": "Say why the line is not priced as worked out."},
    )

    def __init__(self, *args, line: Line, **kwargs):
        super().__init__(*args, **kwargs)
        self.worked_out = line.before or line
        unit = UNIT_WORDS.get(line.unit, line.unit)
        self.fields["quantity"].widget.attrs |= {"data-unit": unit, "width_class": "half"}
        self.fields["quantity"].help_text = f"Worked out: {self.worked_out.quantity.normalize():f} {unit}"
        self.fields["unit_price"].widget.attrs["width_class"] = "half"
        self.fields["unit_price"].help_text = f"Worked out: £{self.worked_out.unit_price:,}"

    def clean(self) -> dict:
        cleaned = super().clean()
        quantity, unit_price = cleaned.get("quantity"), cleaned.get("unit_price")
        is_unchanged = quantity in (None, self.worked_out.quantity) and unit_price in (None, self.worked_out.unit_price)
        if is_unchanged and not {"quantity", "unit_price"} & set(self.errors):
            self.add_error("quantity", "Set a quantity or a unit price other than the one worked out.")
        return cleaned


class DiscountForm(forms.ModelForm):
    percent = UnitDecimalField(
        unit="%", max_digits=5, decimal_places=2, min_value=Decimal("0.01"), max_value=100, required=False
    )
    amount = MoneyField(label="or a sum, ex VAT", min_value=Decimal("0.01"), required=False)

    class Meta:
        model = Discount
        fields = ["percent", "amount", "reason", "scheme"]

    def __init__(self, *args, job: Job, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.job = job
        self.fields["reason"].help_text = "The customer reads it beside the discount."
        self.fields["scheme"].queryset = Scheme.objects.filter(job=job)
        self.fields["scheme"].empty_label = "Every option"
        for name in ("percent", "amount"):
            self.fields[name].widget.attrs["width_class"] = "half"

    def clean(self) -> dict:
        cleaned = super().clean()
        is_one = (cleaned.get("percent") is None) != (cleaned.get("amount") is None)
        if not is_one and not {"percent", "amount"} & set(self.errors):
            self.add_error("percent", "Give a percentage or a sum, one of the two.")
        return cleaned


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


class AnswerForm(forms.Form):
    answer = forms.CharField(
        label="Your answer",
        max_length=5000,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text="They read it in the proposal and by e-mail. It cannot be changed afterwards.",
        error_messages={"required": "Write the answer first."},
    )
