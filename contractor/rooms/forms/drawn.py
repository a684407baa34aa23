"""Forms that stand beside a drawing."""

from django import forms

from contractor.common.forms import LengthField


def drawn_attrs(draw_at: str) -> dict[str, str]:
    """What has the drawing made anew while a field is typed in, and when it takes the cursor."""
    return {
        "hx-post": draw_at,
        "hx-trigger": "input changed delay:300ms, change, focus delay:200ms",
        "hx-target": "#drawing",
        "hx-swap": "outerHTML",
        "hx-sync": "closest form:queue last",
    }


class DrawnForm(forms.ModelForm):
    """A form whose `drawn` fields have the drawing made anew while they are typed in, and marked while they are edited.

    The parent row, named by `within`, is set by the view and counts in the model's own checks.
    """

    drawn: tuple[str, ...] = ()
    within = ""
    half: tuple[str, ...] = ()

    def __init__(self, *args, draw_at: str = "", **kwargs):
        super().__init__(*args, **kwargs)
        for name in self.half:
            self.fields[name].widget.attrs["width_class"] = "half keep"
        if not draw_at:
            return
        for name in self.drawn:
            self.fields[name].widget.attrs |= drawn_attrs(draw_at)

    def _get_validation_exclusions(self):
        # The parent is no field of the form, yet a name or letter must be unique within it.
        return super()._get_validation_exclusions() - {self.within}


def length(label: str, *, required: bool = True, help_text: str = "", min_value: int = 1, initial=None) -> LengthField:
    return LengthField(label=label, required=required, help_text=help_text, min_value=min_value, initial=initial)
