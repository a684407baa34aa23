"""Forms of the treatment step."""

from django import forms

from contractor.catalogue.models import Direction
from contractor.jobs.models import Job
from contractor.rooms.inputs import Choice
from contractor.rooms.models import Scheme, Treatment
from contractor.rooms.selectors_schemes import Place


class NamedScheme(forms.ModelForm):
    """Tells beside the name when another option of the job has it."""

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if self.instance.job.schemes.exclude(pk=self.instance.pk).filter(name=name).exists():
            raise forms.ValidationError("This job already has an option of that name.", code="unique")
        return name


class NewSchemeForm(NamedScheme):
    """A name, and an option to start from."""

    copy_of = forms.ModelChoiceField(
        label="Start from", queryset=Scheme.objects.none(), required=False, empty_label="Nothing chosen yet"
    )

    class Meta:
        model = Scheme
        fields = ["name"]
        labels = {"name": "Name of the option"}

    def __init__(self, *args, job: Job, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.job = job
        self.fields["copy_of"].queryset = job.schemes.all()
        self.fields["name"].widget.attrs |= {"width_class": "half"}
        self.fields["copy_of"].widget.attrs |= {"width_class": "half"}


class BuildUpSelect(forms.Select):
    """Shows what fits first, then what does not, with the reason and not to be chosen."""

    def create_option(self, name, value, label, selected, index, subindex=None, attrs=None):
        option = super().create_option(name, value, label, selected, index, subindex, attrs)
        if str(value).startswith("no-"):
            option["attrs"]["disabled"] = True
        return option


class TreatmentsForm(NamedScheme):
    """The option's name and words, and for every place a build-up that fits it.

    Fields are named after the places: `patch-12`, `patch-12-across`, `opening-4`, `path-3`.
    """

    class Meta:
        model = Scheme
        fields = ["name", "summary"]
        labels = {"name": "Name of the option", "summary": "In a sentence or two, for the homeowner"}
        help_texts = {"summary": ""}
        widgets = {"summary": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args, places: list[Place], chosen: list[Treatment], **kwargs):
        super().__init__(*args, **kwargs)
        self.places = places
        self.out_of_place: dict[str, str] = {}  # what is saved though it no longer fits, by place
        on_patch = {t.patch_id: t for t in chosen if t.patch_id}
        on_opening = {t.opening_id: t for t in chosen if t.opening_id}
        on_path = {t.side_path_id: t for t in chosen if t.side_path_id}
        for place in places:
            if place.patch:
                treatment = on_patch.get(place.patch.pk)
            elif place.opening:
                treatment = on_opening.get(place.opening.pk)
            else:
                treatment = on_path.get(place.side_path.pk)
            self._add_place(place, treatment)

    def _add_place(self, place: Place, treatment: Treatment | None) -> None:
        self.fields[place.key] = forms.ChoiceField(
            label=place.name,
            required=False,
            choices=_choices(place),
            widget=BuildUpSelect,
            error_messages={"invalid_choice": "Choose a build-up from this list."},
        )
        self.initial[place.key] = treatment.build_up_id if treatment else ""
        if treatment and not self.is_bound:
            self.out_of_place[place.key] = next(
                (f"{f.build_up.name}: {f.why_not}" for f in place.unfit if f.build_up.pk == treatment.build_up_id), ""
            )
        if place.may_lie_across:
            self.fields[f"{place.key}-across"] = forms.BooleanField(label="Boards lie across", required=False)
            self.initial[f"{place.key}-across"] = bool(treatment and treatment.boards_run == Direction.HORIZONTAL)

    def clean(self):
        cleaned = super().clean()
        for place in self.places:
            value = self.data.get(self.add_prefix(place.key), "")
            for fit in place.unfit:
                if value == str(fit.build_up.pk):
                    self.errors.pop(place.key, None)
                    self.add_error(place.key, f"{fit.build_up.name} does not fit here: {fit.why_not}.")
        return cleaned

    @property
    def rows(self) -> list[dict]:
        """For the table: each place where something can be chosen, or is, with its bound fields."""
        return [
            {
                "place": place,
                "build_up": self[place.key],
                "out_of_place": self.out_of_place.get(place.key, ""),
                "across": self[f"{place.key}-across"] if place.may_lie_across else None,
            }
            for place in self.places
            if _may_be_built(place) or self.out_of_place.get(place.key) or self[place.key].errors
        ]

    @property
    def left_alone(self) -> list[Place]:
        """The places where there is nothing to choose."""
        asked = [row["place"] for row in self.rows]
        return [place for place in self.places if place not in asked]

    def choices_by_place(self) -> tuple[dict[int, int], dict[int, int], dict[int, int], dict[int, str]]:
        """Build-up ids by patch, opening and side path, and the boards' run by patch: of a form that was sent what its valid
        fields choose, of another what is saved."""
        on_patch, on_opening, on_path, runs = {}, {}, {}, {}
        for place in self.places:
            chosen = self._value(place.key)
            if not chosen:
                continue
            if place.patch:
                on_patch[place.patch.pk] = int(chosen)
                across = place.may_lie_across and self._value(f"{place.key}-across")
                runs[place.patch.pk] = Direction.HORIZONTAL if across else Direction.VERTICAL
            elif place.opening:
                on_opening[place.opening.pk] = int(chosen)
            else:
                on_path[place.side_path.pk] = int(chosen)
        return on_patch, on_opening, on_path, runs

    def _value(self, key: str):
        return self.cleaned_data.get(key) if self.is_bound else self.initial.get(key)


def choices_with(build_ups: dict, ids: dict[int, int], runs: dict[int, str] | None = None) -> dict[int, Choice]:
    """Choices by place id from build-up ids, as `Inputs` wants them."""
    runs = runs or {}
    return {
        place: Choice(build_up=build_ups[build_up], boards_run=runs.get(place, Direction.VERTICAL))
        for place, build_up in ids.items()
        if build_up in build_ups
    }


def _may_be_built(place: Place) -> bool:
    """Whether the survey gives room for a lining; the reasons why none of the catalogue fits are then worth reading."""
    return bool(place.fits) and (place.patch is None or place.patch.depth_limit_mm is not None)


def _choices(place: Place) -> list:
    fitting = [(b.pk, f"{b.name} ({b.depth_mm.normalize():f} mm)" if b.depth_mm else b.name) for b in place.fitting]
    choices: list = [("", "Leave as it is"), *fitting]
    if place.unfit:
        unfit = [(f"no-{fit.build_up.pk}", f"{fit.build_up.name}: {fit.why_not}") for fit in place.unfit]
        choices.append(("Does not fit here", unfit))
    return choices
