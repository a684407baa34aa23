"""The job's page: noises with and without htmx, and what it costs."""

import pytest
from django.urls import reverse

from contractor.jobs.models import NoiseHeard
from contractor.jobs.services import noise_save, stage_change
from contractor.jobs.thread import thread_for
from tests.factories import JobFactory, VisitFactory

NOISE = {
    "kind": "television",
    "direction": "in",
    "comes_from": "Next door",
    "heard_in": "Study",
    "times": "Evenings",
    "words": "some",
}
HTMX = {"hx-request": "true", "hx-target": "noises"}


@pytest.fixture
def job(db):
    return JobFactory()


def page(response) -> str:
    return response.content.decode()


def test_a_noise_is_added_without_javascript(office, job):
    form = page(office.get(reverse("jobs:noise-new", args=[job.number])))
    assert "<html" in form and 'name="comes_from"' in form
    response = office.post(reverse("jobs:noise-new", args=[job.number]), NOISE)
    assert response.url == f"/jobs/{job.number}/#noises"
    assert "Next door" in page(office.get(response.url))


def test_with_htmx_only_the_region_of_noises_comes(office, job):
    address = reverse("jobs:noise-new", args=[job.number])
    form = page(office.get(address, headers=HTMX))
    assert 'id="noises"' in form and 'name="comes_from"' in form and "<html" not in form

    after = page(office.post(address, NOISE, headers=HTMX))
    assert "Next door" in after and 'name="comes_from"' not in after and "<html" not in after


def test_a_bad_noise_is_refused_in_place(office, job):
    response = office.post(reverse("jobs:noise-new", args=[job.number]), NOISE | {"kind": ""}, headers=HTMX)
    assert response.status_code == 200
    assert "This field is required" in page(response) and 'value="Next door"' in page(response)
    assert not job.noises.exists()


def test_a_noise_is_changed_and_taken_off(office, job):
    noise = noise_save(job=job, kind="dog")
    address = reverse("jobs:noise", args=[job.number, noise.pk])
    assert "Edit: Dog" in page(office.get(address))
    office.post(address, NOISE)
    noise.refresh_from_db()
    assert noise.kind == NoiseHeard.Kind.TELEVISION

    office.post(reverse("jobs:noise-delete", args=[job.number, noise.pk]))
    assert not job.noises.exists()


def test_a_noise_of_another_job_is_not_found(office, job):
    other = noise_save(job=JobFactory(), kind="dog")
    for name in ("jobs:noise", "jobs:noise-delete"):
        assert office.post(reverse(name, args=[job.number, other.pk]), NOISE).status_code == 404
    assert NoiseHeard.objects.filter(kind="dog").count() == 1


def test_an_unknown_job_is_not_found(office):
    assert office.get(reverse("jobs:job", args=[404404])).status_code == 404


def test_the_thread_tells_where_the_enquiry_is(office, job):
    assert steps(job)["enquiry"] == ("now", "Note what is heard")
    noise_save(job=job, kind="dog")
    assert steps(job)["enquiry"] == ("done", "1 noise noted")


def steps(job) -> dict:
    return {s.key: (s.state, s.why) for s in thread_for(job, "enquiry")}


def test_job_page_queries_do_not_grow(office, job, count_queries):
    def more():
        noise_save(job=job, kind="dog")
        stage_change(job=job, to_stage="on_hold", by=office.user)
        stage_change(job=job, to_stage="enquiry", by=office.user)
        VisitFactory(job=job, purpose="survey", people=[office.user])

    address = reverse("jobs:job", args=[job.number])
    more()
    one = count_queries(office, address)
    more()
    more()
    assert count_queries(office, address) == one
