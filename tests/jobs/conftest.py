from datetime import date

import pytest

from contractor.jobs.models import Gate
from contractor.jobs.services import gate_update
from tests.factories import JobFactory


@pytest.fixture
def settle():
    """settle(job, *kinds) writes those gates (all when none is named) down as cleared by someone competent."""

    def clear(job, *kinds):
        for kind in kinds or Gate.Kind.values:
            gate_update(
                job=job,
                kind=kind,
                by=None,
                need=Gate.Need.NEEDED,
                evidence="Report in the job's folder",
                cleared_by="Someone competent",
                cleared_on=date(2026, 3, 2),
            )

    return clear


@pytest.fixture
def ready_job(settle):
    """An accepted job with every gate settled."""
    job = JobFactory(stage="accepted")
    settle(job)
    return job
