"""What stands against a visit, and days laid out from hours."""

from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from contractor.jobs.dates import working_day_before
from contractor.jobs.models import DayOff, Visit
from contractor.quotes.programme import BUILDING, FINISHING, PREPARING
from contractor.weeks.clashes import Facts, clashes, earliest_first_day, earliest_with_material
from contractor.weeks.laying import is_wet, lay_out, working_days
from tests.factories import JobFactory, UserFactory, VisitFactory

WEDNESDAY = date(2026, 11, 25)


@pytest.fixture
def visit(db):
    made = VisitFactory(job=JobFactory(stage="scheduled"), on_date=date(2026, 11, 30), purpose="fitting")
    made.people.set([UserFactory(first_name="Ada", last_name="Holt")])
    return made


def against(visit, **facts) -> list[str]:
    found = clashes(Visit.objects.all(), {visit.job_id: Facts(**facts)}, DayOff.objects.all(), Decimal("7.5"))
    return found.get(visit.pk, [])


def test_a_visit_with_nothing_against_it(visit):
    assert against(visit, first_fitting=visit.on_date) == []


def test_a_person_in_two_places(visit):
    other = VisitFactory(job=JobFactory(stage="scheduled"), on_date=visit.on_date, purpose="survey", starts_at=time(13))
    other.people.set(visit.people.all())
    assert against(visit) == [f"Ada Holt is at job {other.job.number} from 13:00 to 15:00."]
    assert against(other) == [f"Ada Holt is at job {visit.job.number} from 08:00 to 15:30."]
    other.on_date = date(2026, 12, 1)
    other.save()
    assert against(visit) == []


@pytest.mark.parametrize(
    ("starts_at", "hours", "said"),
    [
        (time(15, 30), None, "has 0 minutes between this and job"),
        (time(15, 45), None, "has 15 minutes between this and job"),
        (time(16), None, None),
        (time(6), 1, None),
        (time(6), "1.75", "has 15 minutes between this and job"),
        (time(6), "2.5", "from 06:00 to 08:30."),
    ],
)
def test_a_person_with_time_for_two_visits_and_the_way_between(visit, starts_at, hours, said):
    other = VisitFactory(on_date=visit.on_date, purpose="survey", starts_at=starts_at, hours=hours and Decimal(hours))
    other.people.set(visit.people.all())
    found = against(visit)
    assert found == [] if said is None else said in found[0]


def test_a_half_day_leaves_the_other_half(visit):
    Visit.objects.update(hours=Decimal(4))  # until 12:00
    other = VisitFactory(on_date=visit.on_date, purpose="survey", starts_at=time(13))
    other.people.set(visit.people.all())
    assert against(visit) == []


def test_who_is_away_and_when_the_firm_is_closed(visit):
    (ada,) = visit.people.all()
    away = DayOff.objects.create(
        person=ada, first_day=date(2026, 11, 28), last_day=date(2026, 11, 30), reason="training"
    )
    DayOff.objects.create(person=UserFactory(), first_day=visit.on_date, last_day=visit.on_date, reason="leave")
    assert against(visit) == ["Ada Holt is away: training."]
    away.last_day = date(2026, 11, 29)
    away.save()
    DayOff.objects.create(first_day=visit.on_date, last_day=visit.on_date, reason="St Andrew's Day")
    assert against(visit) == ["The firm is closed: St Andrew's Day."]


def test_two_visits_to_one_job_are_no_clash(visit):
    VisitFactory(job=visit.job, on_date=visit.on_date, purpose="test").people.set(visit.people.all())
    assert against(visit) == []


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"open_cautions": ["asbestos", "fire"]}, "Not cleared: asbestos, fire."),
        ({"cancel_until": date(2026, 11, 30)}, "may cancel until 30 Nov"),
        (
            {"first_fitting": date(2026, 11, 30), "unordered_from": date(2026, 12, 1), "material_days": 3},
            "the slowest takes 3 working days, to 1 Dec",
        ),
    ],
)
def test_what_stops_fitting(visit, facts, said):
    (sentence,) = against(visit, **facts)
    assert said in sentence
    Visit.objects.update(purpose="survey")
    assert against(visit, **facts) == []


def test_material_only_holds_up_the_first_day(visit):
    facts = {"first_fitting": date(2026, 11, 27), "unordered_from": date(2026, 12, 1), "material_days": 3}
    assert against(visit, **facts) == []


def test_nobody_sent_and_nothing_accepted(visit):
    visit.people.clear()
    visit.job.stage = "surveyed"
    visit.job.save()
    assert against(visit) == ["No quote is accepted yet.", "Nobody is sent yet."]


def test_goods_ordered_today_are_there_the_working_day_before():
    """Ordered on Wednesday with three working days they come on Monday, and work can begin on Tuesday."""
    assert earliest_with_material(WEDNESDAY, 3) == date(2026, 12, 1)
    assert earliest_with_material(WEDNESDAY, 3, {date(2026, 11, 30)}) == date(2026, 12, 2)
    assert working_day_before(date(2026, 12, 1), 4) == WEDNESDAY
    assert working_day_before(date(2026, 12, 2), 4, {date(2026, 11, 30)}) == WEDNESDAY
    assert earliest_first_day(WEDNESDAY, Facts()) == date(2026, 11, 26)
    assert earliest_first_day(WEDNESDAY, Facts(cancel_until=date(2026, 12, 4))) == date(2026, 12, 7)  # over a weekend


def planned(work, *, first=date(2026, 11, 30), wet=False, crew=2, closed=()):
    return lay_out(work=work, is_wet=wet, first=first, crew_size=crew, day_hours=Decimal(8), closed=closed)


def test_work_waits_for_a_holiday_and_what_dries_does_not():
    closed = {date(2026, 11, 30), date(2026, 12, 2)}
    days = planned([(PREPARING, Decimal(16)), (BUILDING, Decimal(8))], wet=True, closed=closed)
    assert [(day.on_date.day, float(day.hours)) for day in days] == [(1, 16), (2, 0), (3, 8)]


def test_the_days_of_one_wall_by_hand():
    """Two people at 8 hours: 16 hours strip and parge on Monday, a day to cure, 20 hours of lining on Wednesday and
    Thursday, 6 of skim on Friday as a day of its own, five days to dry, then half a day to put things back."""
    days = planned([(PREPARING, Decimal(16)), (BUILDING, Decimal(20)), (FINISHING, Decimal(6))], wet=True)
    assert [(day.on_date.isoformat()[5:], float(day.hours)) for day in days] == [
        ("11-30", 16), ("12-01", 0), ("12-02", 16), ("12-03", 4), ("12-04", 6),
        ("12-07", 0), ("12-08", 0), ("12-09", 0), ("12-10", 0), ("12-11", 0), ("12-14", 8),
    ]  # fmt: skip
    assert [day.trade for day in days if day.trade] == ["Plasterer"]
    assert days[1].note == "Parge and filling cure" and working_days(days) == 5


def test_steps_share_a_day_where_nothing_dries():
    (day,) = planned([(PREPARING, Decimal(4)), (BUILDING, Decimal(6))])
    assert (
        day.hours == 10
        and day.note == "Protect the way in, strip out and prepare; build the linings and close the gaps"
    )


def test_a_saturday_is_moved_to_monday():
    assert planned([(BUILDING, Decimal(1))], first=date(2026, 11, 28))[0].on_date == date(2026, 11, 30)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.decimals("0.25", "120", places=2), min_size=1, max_size=3),
    st.integers(1, 5),
    st.booleans(),
    st.dates(date(2026, 1, 1), date(2027, 12, 31)),
)
def test_hours_are_kept_and_nobody_works_longer_or_on_a_weekend(hours, crew, wet, first):
    work = list(zip((PREPARING, BUILDING), hours, strict=False))
    days = planned(work, first=first, wet=wet, crew=crew)
    assert sum(day.hours for day in days) == sum(hours for _, hours in work)
    assert all(day.hours <= 8 * crew and day.on_date.weekday() < 5 and day.on_date >= first for day in days)
    assert [day.on_date for day in days] == sorted({day.on_date for day in days})


@pytest.mark.parametrize(
    ("reason", "wet"), [("Bare masonry: rake, fill and parge 3 to 8 mm.", True), ("The plaster is blown.", False)]
)
def test_what_must_cure(reason, wet):
    assert is_wet({"preparation": [{"description": "Work", "reason": reason}]}) is wet
