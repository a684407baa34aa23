"""Where jobs stand, what proposals came to, how they were answered and why not."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from contractor.jobs.services import stage_change
from contractor.learning.pipeline import Proposal, outcomes, value_of
from contractor.learning.selectors import proposals
from tests.factories import JobFactory, UserFactory
from tests.learning.promises import answered, sent

PAGE = "/learning/pipeline/"
TODAY = date(2026, 11, 25)
SENT_AT = datetime(2026, 11, 1, 9, tzinfo=UTC)
LETTER = {"options": [{"name": "Slim", "total": "4000.00"}, {"name": "Quieter", "total": "6500.00"}]}


def proposal(status, *, stage="sent", valid_until=date(2026, 12, 1), days=None) -> Proposal:
    return Proposal(
        job_id=1, stage=stage, status=status, valid_until=valid_until, sent_at=SENT_AT, value=None,
        answered_at=None if days is None else SENT_AT + timedelta(days=days),
    )  # fmt: skip


def test_the_win_rate_counts_answers_and_what_ran_out():
    told = outcomes(
        [
            proposal("accepted", stage="accepted", days=2),
            proposal("accepted", stage="lost", days=10),  # cancelled later: it was won
            proposal("declined", days=4.5),
            proposal("sent", stage="lost"),
            proposal("sent", valid_until=date(2026, 11, 24)),
            proposal("sent", valid_until=TODAY),  # its last day
        ],
        TODAY,
    )
    assert told.counts == {"won": 2, "declined": 2, "expired": 1, "open": 1}
    assert (told.settled, told.win_rate) == (5, 0.4)
    assert (list(told.days), told.median_days) == ([2, 4.5, 10], 4.5)


def test_of_two_nothing_is_said():
    told = outcomes([proposal("accepted", days=1), proposal("declined", days=1)], TODAY)
    assert (told.win_rate, told.median_days) == (None, None)


def test_worth_is_the_accepted_option_else_the_cheapest():
    options = [("Slim", "4000.00"), ("Quieter", "6500.00"), (None, None)]
    assert value_of(options, "Quieter") == Decimal("6500.00")
    assert value_of(options, "") == Decimal("4000.00")
    assert value_of([(None, None)], "") is None


@pytest.fixture
def firm_with_jobs(db):
    answered(sent(JobFactory(stage="accepted"), document=LETTER, days_ago=10), "accepted", days_ago=3)
    declined = sent(JobFactory(stage="sent", title="Piano room"), document=LETTER)
    answered(declined, "declined", reason="My sister's <builder> is cheaper.", days_ago=6)
    sent(JobFactory(stage="sent"), document=LETTER, days_ago=50, valid_days=30)
    stage_change(job=JobFactory(stage="enquiry"), to_stage="lost", by=UserFactory(), note="Moving house instead")


@pytest.mark.django_db
def test_proposals_read_only_what_they_need(firm_with_jobs):
    found = proposals()
    assert sorted(p.value for p in found) == [Decimal(4000), Decimal(4000), Decimal(6500)]
    assert sorted(round(p.days_to_answer) for p in found if p.answered_at) == [4, 7]


@pytest.mark.django_db
def test_the_page_tells_all_of_it(owner, firm_with_jobs):
    page = " ".join(owner.get(PAGE).content.decode().split())
    assert "£6,500.00" in page and "£8,000.00" in page  # two at "sent", the cheapest option of each
    assert "Won, of 3 answered or run out" in page and "33 %" in page
    assert "My sister&#x27;s &lt;builder&gt; is cheaper." in page and "The customer’s, declining" in page
    assert "Moving house instead" in page and "<svg" in page


@pytest.mark.django_db
def test_nothing_yet_says_what_belongs_there(owner):
    page = owner.get(PAGE).content.decode()
    assert "Jobs belong here" in page and "Reasons belong here" in page and "<svg" not in page


@pytest.mark.django_db
def test_queries_do_not_grow(owner, firm_with_jobs, count_queries):
    before = count_queries(owner, PAGE)
    for _ in range(4):
        answered(sent(JobFactory(stage="sent"), document=LETTER), "declined", reason="No")
    assert count_queries(owner, PAGE) <= before
