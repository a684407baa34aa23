"""The week, moving visits about it, laying out days, and the calendar feed."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from ical.calendar_stream import IcsCalendarStream

from contractor.jobs.models import Gate
from contractor.weeks import services
from contractor.weeks.models import CalendarLink
from tests.factories import JobFactory, UserFactory, VisitFactory
from tests.quotes.conftest import firm, job, sender, sent, standing_calculations  # noqa: F401  (fixtures)

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 11, 30)


def said(response) -> str:
    return " ".join(response.content.decode().split())


@pytest.fixture
def ada():
    return UserFactory(first_name="Ada", last_name="Holt", role="fitter")


@pytest.fixture
def visit(ada):
    made = VisitFactory(job=JobFactory(stage="scheduled", title="Party wall"), on_date=MONDAY, purpose="survey")
    made.people.set([ada])
    return made


def week(office, day=MONDAY) -> str:
    return said(office.get(reverse("weeks:week"), {"from": day.isoformat()}))


def move(office, visit, **posted):
    return office.post(reverse("weeks:move", args=[visit.pk]), {"week": MONDAY.isoformat(), **posted})


def test_the_week_has_a_row_for_each_person_and_a_column_for_each_day(office, visit):
    page = week(office, MONDAY + timedelta(days=3))
    assert "Week of 30 Nov 2026" in page and "Ada Holt" in page and "Party wall" in page
    assert page.count('data-day="2026-11-30"') == page.count('data-day="2026-12-04"') >= 2
    assert 'data-day="2026-12-05"' not in page  # a Saturday, and nobody works on it
    VisitFactory(job=visit.job, on_date=date(2026, 12, 5))
    assert 'data-day="2026-12-05"' in week(office)


def test_what_stands_against_a_visit_is_said_on_it(office, visit):
    visit.people.clear()
    page = week(office)
    assert "Nobody is sent yet." in page and "1 visit with something against it" in page


def test_a_visit_moves_by_form(office, visit, ada):
    posted = {"on_date": "2026-12-02", "from_person": ada.pk, "to_person": ada.pk}
    response = move(office, visit, **posted)
    assert response.url == "/week/?from=2026-11-30"
    visit.refresh_from_db()
    assert visit.on_date == date(2026, 12, 2) and list(visit.people.all()) == [ada]


def test_a_visit_is_given_to_somebody_else_and_keeps_the_others(office, visit, ada):
    bea, cyn = UserFactory(), UserFactory()
    visit.people.add(cyn)
    move(office, visit, on_date=MONDAY.isoformat(), from_person=ada.pk, to_person=bea.pk)
    assert set(visit.people.all()) == {bea, cyn}


def test_what_may_not_be_booked_may_not_be_moved_there(office, visit, ada):
    """Fitting stays where it is while a caution is open, and says whom to ask."""
    visit.purpose = "fitting"
    visit.save()
    visit.job.gates.create(kind="asbestos", need="needed")
    posted = {"on_date": "2026-12-02", "from_person": ada.pk, "to_person": ada.pk}
    page = said(
        office.post(reverse("weeks:move", args=[visit.pk]), posted, HTTP_HX_REQUEST="true", HTTP_HX_TARGET="week")
    )
    assert "It stays where it was." in page and "Ask:" in page and "<html" not in page
    visit.refresh_from_db()
    assert visit.on_date == MONDAY


def test_a_day_that_is_none_moves_nothing(office, visit, ada):
    response = move(office, visit, on_date="soon", from_person=ada.pk, to_person=ada.pk)
    assert "no day to move it to" in said(office.get(response.url))


def test_the_week_asks_as_often_for_many_visits(office, visit, count_queries):
    url = reverse("weeks:week") + f"?from={MONDAY.isoformat()}"
    few = count_queries(office, url)
    for n in range(6):
        VisitFactory(on_date=MONDAY + timedelta(days=n % 5), purpose="fitting").people.set([UserFactory()])
    assert count_queries(office, url) == few <= 15


@pytest.fixture
def accepted(sent, monkeypatch):  # noqa: F811
    from contractor.quotes.services import accept

    monkeypatch.setattr("contractor.quotes.mail.proposal_pdf", lambda revision, decision: b"%PDF")
    accept(
        link=sent.link, option_key="1", typed_name="Ada", agreed_terms=True, early_start=False, address="", browser=""
    )
    return sent.revision.job


def test_days_are_laid_out_after_the_time_to_cancel_and_booked(office, accepted, ada):
    for kind in Gate.Kind.values:
        accepted.gates.create(kind=kind, need="not_needed", evidence="Seen")
    url = reverse("weeks:days", args=[accepted.number])
    page = said(office.get(url))
    assert "The customer may cancel until" in page
    first = timezone.localdate() + timedelta(days=15)
    while first.weekday() > 4:
        first += timedelta(days=1)
    assert f'value="{first.isoformat()}"' in page
    assert "Choose who goes." in said(office.post(url, {"first": first.isoformat(), "starts_at": "08:00"}))
    posted = {"first": first.isoformat(), "starts_at": "08:00", "people": [ada.pk]}
    assert office.post(url, posted).status_code == 302
    booked = list(accepted.visits.order_by("on_date"))
    # 4.75 + 20.30 hours of one person at 7.5 a day fill four days; skim and the last round are days of their own.
    assert booked[0].on_date == first and len(booked) >= 4
    assert all(list(visit.people.all()) == [ada] and visit.note for visit in booked)


def test_days_are_not_booked_while_a_caution_is_open(office, accepted, ada):
    accepted.gates.create(kind="asbestos", need="needed")
    first = timezone.localdate() + timedelta(days=30)
    posted = {"first": first.isoformat(), "starts_at": "08:00", "people": [ada.pk]}
    assert "Work cannot be booked yet." in said(office.post(reverse("weeks:days", args=[accepted.number]), posted))
    assert not accepted.visits.exists()


def test_days_before_anything_is_accepted(office, visit):
    assert "None is accepted yet." in said(office.get(reverse("weeks:days", args=[visit.job.number])))


def feed_of(client, person) -> str:
    token = services.calendar_link_make(person=person)
    response = client.get(reverse("weeks:feed", args=[token]))
    assert response["Content-Type"].startswith("text/calendar") and response["Cache-Control"] == "no-store"
    return response.content.decode()


def test_the_feed_is_read_by_a_strict_parser(stranger, visit, ada):
    """Read by the library ical, which refuses what RFC 5545 does not allow; lines and their ends are looked at by hand."""
    visit.note = (
        "Bring; the tall, ladder\nand the long noise meter stand, since the ceiling there is over three metres high"
    )
    visit.on_date = timezone.localdate() + timedelta(days=3)
    visit.starts_at = "09:30"
    visit.save()
    VisitFactory(on_date=visit.on_date).people.set([UserFactory()])  # somebody else's
    text = feed_of(stranger, ada)
    assert all(line.endswith("\r") for line in text.split("\n")[:-1])
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))  # RFC 5545, 3.1
    calendar = IcsCalendarStream.calendar_from_ics(text)
    (event,) = calendar.events
    local = timezone.localtime(event.dtstart)
    assert (local.date(), f"{local:%H:%M}") == (visit.on_date, "09:30")
    assert event.dtend - event.dtstart == timedelta(hours=2) and event.sequence == 0
    assert visit.note in event.description and "Party wall" in event.summary
    uid = event.uid
    services.visit_move(visit=visit, on_date=visit.on_date + timedelta(days=1), by=ada, from_person=ada, to_person=ada)
    moved = next(e for e in IcsCalendarStream.calendar_from_ics(feed_of(stranger, ada)).events if e.uid == uid)
    assert moved.dtstart.date() != event.dtstart.date() and moved.sequence == 1  # RFC 5545, 3.8.7.4


def test_a_feed_ends_when_it_is_made_anew_or_its_person_leaves(stranger, ada):
    first = services.calendar_link_make(person=ada)
    second = services.calendar_link_make(person=ada)
    assert stranger.get(reverse("weeks:feed", args=[first])).status_code == 404
    assert stranger.get(reverse("weeks:feed", args=[second])).status_code == 200
    ada.is_active = False
    ada.save()
    assert stranger.get(reverse("weeks:feed", args=[second])).status_code == 404


def test_a_person_makes_and_ends_their_own_address(fitter):
    url = reverse("weeks:calendar")
    page = said(fitter.post(url, {"make": ""}))
    assert "/calendar/" in page and "Shown this once" in page
    assert "/visits.ics" not in said(fitter.get(url))
    fitter.post(url, {"end": ""})
    assert not CalendarLink.objects.filter(revoked_at=None).exists()
