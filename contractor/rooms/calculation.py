"""The kept prediction and take-off of a scheme: worked out again only when something it depends on has changed."""

from dataclasses import dataclass, field

from contractor.rooms.inputs import Inputs, fingerprint, gather
from contractor.rooms.models import Calculation, Scheme
from contractor.rooms.prediction.bridge import ENGINE_VERSION, CannotPredict, predict
from contractor.rooms.takeoff.document import take_off


@dataclass(frozen=True, kw_only=True)
class Predicted:
    """Predictions by room id as text, and what keeps other rooms from being predicted."""

    rooms: dict[str, dict] = field(default_factory=dict)
    problems: list[dict] = field(default_factory=list)


def calculate(*, scheme: Scheme) -> Calculation:
    """The scheme's calculation, up to date.

    Reads every input in a fixed number of queries and compares their fingerprint with the kept one. The work itself
    runs outside any transaction of its own; two requests at once do it twice and keep the same answer.
    """
    inputs = gather(scheme)
    mark = fingerprint(inputs, ENGINE_VERSION)
    kept = Calculation.objects.filter(scheme=scheme).first()
    if kept is not None and kept.fingerprint == mark:
        return kept
    predicted = predict_rooms(inputs)
    takeoff = take_off(inputs)
    takeoff["problems"] = predicted.problems + takeoff["problems"]
    fresh = {
        "fingerprint": mark,
        "engine_version": ENGINE_VERSION,
        "predictions": predicted.rooms,
        "takeoff": takeoff,
    }
    return Calculation.objects.update_or_create(scheme=scheme, defaults=fresh)[0]


def predict_rooms(inputs: Inputs) -> Predicted:
    """Every room that the survey says enough about; the others are told as problems."""
    predicted = Predicted()
    for room in inputs.rooms:
        try:
            predicted.rooms[str(room.pk)] = predict(inputs, room)
        except CannotPredict as problem:
            predicted.problems.append({"face": room.name, "text": str(problem)})
    return predicted
