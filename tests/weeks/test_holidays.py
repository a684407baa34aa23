"""Bank holidays by rule, the days off that the office keeps, and what follows from them."""

from datetime import date, time

import pytest
from django.urls import reverse
from django.utils import timezone

from contractor.jobs.models import DayOff, Visit
from contractor.jobs.services import visits_book
from contractor.weeks.holidays import bank_holidays, easter_sunday
from tests.factories import JobFactory, UserFactory, VisitFactory

PUBLISHED = {  # the government's list for England and Wales (from memory), without days proclaimed once
    2022: "01-03 04-15 04-18 05-02 08-29 12-26 12-27",
    2026: "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28",
    2027: "01-01 03-26 03-29 05-03 05-31 08-30 12-27 12-28",
}


@pytest.mark.parametrize("year", PUBLISHED)
def test_bank_holidays_as_published(year):
    days = {f"{day:%m-%d}" for day, _ in bank_holidays(year)}
    # In 2022 the spring holiday was moved to June by proclamation: only the rule's own days are compared.
    assert set(PUBLISHED[year].split()) <= days and len(days) == 8


@pytest.mark.parametrize(
    ("year", "month", "day"),
    # Easter Sundays of almanacs, the earliest and latest that there can be among them (from memory).
    [(1818, 3, 22), (1943, 4, 25), (2000, 4, 23), (2008, 3, 23), (2011, 4, 24), (2024, 3, 31), (2026, 4, 5), (2038, 4, 25)],
)  # fmt: skip
def test_easter(year, month, day):
    assert easter_sunday(year) == date(year, month, day)


@pytest.mark.parametrize("year", range(2020, 2060))
def test_no_two_bank_holidays_share_a_day_and_all_are_weekdays(year):
    days = [day for day, _ in bank_holidays(year)]
    assert len(set(days)) == 8 and all(day.weekday() < 5 for day in days)


def said(response) -> str:
    return " ".join(response.content.decode().split())


pages = pytest.mark.django_db
URL = "weeks:days-off"


def day_ahead(count: int) -> date:
    return date(timezone.localdate().year + 1, 3, count)


@pages
def test_days_off_are_added_changed_and_taken_out(office):
    ada = UserFactory(first_name="Ada", last_name="Holt")
    assert "None is kept yet" in said(office.get(reverse(URL)))
    posted = {"person": ada.pk, "reason": "Leave", "first_day": day_ahead(1), "last_day": day_ahead(5)}
    office.post(reverse(URL), posted)
    off = DayOff.objects.get()
    assert off.days == [day_ahead(n) for n in range(1, 6)] and "Ada Holt" in said(office.get(reverse(URL)))
    office.post(reverse("weeks:day-off", args=[off.pk]), posted | {"last_day": ""})
    off.refresh_from_db()
    assert off.last_day == off.first_day
    office.post(reverse("weeks:day-off-delete", args=[off.pk]))
    assert not DayOff.objects.exists()


@pages
@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"last_day": day_ahead(1)}, "comes before the first"),
        ({"last_day": date(2099, 1, 1)}, "more than a year"),
        ({"first_day": "soon"}, "Enter a valid date"),
        ({"reason": ""}, "This field is required"),
    ],
)
def test_days_that_cannot_be_are_refused_beside_the_field(office, wrong, message):
    posted = {"person": "", "reason": "Stocktaking", "first_day": day_ahead(8), "last_day": day_ahead(9)} | wrong
    page = said(office.post(reverse(URL), posted))
    assert message in page and (posted["reason"] in page) and not DayOff.objects.exists()


@pages
def test_bank_holidays_are_added_once(office):
    for _ in range(2):
        office.post(reverse("weeks:bank-holidays"), {"year": "2027"})
    assert DayOff.objects.filter(person=None).count() == 8
    office.post(reverse("weeks:bank-holidays"), {"year": "soon"})
    assert DayOff.objects.count() == 8


@pages
def test_the_week_shows_who_is_away_and_when_all_are(office):
    ada = UserFactory(first_name="Ada", last_name="Holt")
    DayOff.objects.create(person=ada, first_day=date(2026, 12, 1), last_day=date(2026, 12, 2), reason="Leave")
    DayOff.objects.create(first_day=date(2026, 12, 3), last_day=date(2026, 12, 3), reason="Stocktaking")
    page = said(office.get(reverse("weeks:week"), {"from": "2026-11-30"}))
    assert page.count("Away: Leave") == 2 and page.count("Closed: Stocktaking") == 1


@pages
def test_days_booked_one_after_the_other_leave_out_days_off(office):
    DayOff.objects.create(first_day=date(2027, 3, 26), last_day=date(2027, 3, 29), reason="Easter")
    booked = visits_book(
        working_days=3, on_date=date(2027, 3, 25), job=JobFactory(), by=office.user, purpose="survey",
        starts_at=time(8), people=[],
    )  # fmt: skip
    assert [visit.on_date.day for visit in booked] == [25, 30, 31]


@pages
def test_the_list_asks_as_often_for_many(office, count_queries):
    few = count_queries(office, reverse(URL))
    for n in range(1, 6):
        DayOff.objects.create(person=UserFactory(), first_day=day_ahead(n), last_day=day_ahead(n), reason="Leave")
    assert count_queries(office, reverse(URL)) == few


@pages
def test_a_visit_may_say_how_long_it_takes(office):
    visit = VisitFactory(purpose="survey")
    visit.people.set([UserFactory()])
    url = reverse("jobs:visit", args=[visit.job.number, visit.pk])
    posted = {"purpose": "survey", "on_date": "2027-03-01", "starts_at": "09:00", "people": [visit.people.get().pk]}
    office.post(url, posted | {"hours": "3.5"})
    changed = Visit.objects.get()
    assert float(changed.hours) == 3.5 and changed.sequence == visit.sequence + 1
    assert "less than or equal to 16" in said(office.post(url, posted | {"hours": "17"}))


@pages
def test_the_diary_tells_days_off_and_asks_as_often_for_many(office, count_queries):
    url = f"{reverse('jobs:diary')}?from=2026-11-30"
    few = count_queries(office, url)
    for n in range(1, 6):
        ada = UserFactory(first_name="Ada", last_name="Holt")
        DayOff.objects.create(person=ada, first_day=date(2026, 12, n), last_day=date(2026, 12, n), reason="Leave")
    DayOff.objects.create(first_day=date(2026, 12, 3), last_day=date(2026, 12, 3), reason="Stocktaking")
    assert count_queries(office, url) == few
    assert "Closed: Stocktaking; Ada Holt is away: Leave" in said(office.get(url)).replace(
        "Ada Holt is away: Leave; Closed: Stocktaking", "Closed: Stocktaking; Ada Holt is away: Leave"
    )
