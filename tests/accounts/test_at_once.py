"""Two people at the same moment: job numbers differ, and the firm keeps an owner."""

import pytest
from django.core.exceptions import ValidationError

from contractor.accounts.models import Role, User
from contractor.accounts.services import person_update, take_job_number
from tests.at_once import at_once
from tests.factories import UserFactory


@pytest.mark.django_db(transaction=True)
def test_eight_jobs_opened_at_once_get_eight_numbers():
    take_job_number()  # the firm's row exists before the rush
    assert sorted(at_once(*[take_job_number] * 8)) == list(range(2, 10))


@pytest.mark.django_db(transaction=True)
def test_two_owners_who_step_down_at_once_leave_one():
    owners = [UserFactory(role=Role.OWNER) for _ in range(2)]
    steps = [lambda o=o: person_update(person=o, by=o, role=Role.OFFICE) for o in owners]
    results = at_once(*steps, refusals=(ValidationError,))
    assert sum(isinstance(r, ValidationError) for r in results) == 1
    assert User.objects.filter(role=Role.OWNER).count() == 1
