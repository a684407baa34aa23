"""Moving a visit by dragging it and by keyboard, in a real browser."""

from datetime import date

import pytest
from django.urls import reverse

from tests.conftest import signed_in
from tests.factories import JobFactory, UserFactory, VisitFactory

pytestmark = pytest.mark.django_db(transaction=True)
MONDAY = date(2026, 11, 30)


@pytest.fixture
def visit():
    made = VisitFactory(job=JobFactory(stage="scheduled", title="Party wall"), on_date=MONDAY, purpose="survey")
    made.people.set([UserFactory(first_name="Ada", last_name="Holt")])
    return made


@pytest.fixture
def page(page, live_server, visit):
    session = signed_in(UserFactory(first_name="Bea", last_name="Ives")).cookies["sessionid"].value
    page.context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page.goto(f"{live_server.url}{reverse('weeks:week')}?from={MONDAY.isoformat()}")
    return page


def card(page, visit, person):
    return page.locator(f'.visit-card[data-visit="{visit.pk}-{person.pk}"]')


def test_a_visit_is_dragged_to_another_day_and_person(page, visit):
    ada = visit.people.get()
    bea = type(ada).objects.get(first_name="Bea")
    target = page.locator(f'td[data-day="2026-12-02"][data-person="{bea.pk}"]')
    with page.expect_response(lambda response: "/move/" in response.url):
        card(page, visit, ada).drag_to(target)
    target.locator(".visit-card").wait_for()
    visit.refresh_from_db()
    assert visit.on_date == date(2026, 12, 2) and list(visit.people.all()) == [bea]


def test_a_visit_is_moved_with_shift_and_an_arrow_and_keeps_the_focus(page, visit):
    ada = visit.people.get()
    card(page, visit, ada).focus()
    for day in (1, 2):
        with page.expect_response(lambda response: "/move/" in response.url):
            page.keyboard.press("Shift+ArrowRight")
        page.locator(f'td[data-day="2026-12-0{day}"] .visit-card:focus').wait_for()
    visit.refresh_from_db()
    assert visit.on_date == date(2026, 12, 2)


def test_on_a_phone_the_days_stand_under_each_other_and_a_visit_is_given_to_another_by_form(page, visit):
    bea = type(visit.people.get()).objects.get(first_name="Bea")
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    days = [page.locator(f"th.day-{n}").bounding_box()["y"] for n in (1, 2, 3)]
    shown = card(page, visit, visit.people.get())
    assert days == sorted(days) and days[0] < shown.bounding_box()["y"] < days[1]
    shown.get_by_text("Move", exact=True).click()
    shown.get_by_label("To the day").fill("2026-12-02")
    shown.get_by_label("To whom").select_option(label="Bea Ives")
    with page.expect_response(lambda response: "/move/" in response.url):
        shown.get_by_role("button", name="Move it").click()
    page.locator(f'.visit-card[data-visit="{visit.pk}-{bea.pk}"]').wait_for()
    visit.refresh_from_db()
    assert visit.on_date == date(2026, 12, 2) and list(visit.people.all()) == [bea]


def test_a_screen_reader_hears_where_a_visit_is_and_how_to_move_it(page, visit):
    shown = page.get_by_role("form", name=f"Survey, job {visit.job.number}, Monday 30 November, Ada Holt")
    described = page.locator(f"#{shown.get_attribute('aria-describedby')}")
    assert "press Shift and an arrow" in described.inner_text()
