"""Cautions: which are needed by the home's facts, how they are settled, and what they stop.

The rules (asbestos before 2000, consents by tenure and listing, fire in flats) are common practice.
"""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import AuditEntry
from contractor.jobs.cautions import EVERYDAY, GATE_TEXTS, cautions_for
from contractor.jobs.models import Gate
from contractor.jobs.selectors import gates_of, open_gates
from contractor.jobs.services import gate_update, job_create
from tests.factories import JobFactory, PropertyFactory

pytestmark = pytest.mark.django_db


def page(response) -> str:
    return response.content.decode()


def needed(**facts) -> set[str]:
    job = job_create(property=PropertyFactory(**facts), by=None, title="Wall")
    assert {g.need for g in job.gates.all()} <= {"needed", "unknown"}  # nothing is cleared by the software
    return set(job.gates.filter(need="needed").values_list("kind", flat=True))


MODERN = {"built": "2000_on", "tenure": "freehold", "kind": "semi"}


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        ({}, set()),
        ({"built": "1981_1999"}, {"asbestos"}),
        ({"built": "unknown"}, {"asbestos"}),
        ({"tenure": "leasehold"}, {"consent"}),
        ({"tenure": "tenant"}, {"consent"}),
        ({"tenure": "unknown"}, set()),
        ({"is_listed": True}, {"consent"}),
        ({"kind": "flat"}, {"fire"}),
        ({"kind": "conversion", "built": "pre_1919", "tenure": "leasehold"}, {"fire", "asbestos", "consent"}),
    ],
)
def test_the_homes_facts_make_gates_needed(facts, expected):
    assert needed(**(MODERN | facts)) == expected


def test_a_new_job_has_every_gate_open():
    job = job_create(property=PropertyFactory(**MODERN), by=None, title="Wall")
    assert [g.kind for g in open_gates(job)] == Gate.Kind.values


def test_a_job_that_lacks_a_gate_has_it_open():
    job = JobFactory()
    assert not job.gates.exists()
    assert [g.kind for g in open_gates(job)] == Gate.Kind.values
    assert not job.gates.exists()  # reading writes nothing


def test_each_gate_names_a_caution_and_who_is_competent():
    assert set(GATE_TEXTS) == set(Gate.Kind.values)
    for text, who in GATE_TEXTS.values():
        assert len(text) > 60 and len(who) > 20


def test_cautions_leave_out_what_is_not_needed_and_end_with_the_everyday_ones():
    job = JobFactory()
    gate_update(job=job, kind="flue", by=None, need="not_needed", evidence="No flue or appliance, seen on survey")
    cautions = cautions_for(job)
    assert "flue" not in [c.kind for c in cautions]
    assert cautions[0].kind == "asbestos" and cautions[0].is_open and "surveyor" in cautions[0].who
    assert cautions[-len(EVERYDAY) :] == EVERYDAY
    assert {"dust", "lifting", "solvents"} <= {c.kind for c in EVERYDAY}


def test_cautions_take_one_query(django_assert_num_queries):
    job = JobFactory()
    with django_assert_num_queries(1):
        cautions_for(job)


CLEARED = {
    "need": "needed",
    "evidence": "Survey report 12 in the folder",
    "cleared_by": "R Hale, surveyor",
    "cleared_on": "2026-03-02",
}


@pytest.mark.parametrize("missing", ["evidence", "cleared_by", "cleared_on"])
def test_a_needed_gate_stays_open_until_everything_is_written_down(office, missing):
    job = JobFactory()
    office.post(reverse("jobs:gate", args=[job.number, "asbestos"]), CLEARED | {missing: ""})
    assert gates_of(job)[0].is_open
    office.post(reverse("jobs:gate", args=[job.number, "asbestos"]), CLEARED)
    assert not gates_of(job)[0].is_open
    assert AuditEntry.objects.filter(action="Caution updated", user=office.user).count() == 2


def test_not_needed_asks_how_that_is_known(office):
    job = JobFactory()
    response = office.post(
        reverse("jobs:gate", args=[job.number, "flue"]), {"need": "not_needed", "cleared_by": "Kept name"}
    )
    assert response.status_code == 200
    assert "how that is known" in page(response) and 'value="Kept name"' in page(response)
    assert len(open_gates(job)) == len(gates_of(job))


def test_not_needed_without_a_reason_is_refused_below_the_form_too():
    with pytest.raises(ValidationError):
        gate_update(job=JobFactory(), kind="flue", by=None, need="not_needed")


def test_a_day_to_come_clears_nothing(office):
    job = JobFactory()
    tomorrow = timezone.localdate() + timedelta(days=1)
    response = office.post(
        reverse("jobs:gate", args=[job.number, "asbestos"]), CLEARED | {"cleared_on": tomorrow.isoformat()}
    )
    assert "still to come" in page(response)
    assert gates_of(job)[0].is_open


def test_the_gate_page_says_why_and_who(office):
    job = JobFactory(property__built="pre_1919")
    text = page(office.get(reverse("jobs:gate", args=[job.number, "asbestos"])))
    assert "built before 2000" in text and "licensed asbestos contractor" in text


def test_an_unknown_caution_is_not_found(office):
    assert office.get(reverse("jobs:gate", args=[JobFactory().number, "dragons"])).status_code == 404
