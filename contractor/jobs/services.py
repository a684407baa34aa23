"""What changes a job, its noises, gates, stage and visits. A refusal is a ValidationError that says why."""

from collections.abc import Iterable
from datetime import date, time
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record, take_job_number
from contractor.common.files import Paper, discard
from contractor.customers.models import Property
from contractor.jobs.cautions import reasons_for_need, who_for
from contractor.jobs.dates import next_working_day
from contractor.jobs.models import Gate, Job, NoiseHeard, Stage, StageChange, Visit
from contractor.jobs.selectors import closed_from, open_gates
from contractor.jobs.stages import NEEDS_GATES_CLEARED, may_follow, why_not


@transaction.atomic
def job_create(*, property: Property, by: User | None, **values) -> Job:
    """A job with the next number and one gate of each kind: needed where the home's facts say so, else not yet known."""
    job = Job(number=take_job_number(), property=property, created_by=by, **values)
    job.full_clean()
    job.save()
    needed = reasons_for_need(property)
    Gate.objects.bulk_create(
        Gate(job=job, kind=kind, need=Gate.Need.NEEDED if kind in needed else Gate.Need.UNKNOWN)
        for kind in Gate.Kind.values
    )
    record(user=by, action="Job opened", subject=job)
    return job


@transaction.atomic
def job_update(*, job: Job, by: User | None, **values) -> Job:
    for name, value in values.items():
        setattr(job, name, value)
    job.full_clean()
    job.save()
    record(user=by, action="Job changed", subject=job)
    return job


@transaction.atomic
def stage_change(*, job: Job, to_stage: str, by: User | None = None, note: str = "") -> Job:
    """Move a job and note it in its history. To where it stands already: nothing happens.

    ValidationError (field "to_stage") where the table of stages has no such step, or a gate is open before work.
    """
    held = Job.objects.select_for_update().get(pk=job.pk)
    if held.stage != to_stage:
        if not may_follow(held, to_stage):
            raise ValidationError({"to_stage": why_not(held, to_stage)})
        if to_stage in NEEDS_GATES_CLEARED:
            _refuse_while_gates_open(held, "to_stage")
        StageChange.objects.create(job=held, from_stage=held.stage, to_stage=to_stage, note=note, by=by)
        record(user=by, action="Stage changed", subject=held, stage=[held.get_stage_display(), Stage(to_stage).label])
        held.stage = to_stage
        held.save(update_fields=["stage"])
    job.stage = held.stage
    return job


def _refuse_while_gates_open(job: Job, field: str) -> None:
    """ValidationError that names each open gate and the kind of person to ask."""
    reasons = [
        f"{gate.get_kind_display()} is {'needed and not cleared' if gate.need == Gate.Need.NEEDED else 'not yet known'}. "
        f"Ask: {who_for(gate.kind)}"
        for gate in open_gates(job)
    ]
    if reasons:
        raise ValidationError({field: ["Work cannot be booked yet.", *reasons]})


@transaction.atomic
def noise_save(*, job: Job, noise: NoiseHeard | None = None, **values) -> NoiseHeard:
    """Add a noise to the job, or change the one given."""
    noise = noise or NoiseHeard(job=job)
    for name, value in values.items():
        setattr(noise, name, value)
    noise.full_clean()
    noise.save()
    return noise


@transaction.atomic
def noise_delete(*, noise: NoiseHeard) -> None:
    noise.delete()


@transaction.atomic
def gate_update(
    *,
    job: Job,
    kind: str,
    by: User | None,
    need: str,
    evidence: str = "",
    cleared_by: str = "",
    cleared_on=None,
    paper: Paper | None = None,
    drop_paper: bool = False,
) -> Gate:
    """Write what a competent person has said of a gate. The record keeps who wrote it.

    A new `paper` takes the place of the one there; without one it stays, unless it is to be dropped.
    """
    gate = Gate.objects.select_for_update().get_or_create(job=job, kind=kind)[0]
    gate.need, gate.evidence, gate.cleared_by, gate.cleared_on = need, evidence, cleared_by, cleared_on
    if need == Gate.Need.NOT_NEEDED and not evidence:
        raise ValidationError({"evidence": "Say why it is not needed, and how that is known."})
    if paper is not None or drop_paper:
        discard(gate.paper)
        gate.paper, gate.paper_name = "", ""
    if paper is not None:
        gate.paper.save(f"paper.{paper.ending}", paper.as_file, save=False)
        gate.paper_name = paper.name
    gate.full_clean()
    gate.save()
    record(
        user=by,
        action="Caution updated",
        subject=f"{gate.get_kind_display()}, {job}",
        need=gate.get_need_display(),
        evidence=evidence,
        paper=gate.paper_name,
        cleared_by=cleared_by,
        cleared_on=str(cleared_on or ""),
    )
    return gate


STOPPED = (Stage.ON_HOLD, Stage.LOST, Stage.CLOSED)


def _refuse_visit(job: Job, purpose: str) -> None:
    if job.stage in STOPPED:
        raise ValidationError(
            {"purpose": f"The job is “{job.get_stage_display()}”. Move it on before booking a visit."}
        )
    if purpose == Visit.Purpose.FITTING:
        _refuse_while_gates_open(job, "purpose")


@transaction.atomic
def visit_book(
    *,
    job: Job,
    by: User | None,
    purpose: str,
    on_date: date,
    starts_at: time,
    people: Iterable[User],
    hours: Decimal | None = None,
    note: str = "",
) -> Visit:
    """Put one day in the diary, and move the job on where that follows from it (survey booked, scheduled).

    ValidationError (field "purpose"): fitting while a gate is open, or any visit on a job that is stopped.
    """
    _refuse_visit(job, purpose)
    visit = Visit(job=job, purpose=purpose, on_date=on_date, starts_at=starts_at, hours=hours, note=note)
    visit.full_clean()
    visit.save()
    visit.people.set(people)
    record(user=by, action="Visit booked", subject=job, purpose=visit.get_purpose_display(), day=str(on_date))
    follows = {
        (Visit.Purpose.SURVEY, Stage.ENQUIRY): Stage.SURVEY_BOOKED,
        (Visit.Purpose.FITTING, Stage.ACCEPTED): Stage.SCHEDULED,
    }
    to_stage = follows.get((purpose, job.stage))
    if to_stage:
        stage_change(job=job, to_stage=to_stage, by=by, note=f"{visit.get_purpose_display()} put in the diary")
    return visit


@transaction.atomic
def visits_book(*, working_days: int, on_date: date, **values) -> list[Visit]:
    """The same visit on so many working days from `on_date` on (which may be a Saturday)."""
    days, closed = [on_date], closed_from(on_date)
    while len(days) < working_days:
        days.append(next_working_day(days[-1], closed))
    return [visit_book(on_date=day, **values) for day in days]


@transaction.atomic
def visit_update(*, visit: Visit, by: User | None, people: Iterable[User], **values) -> Visit:
    """Change a visit; refused for the same reasons as booking one."""
    for name, value in values.items():
        setattr(visit, name, value)
    visit.sequence = Visit.objects.select_for_update().get(pk=visit.pk).sequence + 1
    _refuse_visit(visit.job, visit.purpose)
    visit.full_clean()
    visit.save()
    visit.people.set(people)
    record(
        user=by, action="Visit changed", subject=visit.job, purpose=visit.get_purpose_display(), day=str(visit.on_date)
    )
    return visit


@transaction.atomic
def visit_delete(*, visit: Visit, by: User | None) -> None:
    record(
        user=by,
        action="Visit taken out",
        subject=visit.job,
        purpose=visit.get_purpose_display(),
        day=str(visit.on_date),
    )
    visit.delete()
