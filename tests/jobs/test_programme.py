"""Visits: booked, refused while a caution is open, clashes said; the diary of four weeks."""

from datetime import date, time, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from contractor.jobs.models import Job, Visit
from contractor.jobs.selectors import clashes_of
from contractor.jobs.selectors import diary as diary_of
from contractor.jobs.services import visit_book, visit_update, visits_book
from contractor.jobs.thread import thread_for
from tests.factories import JobFactory, UserFactory, VisitFactory

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 2)


def page(response) -> str:
    return response.content.decode()


def book(job, purpose="fitting", on_date=MONDAY, people=(), **more):
    return visit_book(job=job, by=None, purpose=purpose, on_date=on_date, starts_at=time(8), people=people, **more)


def test_fitting_is_refused_while_a_caution_is_open_and_each_is_named(settle):
    job = JobFactory(stage="accepted")
    settle(job, "structure", "flue", "ventilation", "fire", "consent")
    with pytest.raises(ValidationError) as refused:
        book(job)
    said = refused.value.message_dict["purpose"]
    assert said[0] == "Work cannot be booked yet."
    assert [s.split(" is ")[0] for s in said[1:]] == ["Asbestos", "Electrics"]
    assert "asbestos surveyor" in said[1] and "registered electrician" in said[2]
    assert not Visit.objects.exists()


def test_a_survey_needs_no_caution_settled_and_moves_the_enquiry_on():
    job = JobFactory()
    book(job, "survey")
    assert Job.objects.get(pk=job.pk).stage == "survey_booked"


def test_fitting_is_booked_once_all_is_settled_and_the_job_is_scheduled(ready_job):
    book(ready_job, people=[UserFactory()])
    assert Job.objects.get(pk=ready_job.pk).stage == "scheduled"
    assert ready_job.stage_changes.get().note == "Fitting put in the diary"


@pytest.mark.parametrize("stage", ["on_hold", "lost", "closed"])
def test_no_visit_on_a_job_that_is_stopped(stage):
    with pytest.raises(ValidationError, match="Move it on before booking"):
        book(JobFactory(stage=stage), "survey")


def test_a_survey_does_not_turn_into_fitting_by_being_edited():
    job = JobFactory()
    visit = book(job, "survey")
    with pytest.raises(ValidationError):
        visit_update(visit=visit, by=None, people=[], purpose="fitting")
    visit.refresh_from_db()
    assert visit.purpose == "survey"


@pytest.mark.parametrize(
    ("first", "days", "expected"),
    [
        (MONDAY, 1, [2]),
        (MONDAY, 6, [2, 3, 4, 5, 6, 9]),
        (date(2026, 3, 6), 2, [6, 9]),
        (date(2026, 3, 7), 2, [7, 9]),  # a Saturday asked for is kept
    ],
)
def test_working_days_run_from_monday_to_friday(ready_job, first, days, expected):
    visits = visits_book(
        working_days=days, job=ready_job, by=None, purpose="fitting", on_date=first, starts_at=time(8), people=[]
    )
    assert [v.on_date.day for v in visits] == expected


def test_when_one_day_is_refused_none_is_booked():
    job = JobFactory(stage="accepted")
    with pytest.raises(ValidationError):
        visits_book(working_days=3, job=job, by=None, purpose="fitting", on_date=MONDAY, starts_at=time(8), people=[])
    assert not Visit.objects.exists()


def test_a_person_sent_to_two_jobs_on_a_day_is_a_clash():
    jo, kit = UserFactory(first_name="Jo", last_name="Fell"), UserFactory()
    here = VisitFactory(on_date=MONDAY, people=[jo, kit])
    assert clashes_of(here) == []
    VisitFactory(job=here.job, on_date=MONDAY, people=[jo])  # the same job twice is none
    VisitFactory(on_date=MONDAY + timedelta(days=1), people=[jo])  # nor another day
    assert clashes_of(here) == []
    there = VisitFactory(on_date=MONDAY, starts_at=time(13, 30), people=[jo])
    assert clashes_of(here) == [f"Jo Fell also goes to job {there.job.number} that day, from 13:30."]


def form(person, **change):
    day = timezone.localdate() + timedelta(days=7)
    day += timedelta(days=-day.weekday())  # a Monday after today
    values = {"purpose": "fitting", "on_date": day.isoformat(), "working_days": "2", "starts_at": "08:00"}
    return values | {"people": [person.pk], "note": "Bring the lift"} | change


def test_booking_through_the_form_warns_of_a_clash(office, ready_job):
    jo = UserFactory(first_name="Jo", last_name="Fell")
    asked = form(jo)
    VisitFactory(on_date=date.fromisoformat(asked["on_date"]), people=[jo])
    response = office.post(reverse("jobs:visit-new", args=[ready_job.number]), asked, follow=True)
    assert ready_job.visits.count() == 2
    assert "2 days are booked" in page(response) and "Jo Fell also goes to job" in page(response)


def test_a_refused_booking_keeps_what_was_typed(office):
    job = JobFactory(stage="accepted")
    response = office.post(reverse("jobs:visit-new", args=[job.number]), form(office.user))
    text = page(response)
    assert response.status_code == 200
    assert "Work cannot be booked yet" in text and "accredited asbestos surveyor" in text
    assert 'value="Bring the lift"' in text and f'value="{office.user.pk}"' in text and "checked" in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"people": []}, "Tick at least one person"),
        ({"on_date": "2020-01-06"}, "That day is past"),
        ({"on_date": "the sixth"}, "Enter a valid date"),
        ({"working_days": "0"}, "greater than or equal to 1"),
    ],
)
def test_mistakes_are_said_beside_their_fields(office, ready_job, change, words):
    response = office.post(reverse("jobs:visit-new", args=[ready_job.number]), form(office.user, **change))
    assert response.status_code == 200
    assert words in page(response)
    assert not ready_job.visits.exists()


def test_a_visit_is_changed_and_taken_out(office, ready_job):
    visit = book(ready_job, people=[UserFactory(is_active=False)])
    address = reverse("jobs:visit", args=[ready_job.number, visit.pk])
    assert office.post(address, form(office.user, on_date="2026-03-09", starts_at="09:30")).status_code == 302
    visit.refresh_from_db()
    assert (visit.on_date, visit.starts_at, list(visit.people.all())) == (date(2026, 3, 9), time(9, 30), [office.user])
    office.post(reverse("jobs:visit-delete", args=[ready_job.number, visit.pk]))
    assert not ready_job.visits.exists()


def test_someone_who_left_stays_on_a_visit_that_is_edited(office, ready_job):
    gone = UserFactory(is_active=False)
    visit = book(ready_job, people=[gone])
    text = page(office.get(reverse("jobs:visit", args=[ready_job.number, visit.pk])))
    assert gone.display_name in text
    assert gone.display_name not in page(office.get(reverse("jobs:visit-new", args=[ready_job.number])))


def test_a_visit_of_another_job_is_not_found(office):
    visit = VisitFactory()
    assert office.get(reverse("jobs:visit", args=[JobFactory().number, visit.pk])).status_code == 404


def test_the_thread_tells_where_the_programme_is(ready_job):
    def step(job):
        return next((s.state, s.why) for s in thread_for(job, "enquiry") if s.key == "programme")

    assert step(JobFactory()) == ("waiting", "7 cautions open")
    assert step(JobFactory(stage="accepted")) == ("now", "7 cautions open")
    assert step(ready_job) == ("now", "Book the days")
    book(ready_job)
    assert step(ready_job) == ("done", "Fitting from 2 Mar")


def test_the_diary_has_four_weeks_of_working_days_and_booked_weekends():
    VisitFactory(on_date=date(2026, 3, 7))
    weeks = diary_of(MONDAY, 28)
    assert [w["monday"].day for w in weeks] == [2, 9, 16, 23]
    assert [len(w["days"]) for w in weeks] == [6, 5, 5, 5]


def test_the_diary_page_says_who_goes_where_and_marks_who_is_torn(office):
    today = timezone.localdate()
    jo = UserFactory(first_name="Jo", last_name="Fell")
    VisitFactory(on_date=today, people=[jo], job__title="Nursery ceiling")
    assert "Nursery ceiling" in page(office.get(reverse("jobs:diary")))
    assert "Also elsewhere" not in page(office.get(reverse("jobs:diary")))
    VisitFactory(on_date=today, people=[jo])
    assert page(office.get(reverse("jobs:diary"))).count("Also elsewhere that day") == 2


@pytest.mark.parametrize("asked", ["2026-03-02", "nonsense", "2026-13-45", "0001-01-01", "9999-12-31", ""])
def test_the_diary_opens_at_any_day_asked_for(office, asked):
    response = office.get(reverse("jobs:diary"), {"from": asked})
    assert response.status_code == 200
    assert ("2 Mar 2026 to 29 Mar 2026" in page(response)) == (asked == "2026-03-02")


# Session, user, visits, their people, days off.
DIARY_QUERIES = 5


def test_diary_queries_do_not_grow(office, count_queries):
    VisitFactory(people=[office.user])
    one = count_queries(office, reverse("jobs:diary"))
    VisitFactory.create_batch(2, people=[office.user, UserFactory()])
    assert one == count_queries(office, reverse("jobs:diary")) == DIARY_QUERIES


def test_programme_queries_do_not_grow(office, ready_job, count_queries):
    address = reverse("jobs:programme", args=[ready_job.number])
    book(ready_job, people=[office.user])
    one = count_queries(office, address)
    for day in (9, 10):
        book(ready_job, on_date=date(2026, 3, day), people=[office.user, UserFactory()])
    assert count_queries(office, address) == one
