"""What the quick renderer writes is what Django's own templates write."""

import pytest
from django import forms
from django.forms.renderers import TemplatesSetting
from django.test.html import parse_html

from contractor.catalogue.forms.renderer import QuickRenderer


class Sample(forms.Form):
    text = forms.CharField(
        max_length=2, help_text="At <em>most</em> two.", widget=forms.TextInput(attrs={"data-unit": "mm"})
    )
    ticked = forms.BooleanField(help_text="Needed")
    long = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))
    chosen = forms.ChoiceField(required=False, choices=[("", "None"), ("a", "A & B"), ("b", "<B>")])


@pytest.mark.parametrize(
    "data", [None, {}, {"text": '"<x>', "ticked": "on", "long": "two\nlines <b>", "chosen": "a"}, {"chosen": "b"}]
)
@pytest.mark.parametrize("name", Sample.base_fields)
def test_same_as_the_templates(name, data):
    quick, slow = Sample(data, renderer=QuickRenderer()), Sample(data, renderer=TemplatesSetting())
    assert parse_html(str(quick[name])) == parse_html(str(slow[name]))
    assert parse_html(quick[name].as_field_group()) == parse_html(slow[name].as_field_group())
