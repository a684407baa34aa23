"""Which noise, and with which option built."""

from collections.abc import Sequence

from django import forms

from contractor.rooms.diagnosis.bridge import NOISES
from contractor.rooms.models import Scheme


class DiagnosisForm(forms.Form):
    """Sent by GET. What is not among the choices falls back to the noise told of first and the first option."""

    noise = forms.ChoiceField(label="Noise", choices=list(NOISES.items()))
    scheme = forms.ChoiceField(label="With", required=False)

    def __init__(self, data, *, noise: str, schemes: Sequence[Scheme]):
        self.schemes = {str(scheme.pk): scheme for scheme in schemes}
        first = next((key for key, scheme in self.schemes.items() if scheme.treatments.all()), "")
        given = {"noise": data.get("noise", noise), "scheme": data.get("scheme", first)}
        given["noise"] = given["noise"] if given["noise"] in NOISES else noise
        given["scheme"] = given["scheme"] if given["scheme"] in self.schemes else ""
        super().__init__(given)
        self.fields["scheme"].choices = [("", "Nothing built"), *((k, s.name) for k, s in self.schemes.items())]
        for field in self.fields.values():
            field.widget.attrs["width_class"] = "half"

    @property
    def noise_key(self) -> str:
        return self.data["noise"]

    @property
    def chosen_scheme(self) -> Scheme | None:
        return self.schemes.get(self.data["scheme"])
