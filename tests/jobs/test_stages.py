"""Which stage follows which. The order is the trade's usual one (common practice)."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from contractor.accounts.models import AuditEntry
from contractor.jobs.models import Job, Stage
from contractor.jobs.services import stage_change
from contractor.jobs.stages import stages_by_hand
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db


def page(response) -> str:
    return response.content.decode()


def test_a_job_goes_all_the_way(settle):
    job = JobFactory()
    settle(job)
    way = ["survey_booked", "surveyed", "sent", "accepted", "scheduled", "on_site", "complete", "closed"]
    for stage in way:
        stage_change(job=job, to_stage=stage)
    assert Job.objects.get(pk=job.pk).stage == "closed"
    assert list(job.stage_changes.values_list("from_stage", "to_stage")) == list(
        zip(["enquiry", *way], way, strict=False)
    )


@pytest.mark.parametrize(
    ("from_stage", "to_stage"),
    [
        ("enquiry", "scheduled"),
        ("enquiry", "on_site"),
        ("sent", "complete"),
        ("on_site", "sent"),
        ("complete", "accepted"),
        ("closed", "lost"),
        ("scheduled", "sent"),
    ],
)
def test_a_step_the_table_lacks_is_refused_with_the_reason(from_stage, to_stage):
    job = JobFactory(stage=from_stage)
    with pytest.raises(ValidationError) as refused:
        stage_change(job=job, to_stage=to_stage)
    assert f"“{Stage(to_stage).label}”" in refused.value.messages[0]
    assert "From here:" in refused.value.messages[0]
    assert Job.objects.get(pk=job.pk).stage == from_stage
    assert not job.stage_changes.exists()


def test_to_where_it_stands_nothing_happens():
    job = JobFactory(stage="sent")
    stage_change(job=job, to_stage="sent")
    assert not job.stage_changes.exists()


@pytest.mark.parametrize("stage", ["enquiry", "survey_booked", "surveyed", "sent", "accepted", "on_hold", "lost"])
def test_a_quote_can_be_sent_and_accepted_until_work_is_scheduled(stage):
    for event in ("sent", "accepted"):
        job = JobFactory(stage=stage)
        assert stage_change(job=job, to_stage=event).stage == event


def test_nobody_picks_sent_or_accepted_by_hand():
    for stage in ("enquiry", "survey_booked", "surveyed"):
        assert not {"sent", "accepted"} & set(stages_by_hand(JobFactory(stage=stage)))


def test_from_hold_a_job_goes_back_where_it_stood(settle):
    job = JobFactory(stage="accepted")
    stage_change(job=job, to_stage="on_hold")
    assert stages_by_hand(job) == ["accepted", "lost"]
    stage_change(job=job, to_stage="lost")
    assert stages_by_hand(job) == ["enquiry", "accepted"]
    assert stage_change(job=job, to_stage="accepted").stage == "accepted"


def test_work_is_not_scheduled_while_a_caution_is_open(settle):
    job = JobFactory(stage="accepted")
    settle(job, "asbestos", "structure", "flue", "electrics", "ventilation", "consent")
    with pytest.raises(ValidationError) as refused:
        stage_change(job=job, to_stage="scheduled")
    assert refused.value.message_dict["to_stage"][1].startswith("Fire is not yet known. Ask: ")
    settle(job, "fire")
    assert stage_change(job=job, to_stage="scheduled").stage == "scheduled"


def test_the_form_moves_the_job_and_the_record_says_who(office):
    job = JobFactory()
    response = office.post(
        reverse("jobs:stage", args=[job.number]), {"to_stage": "surveyed", "note": "Done on the call"}
    )
    assert response.status_code == 302
    change = job.stage_changes.get()
    assert (change.to_stage, change.by, change.note) == ("surveyed", office.user, "Done on the call")
    assert AuditEntry.objects.get(action="Stage changed").detail == {"stage": ["Enquiry", "Surveyed"]}


def test_losing_a_job_asks_why_and_keeps_the_choice(office):
    job = JobFactory()
    response = office.post(reverse("jobs:stage", args=[job.number]), {"to_stage": "lost", "note": ""})
    assert response.status_code == 200
    assert "Say why." in page(response)
    assert '<option value="lost" selected>' in page(response)


def test_a_form_gone_stale_is_told_why(office):
    job = JobFactory(stage="complete")
    response = office.post(reverse("jobs:stage", args=[job.number]), {"to_stage": "scheduled", "note": "kept note"})
    assert response.status_code == 200
    assert "“Scheduled” does not follow “Complete”" in page(response)
    assert 'value="kept note"' in page(response)
