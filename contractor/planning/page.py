"""What the plan page shows of a plan, put into words and rows."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from contractor.accounts.models import Firm
from contractor.jobs.models import NoiseHeard
from contractor.planning.asking import CHANCES
from contractor.planning.front import Point, front_drawing, points_of
from contractor.planning.options import three_of
from contractor.planning.selectors import Basis, RoomPlan
from contractor.rooms.models import PlanOption
from contractor.rooms.planning.bridge import NUMBERS, TIMES, WORDS, Asked, SetOfTreatments
from contractor.rooms.planning.candidates import Refused
from contractor.rooms.selectors_schemes import Place

NO_DEPTH = "The survey gives no depth here, so nothing is built."
HEARD_AS = {
    NoiseHeard.Kind.SPEECH: "speech_normal",
    NoiseHeard.Kind.TELEVISION: "television",
    NoiseHeard.Kind.MUSIC: "music_bass",
    NoiseHeard.Kind.INSTRUMENT: "music_bass",
}
NOISE_NAMES = {key.partition(":")[2]: label.partition(":")[0] for key, label in WORDS.items()}


@dataclass(frozen=True, kw_only=True)
class PlaceRow:
    """`why_nothing` says in one sentence what keeps everything away, where it is the same for all."""

    place: Place
    offers: list[dict]
    refused: list[Refused]
    why_nothing: str = ""


def shown(found: RoomPlan, basis: Basis, noises: Sequence[NoiseHeard]) -> dict:
    plan = found.plan
    noise = main_noise(plan.asked, noises)
    three = three_of(plan)
    points = points_of(plan, list(three.values()))
    labels = {chosen.cost: PlanOption(option).label for option, chosen in three.items()}
    marks = {p.letter: labels[p.chosen.cost] for p in points if p.chosen.cost in labels}
    return {
        "plan": plan,
        "asked_in_words": in_words(plan.asked),
        "chance_in_words": next((said for key, said in CHANCES.items() if float(key) == plan.asked.chance), "").lower(),
        "noise": f"{NOISE_NAMES[noise]}, {TIMES[plan.asked.background]}",
        "points": [_row(point, marks, noise, basis) for point in points],
        "drawing": front_drawing(
            points, plan, noise=noise, prices=[price_of(p.chosen, basis.spent) for p in points], marks=marks
        ),
        "options": [(PlanOption(option).label, chosen) for option, chosen in three.items()],
        "answer": _row(Point("", plan.cheapest or plan.best), {}, noise, basis),
        "best": _row(Point("", plan.best), {}, noise, basis),
        "bound": None if plan.bound is None else plan.bound + basis.spent,
        "spent": basis.spent,
        "left_by": plan.left_by[:3],
        "place_rows": _places(found, basis.firm),
    }


def price_of(chosen: SetOfTreatments, spent: Decimal) -> Decimal:
    """With the lines by hand that stand in every option; doing nothing costs nothing."""
    return chosen.cost + spent if chosen.built else Decimal(0)


def main_noise(asked: Asked, noises: Sequence[NoiseHeard]) -> str:
    told = (HEARD_AS[noise.kind] for noise in noises if noise.kind in HEARD_AS)
    return asked.source or next(told, "speech_normal")


def in_words(asked: Asked) -> str:
    if asked.is_number:
        return f"{NUMBERS[asked.kind].replace(', for talk and television', '').replace(', for bass and traffic', '')} of at least {asked.target_db:g} dB"
    return f"{WORDS[f'{asked.kind}:{asked.source}'].replace(':', '')} {TIMES[asked.background]}"


def days_of(hours: float, firm: Firm) -> Decimal:
    """Whole days of the crew; a part of a day counts."""
    return (Decimal(str(hours)) / (firm.crew_size * firm.day_hours)).to_integral_value(rounding=ROUND_CEILING)


def summary_of(chosen: SetOfTreatments, asked: Asked, noise: str) -> str:
    """An option in a sentence or two, for the homeowner."""
    built = "; ".join(
        f"{p.candidate.place.name}: {p.candidate.choice.build_up.name.lower()}" for p in chosen.built.values()
    )
    heard = chosen.heard.get(noise, "")
    return f"{built}. {NOISE_NAMES[noise]} {TIMES[asked.background]}: {heard}, as far as can be predicted."


def _row(point: Point, marks: dict[str, str], noise: str, basis: Basis) -> dict:
    chosen = point.chosen
    return {
        "letter": point.letter,
        "option": marks.get(point.letter, ""),
        "set": chosen,
        "cost": price_of(chosen, basis.spent),
        "heard": chosen.heard.get(noise, ""),
        "days": days_of(chosen.hours, basis.firm),
        "built": [(p.candidate.place.name, p.candidate.choice.build_up.name) for p in chosen.built.values()],
    }


def _places(found: RoomPlan, firm: Firm) -> list[PlaceRow]:
    unpriced = {(u.candidate.place.key, u.candidate.name): u.reason for u in found.unpriced}
    rows = []
    for place in found.offered.places:
        offers = [
            {
                "build_up": p.candidate.choice.build_up,
                "candidate": p.candidate,
                "cost": p.cost,
                "days": round(p.hours / float(firm.crew_size * firm.day_hours), 1),
                "added_kg_m2": round(p.candidate.adds_kg_m2, 1),
                "gain": found.gains[p.candidate.place.key, p.candidate.name],
            }
            for p in found.priced
            if p.candidate.place.key == place.key
        ]
        refused = [r for r in found.offered.refused if r.place.key == place.key]
        refused += [
            Refused(place=place, build_up=c.choice.build_up, reason=unpriced[place.key, c.name])
            for c in found.offered.candidates
            if (place.key, c.name) in unpriced and c.place.key == place.key
        ]
        why_nothing = "" if offers or (place.patch and place.patch.depth_limit_mm) else NO_DEPTH
        rows.append(
            PlaceRow(
                place=place,
                offers=sorted(offers, key=lambda o: o["cost"]),
                refused=refused,
                why_nothing=why_nothing if refused and place.patch else "",
            )
        )
    return rows
