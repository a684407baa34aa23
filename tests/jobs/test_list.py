"""The list of jobs: found by name, postcode and number; opened and edited."""

import pytest
from django.urls import reverse
from django.utils import timezone

from contractor.jobs.models import Gate, Job
from tests.factories import JobFactory, PropertyFactory, VisitFactory

LIST = "/jobs/"


def page(response) -> str:
    return response.content.decode()


@pytest.mark.parametrize("words", ["osier", "Ann Osier", "ZZ4 7QQ", "zz47qq", "4 7q", "2041", " 2041 "])
def test_a_job_is_found_by_name_postcode_or_number(office, words):
    JobFactory(number=2041, title="The one", property__customer__name="Ann Osier", property__postcode="ZZ4 7QQ")
    JobFactory(number=20410, title="Another", property__customer__name="B Reed", property__postcode="ZZ5 5ZZ")
    text = page(office.get(LIST, {"q": words}))
    assert "The one" in text and "Another" not in text


@pytest.mark.parametrize("words", ["9" * 40, "%", "'; --", "<b>", "²"])
def test_odd_words_find_nothing_and_harm_nothing(office, words):
    JobFactory(title="The one")
    response = office.get(LIST, {"q": words})
    assert response.status_code == 200
    assert "The one" not in page(response) and "No job is found" in page(response)
    assert "<b>" not in page(response)


def test_the_stage_filters_and_counts(office):
    JobFactory(title="Lost one", stage="lost")
    JobFactory.create_batch(2, title="New one")
    text = page(office.get(LIST, {"stage": "lost"}))
    assert "Lost one" in text and "New one" not in text
    assert "Enquiry (2)" in text and "Lost (1)" in text


def test_an_unknown_stage_is_ignored(office):
    JobFactory(title="The one")
    assert "The one" in page(office.get(LIST, {"stage": "no-such"}))


def test_typing_fetches_the_table_alone_and_going_back_the_page(office):
    JobFactory(title="The one")
    asking = {"hx-request": "true", "hx-target": "job-table"}
    assert "<html" not in page(office.get(LIST, headers=asking))
    assert "<html" in page(office.get(LIST, headers=asking | {"hx-history-restore-request": "true"}))


def test_twenty_five_to_a_page_and_the_search_goes_along(office):
    JobFactory.create_batch(26, property__customer__name="Osier")
    first = page(office.get(LIST, {"q": "osier"}))
    assert first.count('<th scope="row">') == 25
    assert "?q=osier&amp;page=2" in first
    assert page(office.get(LIST, {"q": "osier", "page": "2"})).count('<th scope="row">') == 1


def test_the_next_visit_is_shown_and_past_ones_are_not(office):
    today = timezone.localdate()
    job = JobFactory()
    VisitFactory(job=job, on_date=today - timezone.timedelta(days=3))
    assert 'Next visit"></td>' in page(office.get(LIST))
    VisitFactory(job=job, on_date=today + timezone.timedelta(days=400))
    assert str(today.year + 1) in page(office.get(LIST))


def test_an_empty_list_offers_the_first_step(office):
    assert "Open the first one" in page(office.get(LIST))


# Session, user, stage counts, number of jobs, jobs with customer, home and next visit.
LIST_QUERIES = 5
# Session, user, homes with customer.
CHOOSE_QUERIES = 3


def test_job_list_queries_do_not_grow(office, count_queries):
    JobFactory()
    one = count_queries(office, LIST)
    VisitFactory.create_batch(3)
    assert one == count_queries(office, LIST) == LIST_QUERIES


def test_choosing_a_home_costs_the_same_for_one_and_three(office, count_queries):
    PropertyFactory()
    one = count_queries(office, reverse("jobs:new"))
    PropertyFactory.create_batch(2)
    assert one == count_queries(office, reverse("jobs:new")) == CHOOSE_QUERIES


@pytest.mark.parametrize("words", ["osier", "zz47qq", "walk"])
def test_a_home_is_found_for_a_new_job(office, words):
    PropertyFactory(customer__name="Osier", postcode="ZZ4 7QQ", address_line_1="4 Mill Walk")
    PropertyFactory(customer__name="Reed")
    text = page(office.get(reverse("jobs:new"), {"home": words}))
    assert "Osier" in text and "Reed" not in text


NEW = {"title": "Box room wall", "wish": "Not to hear the alarm clock", "budget": "£4,500", "storey": "1", "notes": ""}


def test_a_new_job_takes_the_next_number_and_gets_its_gates(office):
    home = PropertyFactory()
    for expected in (1, 2):
        response = office.post(f"{reverse('jobs:new')}?property={home.pk}", NEW)
        assert response.url == reverse("jobs:job", args=[expected])
    job = Job.objects.get(number=1)
    assert (job.budget, job.storey, job.is_occupied, job.created_by) == (4500, 1, False, office.user)
    assert set(job.gates.values_list("kind", flat=True)) == set(Gate.Kind.values)


def test_a_job_without_title_keeps_what_was_typed(office):
    home = PropertyFactory()
    response = office.post(f"{reverse('jobs:new')}?property={home.pk}", NEW | {"title": "", "budget": "a lot"})
    text = page(response)
    assert response.status_code == 200
    assert "Not to hear the alarm clock" in text and 'value="a lot"' in text
    assert text.count('class="errorlist"') == 2
    assert not Job.objects.exists()


@pytest.mark.parametrize("home", ["999", "x"])
def test_a_job_at_no_home_is_not_found(office, home):
    assert office.get(reverse("jobs:new"), {"property": home}).status_code == 404


def test_editing_a_job(office):
    job = JobFactory()
    assert office.post(reverse("jobs:edit", args=[job.number]), NEW | {"is_occupied": "on"}).status_code == 302
    job.refresh_from_db()
    assert (job.title, job.is_occupied) == ("Box room wall", True)
