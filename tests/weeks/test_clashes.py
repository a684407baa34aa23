"""What stands against a visit, and days laid out from hours."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from contractor.jobs.models import Visit
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
    return clashes(Visit.objects.all(), {visit.job_id: Facts(**facts)}).get(visit.pk, [])


def test_a_visit_with_nothing_against_it(visit):
    assert against(visit, first_fitting=visit.on_date) == []


def test_a_person_in_two_places(visit):
    other = VisitFactory(job=JobFactory(stage="scheduled"), on_date=visit.on_date, purpose="survey")
    other.people.set(visit.people.all())
    assert against(visit) == [f"Ada Holt also goes to job {other.job.number} that day."]
    other.on_date = date(2026, 12, 1)
    other.save()
    assert against(visit) == []


def test_two_visits_to_one_job_are_no_clash(visit):
    VisitFactory(job=visit.job, on_date=visit.on_date, purpose="test").people.set(visit.people.all())
    assert against(visit) == []


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"open_cautions": ["asbestos", "fire"]}, "Not cleared: asbestos, fire."),
        ({"cancel_until": date(2026, 11, 30)}, "may cancel until 30 Nov"),
        (
            {"first_fitting": date(2026, 11, 30), "material_from": date(2026, 12, 1), "material_days": 3},
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
    facts = {"first_fitting": date(2026, 11, 27), "material_from": date(2026, 12, 1), "material_days": 3}
    assert against(visit, **facts) == []


def test_nobody_sent_and_nothing_accepted(visit):
    visit.people.clear()
    visit.job.stage = "surveyed"
    visit.job.save()
    assert against(visit) == ["No quote is accepted yet.", "Nobody is sent yet."]


def test_goods_ordered_today_are_there_the_working_day_before():
    """Ordered on Wednesday with three working days they come on Monday, and work can begin on Tuesday."""
    assert earliest_with_material(WEDNESDAY, 3) == date(2026, 12, 1)
    assert earliest_first_day(WEDNESDAY, Facts()) == date(2026, 11, 26)
    assert earliest_first_day(WEDNESDAY, Facts(cancel_until=date(2026, 12, 4))) == date(2026, 12, 7)  # over a weekend


def planned(work, *, first=date(2026, 11, 30), wet=False, crew=2):
    return lay_out(work=work, is_wet=wet, first=first, crew_size=crew, day_hours=Decimal(8))


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
