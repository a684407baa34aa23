"""How long the work takes, from the hours that are priced."""

from decimal import Decimal

import pytest
from django.urls import reverse

from contractor.accounts.models import Firm
from contractor.quotes.prices import Finish, Rates
from contractor.quotes.programme import BUILDING, FINISHING, PREPARING, programme_of, slowest_material_days, work_of
from tests.quotes.results import face, takeoff


def rates(hours_per_m2="0.30"):
    finish = Finish(description="Skim", hours_per_m2=Decimal(hours_per_m2), rate_key="plasterer")
    percents = dict.fromkeys(
        ("materials_markup_percent", "overhead_profit_percent", "preliminaries_percent", "vat_percent"), Decimal(0)
    )
    return Rates(**percents, labour={}, finish=finish)


def test_the_hours_are_those_that_are_priced():
    # Two faces of 8.64 m2: 4.75 h to prepare, 20.30 h to build and 8.64 x 0.30 = 2.592 h to skim, each.
    work = dict(work_of(takeoff([face(1), face(2)]), rates()))
    assert work == {PREPARING: Decimal("9.50"), BUILDING: Decimal("40.60"), FINISHING: Decimal("5.184")}


def test_a_face_that_could_not_be_taken_off_is_not_skimmed():
    work = dict(work_of(takeoff([face(1), face(2, problem="no frame")]), rates()))
    assert work[FINISHING] == Decimal("2.592")


@pytest.mark.parametrize(
    ("crew", "day", "days", "spans"),
    [
        # 15 h a day: 9.5 h end on day 1, 50.1 h on day 4, 55.284 h on day 4.
        (2, "7.5", 4, [(1, 1), (1, 4), (4, 4)]),
        # 7.5 h a day: 9.5 h end on day 2, 50.1 h on day 7, 55.284 h on day 8.
        (1, "7.5", 8, [(1, 2), (2, 7), (7, 8)]),
        (3, "8", 3, [(1, 1), (1, 3), (3, 3)]),
    ],
)
def test_days_of_a_crew(crew, day, days, spans):
    firm = Firm(crew_size=crew, day_hours=Decimal(day))
    plan = programme_of(work_of(takeoff([face(1), face(2)]), rates()), firm, 5)
    assert plan["days"] == days
    assert [(s["first_day"], s["last_day"]) for s in plan["steps"]] == spans
    assert (plan["crew_size"], plan["lead_time_days"]) == (crew, 5)


def test_work_that_fills_a_day_to_its_end_begins_the_next_on_the_morrow():
    firm = Firm(crew_size=1, day_hours=Decimal(8))
    plan = programme_of([("a", Decimal(8)), ("b", Decimal(8))], firm, 0)
    assert [(s["first_day"], s["last_day"]) for s in plan["steps"]] == [(1, 1), (2, 2)]


def test_nothing_is_said_where_no_hours_are_known():
    assert programme_of([], Firm(), 3) is None


def test_the_slowest_material():
    made = takeoff()
    assert slowest_material_days(made) == 3
    assert slowest_material_days(made | {"buy": []}) == 0
    assert slowest_material_days(made | {"buy": [{"lead_time_days": None}, {"lead_time_days": 10}]}) == 10


def test_the_letter_tells_days_and_the_earliest_start(sent, stranger):
    text = " ".join(stranger.get(reverse("quotes:proposal", args=[sent.token])).content.decode().split())
    plan = sent.revision.document["options"][0]["programme"]
    assert f"About <strong>{plan['days']} working days</strong> for 2 people" in text
    assert "at the earliest if you accept today, unless you ask us to start sooner" in text
    assert "Build the linings and close the gaps" in text
