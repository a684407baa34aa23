"""What a press of a tick sends."""

from django import forms


class TickForm(forms.Form):
    """The state is said, not switched: sent twice, it is the same."""

    key = forms.CharField(max_length=80)
    done = forms.ChoiceField(choices=[("1", "Done"), ("0", "Not done")])
