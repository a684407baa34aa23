"""The question that the office puts to the plan: a target, how likely it is to be reached, and limits."""

from decimal import Decimal

from django import forms

from contractor.accounts.models import Firm
from contractor.common.forms import LengthField, MoneyField, UnitDecimalField
from contractor.jobs.models import Job, NoiseHeard
from contractor.rooms.models import Patch, Room, Surface
from contractor.rooms.planning.bridge import NUMBERS, TIMES, WORDS, Asked
from contractor.rooms.planning.candidates import Bounds
from contractor.rooms.selectors_schemes import patch_name

CHANCES = {"0.5": "Even", "0.6667": "2 in 3", "0.8": "4 in 5", "0.9": "9 in 10"}
USUAL_DB = {"weighted": 53, "weighted_c": 52, "weighted_ctr": 45}
# What is asked for of each noise, unless the office asks otherwise: talk not understood would be little to promise.
USUAL = {
    NoiseHeard.Kind.SPEECH: "inaudible:speech_normal",
    NoiseHeard.Kind.TELEVISION: "inaudible:television",
    NoiseHeard.Kind.MUSIC: "weighted_ctr",
    NoiseHeard.Kind.INSTRUMENT: "weighted_ctr",
}


class PlanForm(forms.Form):
    """Sent by GET, so that an address holds the question. Without an answer typed, `usual` is asked."""

    room = forms.ChoiceField(label="Room")
    goal = forms.ChoiceField(
        label="What is wanted",
        choices=[("In words", list(WORDS.items())), ("As a number", list(NUMBERS.items()))],
    )
    target_db = UnitDecimalField(
        label="At least", unit="dB", required=False, min_value=0, max_value=99, decimal_places=0, max_digits=3
    )
    background = forms.ChoiceField(label="When", choices=list(TIMES.items()))
    chance = forms.ChoiceField(label="With a chance of", choices=list(CHANCES.items()))
    budget = MoneyField(label="For at most, VAT and all", required=False)
    depth_mm = LengthField(label="No lining deeper than", required=False)
    area_lost_m2 = UnitDecimalField(
        label="Floor lost, at most", unit="m²", required=False, min_value=0, max_digits=6, decimal_places=2
    )
    days = UnitDecimalField(
        label="Days of work, at most", unit="days", required=False, min_value=0, max_digits=5, decimal_places=1
    )
    joists_kg_m2 = UnitDecimalField(
        label="Weight on joists, at most", unit="kg/m²", required=False, min_value=0, max_digits=5, decimal_places=1
    )

    def __init__(self, *args, rooms: list[Room], **kwargs):
        super().__init__(*args, **kwargs)
        self.rooms = {str(room.pk): room for room in rooms}
        self.fields["room"].choices = [(key, room.name) for key, room in self.rooms.items()]
        for name, field in self.fields.items():
            field.widget.attrs["width_class"] = "half" if name in ("goal",) else "third keep"
        self._ask_depths(self.rooms.get(self.data.get("room")) or rooms[0])

    def _ask_depths(self, room: Room) -> None:
        """A field for each patch of the room that the survey gives depth, named `depth_at_` and the patch's id."""
        self.patches: dict[str, Patch] = {
            f"depth_at_{patch.pk}": patch
            for surface in room.surfaces.all()
            if surface.role != Surface.Role.OTHER
            for patch in surface.patches.all()
            if patch.depth_limit_mm
        }
        for name, patch in self.patches.items():
            self.fields[name] = LengthField(
                label=f"Depth at {patch_name(patch)}",
                required=False,
                min_value=0,
                max_value=patch.depth_limit_mm,
                error_messages={
                    "max_value": "The survey gives %(limit_value)s mm here. To allow more, change the survey."
                },
            )

    @property
    def depth_rows(self) -> list[tuple[str, int, forms.BoundField]]:
        """Each place with the depth that the survey gives it, and the field."""
        return [(patch_name(patch), patch.depth_limit_mm, self[name]) for name, patch in self.patches.items()]

    @property
    def asks_depth_by_place(self) -> bool:
        """Whether a place has a limit of its own, or a mistake in it."""
        return any(field.value() or field.errors for _, _, field in self.depth_rows)

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("goal") in NUMBERS and cleaned.get("target_db") is None and "target_db" not in self.errors:
            self.add_error("target_db", "Give the number to be reached, in dB.")
        return cleaned

    def bounds(self) -> Bounds:
        joists = self.cleaned_data["joists_kg_m2"]
        given = {patch.pk: self.cleaned_data[name] for name, patch in self.patches.items()}
        return Bounds(
            depth_mm=self.cleaned_data["depth_mm"],
            depth_at_mm={pk: depth_mm for pk, depth_mm in given.items() if depth_mm is not None},
            joists_kg_m2=None if joists is None else float(joists),
        )

    def asked(self, *, firm: Firm, spent: Decimal) -> Asked:
        """`spent` is what every option costs besides the treatments: it comes off the budget."""
        given = self.cleaned_data
        kind, _, source = given["goal"].partition(":")
        area, days, budget = given["area_lost_m2"], given["days"], given["budget"]
        return Asked(
            kind=kind,
            target_db=None if given["target_db"] is None else float(given["target_db"]),
            source=source,
            background=given["background"],
            chance=float(given["chance"]),
            budget=None if budget is None else max(budget - spent, Decimal(0)),
            area_lost_m2=None if area is None else float(area),
            hours=None if days is None else float(days * firm.crew_size * firm.day_hours),
        )


def usual(job: Job, noises: list[NoiseHeard], room: Room) -> dict:
    """What is asked before anybody has typed: the noise told of first, the job's budget, 4 in 5."""
    goal = next((USUAL[noise.kind] for noise in noises if noise.kind in USUAL), "inaudible:speech_normal")
    return {
        "room": str(room.pk),
        "goal": goal,
        "target_db": USUAL_DB.get(goal, ""),
        "background": "night",
        "chance": "0.8",
        "budget": "" if job.budget is None else str(job.budget),
    }
