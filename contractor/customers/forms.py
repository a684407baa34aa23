"""Forms for a customer and a home."""

import re

from django import forms

from contractor.customers.models import Customer, Property

# Two-part postcodes, such as AB1 2CD: written with one space before the last three characters (common practice).
TWO_PARTS = re.compile(r"^([A-Z]{1,2}[0-9][A-Z0-9]?)([0-9][A-Z]{2})$")


def half(**attrs) -> dict:
    return {"width_class": "half", **attrs}


class CustomerForm(forms.ModelForm):
    class Meta:
        model = Customer
        fields = ["name", "email", "phone", "notes"]
        labels = {"email": "E-mail"}
        help_texts = {
            "name": "As a letter to them should begin, such as Mr and Mrs Example.",
            "email": "The proposal goes here.",
        }
        widgets = {
            "email": forms.EmailInput(attrs=half()),
            "phone": forms.TextInput(attrs=half(inputmode="tel")),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not cleaned.get("email") and not cleaned.get("phone"):
            self.add_error("email", "Give an e-mail address or a phone number, so that they can be reached.")
        return cleaned


class PropertyForm(forms.ModelForm):
    groups = [
        ("Where it is", ["address_line_1", "address_line_2", "town", "postcode"]),
        ("What it is", ["kind", "built", "tenure", "is_listed"]),
        ("Getting there and in", ["access_note", "parking_note"]),
    ]

    class Meta:
        model = Property
        fields = [
            "address_line_1",
            "address_line_2",
            "town",
            "postcode",
            "kind",
            "built",
            "tenure",
            "is_listed",
            "access_note",
            "parking_note",
        ]
        labels = {"address_line_1": "Address", "address_line_2": "Address, second line", "built": "Built"}
        help_texts = {
            "built": "Homes built before 2000 may hold asbestos; if nobody knows, leave it at not known.",
            "tenure": "A lease or a tenancy may need someone's consent.",
        }
        widgets = {
            "town": forms.TextInput(attrs=half()),
            "postcode": forms.TextInput(attrs=half(autocapitalize="characters")),
            "built": forms.Select(attrs=half()),
            "tenure": forms.Select(attrs=half()),
            "access_note": forms.Textarea(attrs={"rows": 3}),
        }

    def clean_postcode(self) -> str:
        postcode = self.cleaned_data["postcode"].upper().strip()
        parts = TWO_PARTS.match(postcode.replace(" ", ""))
        return f"{parts[1]} {parts[2]}" if parts else postcode

    @property
    def grouped(self):
        """(heading, bound fields) in the order of the page."""
        return [(heading, [self[name] for name in names]) for heading, names in self.groups]
