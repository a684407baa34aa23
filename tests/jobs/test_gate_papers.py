"""The paper of a caution: kept with it, for the office alone, and never a clearance by itself."""

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from contractor.jobs.models import Gate
from contractor.jobs.services import job_create
from tests.factories import PropertyFactory

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj\nendobj\ntrailer\n%%EOF\n"


@pytest.fixture
def job():
    return job_create(property=PropertyFactory(), by=None, title="Wall")


def page(job):
    return reverse("jobs:gate", args=[job.number, "asbestos"])


def paper(job):
    return reverse("jobs:gate-paper", args=[job.number, "asbestos"])


def settle(office, job, **changes):
    return office.post(page(job), {"need": "needed", **changes})


def gate(job):
    return job.gates.get(kind="asbestos")


def test_it_is_kept_and_handed_out_to_be_saved(office, job):
    settle(office, job, paper=SimpleUploadedFile("Survey 12.pdf", PDF))
    response = office.get(paper(job))
    assert b"".join(response.streaming_content) == PDF and response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == 'attachment; filename="Survey 12.pdf"'
    assert response["X-Content-Type-Options"] == "nosniff" and "Survey 12.pdf" in office.get(page(job)).content.decode()


def test_a_paper_alone_clears_nothing_and_serves_as_evidence_with_a_name_and_a_day(office, job):
    settle(office, job, paper=SimpleUploadedFile("a.pdf", PDF))
    assert gate(job).is_open
    settle(office, job, cleared_by="A. Surveyor, accredited", cleared_on=timezone.localdate().isoformat())
    assert gate(job).paper and not gate(job).is_open


def test_another_takes_its_place_and_it_can_be_taken_away(office, job, django_capture_on_commit_callbacks):
    settle(office, job, paper=SimpleUploadedFile("a.pdf", PDF))
    first = gate(job).paper.name
    with django_capture_on_commit_callbacks(execute=True):
        settle(office, job, paper=SimpleUploadedFile("b.pdf", PDF))
    assert not default_storage.exists(first) and gate(job).paper_name == "b.pdf"
    second = gate(job).paper.name
    with django_capture_on_commit_callbacks(execute=True):
        settle(office, job, drop_paper="on")
    assert not gate(job).paper and not default_storage.exists(second)
    assert office.get(paper(job)).status_code == 404


def test_what_is_no_paper_is_refused_beside_its_field(office, job):
    response = settle(office, job, paper=SimpleUploadedFile("a.pdf", b"<script>"), evidence="Report 12")
    assert response.context["form"].errors["paper"] and "Report 12" in response.content.decode()
    assert not gate(job).paper


@pytest.mark.parametrize("role", ["fitter", "stranger"])
def test_nobody_else_opens_it(request, job, office, role):
    settle(office, job, paper=SimpleUploadedFile("a.pdf", PDF))
    assert request.getfixturevalue(role).get(paper(job)).status_code == (403 if role == "fitter" else 302)


def test_not_needed_against_what_is_known_is_pointed_out(office, job):
    office.post(page(job), {"need": "not_needed", "evidence": "They say so"})
    assert gate(job).need == Gate.Need.NOT_NEEDED
    assert "Look again" in office.get(job.get_absolute_url()).content.decode()
