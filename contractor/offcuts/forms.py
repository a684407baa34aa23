"""Which offcuts of the store a job takes."""

from django import forms

from contractor.offcuts.models import Offcut


class ReserveForm(forms.Form):
    offcuts = forms.ModelMultipleChoiceField(
        queryset=Offcut.objects.none(),
        required=False,
        error_messages={"invalid_choice": "One of these has gone or is another job's by now. Look at the list again."},
    )

    def __init__(self, *args, free: list[Offcut], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.free = free
        self.fields["offcuts"].queryset = Offcut.objects.filter(pk__in=[offcut.pk for offcut in free])

    @property
    def ticked(self) -> set[str]:
        """Ids that stand ticked: those sent, or those the job has."""
        if self.is_bound:
            return set(self.data.getlist("offcuts"))
        return {str(offcut.pk) for offcut in self.free if offcut.reserved_for_id}
