"""The kept prediction and take-off of a scheme: worked out again only when something it depends on has changed.

A page gets a take-off at once, a preview; a better one is worked out in the background (improving.py).
"""

from dataclasses import dataclass, field

from contractor.jobs.models import Job
from contractor.rooms import improving
from contractor.rooms.inputs import Inputs, fingerprint, gather, inputs_by_scheme, inputs_of
from contractor.rooms.models import Calculation, Scheme
from contractor.rooms.prediction.bridge import ENGINE_VERSION, CannotPredict, predict
from contractor.rooms.selectors_schemes import schemes_of
from contractor.rooms.takeoff.document import take_off
from contractor.rooms.takeoff.effort import PREVIEW


@dataclass(frozen=True, kw_only=True)
class Predicted:
    """Predictions by room id as text, and what keeps other rooms from being predicted."""

    rooms: dict[str, dict] = field(default_factory=dict)
    problems: list[dict] = field(default_factory=list)


def calculate(*, scheme: Scheme) -> Calculation:
    """The scheme's calculation, up to date; its take-off may be a preview ("is_preview").

    Reads every input in a fixed number of queries and compares their fingerprint with the kept one. The work itself
    runs outside any transaction of its own; two requests at once do it twice and keep the same answer.
    """
    kept = Calculation.objects.filter(scheme=scheme).first()
    return _up_to_date(scheme, gather(scheme), kept)


def calculate_all(*, job: Job) -> list[tuple[Scheme, Calculation]]:
    """Every option of a job in order with its calculation, up to date; read in as many queries for three as for one."""
    schemes = schemes_of(job)
    inputs = inputs_by_scheme(inputs_of(job), schemes)
    kept = {calculation.scheme_id: calculation for calculation in Calculation.objects.filter(scheme__job=job)}
    return [(scheme, _up_to_date(scheme, inputs[scheme.pk], kept.get(scheme.pk))) for scheme in schemes]


def calculate_well(*, scheme: Scheme) -> Calculation:
    """The calculation with its best take-off, however long that takes: for tasks and commands, never for a page."""
    kept = calculate(scheme=scheme)
    if kept.takeoff.get("is_preview"):
        improving.improve(scheme.pk)
        kept.refresh_from_db()
    return kept


def _up_to_date(scheme: Scheme, inputs: Inputs, kept: Calculation | None) -> Calculation:
    mark = fingerprint(inputs, ENGINE_VERSION)
    if kept is None or kept.fingerprint != mark:
        predicted = predict_rooms(inputs)
        takeoff = take_off(inputs, PREVIEW, earlier=kept.takeoff if kept else None)
        takeoff["problems"] = predicted.problems + takeoff["problems"]
        fresh = {
            "fingerprint": mark,
            "engine_version": ENGINE_VERSION,
            "predictions": predicted.rooms,
            "takeoff": takeoff,
        }
        kept = Calculation.objects.update_or_create(scheme=scheme, defaults=fresh)[0]
    if kept.takeoff.get("is_preview") and improving.ask(scheme, mark):
        kept.refresh_from_db()  # where tasks run at once it is better already
    return kept


def predict_rooms(inputs: Inputs) -> Predicted:
    """Every room that the survey says enough about; the others are told as problems."""
    predicted = Predicted()
    for room in inputs.rooms:
        try:
            predicted.rooms[str(room.pk)] = predict(inputs, room)
        except CannotPredict as problem:
            predicted.problems.append({"face": room.name, "text": str(problem)})
    return predicted
