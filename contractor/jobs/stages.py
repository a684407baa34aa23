"""Which stage may follow which. One table, read by the service that changes stages and by the form that offers them."""

from contractor.jobs.models import Job, Stage
from contractor.jobs.selectors import stage_before_pause

S = Stage
BEFORE_WORK = {S.ENQUIRY, S.SURVEY_BOOKED, S.SURVEYED, S.SENT, S.ACCEPTED}

NEXT: dict[str, set[str]] = {
    S.ENQUIRY: {S.SURVEY_BOOKED, S.SURVEYED, S.ON_HOLD, S.LOST},
    S.SURVEY_BOOKED: {S.ENQUIRY, S.SURVEYED, S.ON_HOLD, S.LOST},
    S.SURVEYED: {S.SURVEY_BOOKED, S.ON_HOLD, S.LOST},
    S.SENT: {S.SURVEYED, S.ON_HOLD, S.LOST},
    S.ACCEPTED: {S.SCHEDULED, S.ON_HOLD, S.LOST},
    S.SCHEDULED: {S.ACCEPTED, S.ON_SITE, S.ON_HOLD, S.LOST},
    S.ON_SITE: {S.SCHEDULED, S.COMPLETE, S.ON_HOLD},
    S.COMPLETE: {S.ON_SITE, S.CLOSED},
    S.CLOSED: {S.COMPLETE},
    S.ON_HOLD: {S.LOST},
    S.LOST: {S.ENQUIRY},
}

# What sending a quote and the homeowner's answer do. Nobody picks these by hand.
BY_EVENT = {
    S.SENT: BEFORE_WORK | {S.ON_HOLD, S.LOST},
    S.ACCEPTED: BEFORE_WORK | {S.ON_HOLD, S.LOST},
}

NEEDS_GATES_CLEARED = {S.SCHEDULED, S.ON_SITE}


def stages_by_hand(job: Job) -> list[str]:
    """What the office may choose next, in the order of the stages. From a pause a job may go back where it stood."""
    allowed = set(NEXT[job.stage])
    if job.stage in (S.ON_HOLD, S.LOST):
        allowed.add(stage_before_pause(job) or S.ENQUIRY)
    return [stage for stage in S.values if stage in allowed]


def may_follow(job: Job, to_stage: str) -> bool:
    return job.stage in BY_EVENT.get(to_stage, ()) or to_stage in stages_by_hand(job)


def why_not(job: Job, to_stage: str) -> str:
    """Why the table has no such step, and which steps it has."""
    choices = ", ".join(f"“{Stage(s).label}”" for s in stages_by_hand(job))
    if to_stage in BY_EVENT and job.stage not in BY_EVENT[to_stage]:
        return (
            f"A job at “{job.get_stage_display()}” cannot go back to “{Stage(to_stage).label}”. From here: {choices}."
        )
    return f"“{Stage(to_stage).label}” does not follow “{job.get_stage_display()}”. From here: {choices}."
