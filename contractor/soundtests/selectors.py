"""Reads of sound tests, targets, and the prediction that stands beside a measurement."""

from dataclasses import dataclass
from uuid import UUID

from django.http import Http404

from contractor.jobs.models import Job
from contractor.quotes.models import Decision
from contractor.rooms.models import Calculation, Room
from contractor.soundtests.models import ReadingsFile, SoundTest, Target


@dataclass(frozen=True, kw_only=True)
class Predicted:
    """Predictions by room id as text, and in words where they come from."""

    rooms: dict[str, dict]
    said: str


def job_tests(job: Job) -> list[SoundTest]:
    return list(job.sound_tests.select_related("room").order_by("measured_on", "pk"))


def one_test(pk: int) -> SoundTest:
    """The test with its room, job, home and customer; Http404 where there is none."""
    try:
        return SoundTest.objects.select_related("room", "job__property__customer", "created_by").get(pk=pk)
    except SoundTest.DoesNotExist:
        raise Http404("There is no such sound test.") from None


def files_of(batch: UUID) -> list[ReadingsFile]:
    """The files read together; Http404 where there are none (any more)."""
    found = list(ReadingsFile.objects.select_related("job__property__customer").filter(batch=batch).order_by("pk"))
    if not found:
        raise Http404("These readings were made into a test already, or thrown away.")
    return found


def rooms_of(job: Job) -> list[Room]:
    return list(job.rooms.order_by("pk"))


def targets() -> list[Target]:
    return list(Target.objects.all())


def target_for(pk: int) -> Target:
    try:
        return Target.objects.get(pk=pk)
    except Target.DoesNotExist:
        raise Http404("There is no such target.") from None


def predicted_for(job: Job) -> Predicted:
    """What was promised: the accepted quote's frozen prediction, else the first option's as last worked out."""
    decision = (
        Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED)
        .select_related("revision")
        .order_by("-at")
        .first()
    )
    if decision:
        revision = decision.revision
        options = revision.internal.get("options", [])
        chosen = next((option for option in options if option["name"] == decision.option), None)
        if chosen:
            said = f"Predicted in quote {job.number}/{revision.number}, “{decision.option}”, which was accepted"
            return Predicted(rooms=chosen.get("predictions", {}), said=said)
    kept = Calculation.objects.filter(scheme__job=job).select_related("scheme").order_by("scheme__position").first()
    if kept:
        return Predicted(rooms=kept.predictions, said=f"Predicted for “{kept.scheme.name}”; nothing is accepted yet")
    return Predicted(rooms={}, said="")
