"""The store of offcuts: kept once, reserved by one job, old and damaged ones left out."""

from datetime import timedelta
from functools import partial

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from contractor.jobs.models import Stage
from contractor.jobs.services import stage_change
from contractor.offcuts import selectors, services
from contractor.offcuts.models import Offcut
from contractor.offcuts.services import Left
from tests.at_once import at_once
from tests.factories import JobFactory, MaterialFactory, UserFactory


def left(label="BB-3-1", material=None, **more) -> Left:
    values = {"label": label, "material": material or MaterialFactory(), "length_mm": 400, "width_mm": 2100}
    return Left(**values | more)


def kept(job=None, days_ago=0, **more) -> Offcut:
    (offcut,) = services.keep(job=job or JobFactory(), left=[left(**more)], by=UserFactory())
    Offcut.objects.filter(pk=offcut.pk).update(kept_at=timezone.now() - timedelta(days=days_ago))
    offcut.refresh_from_db()
    return offcut


def stored(offcut: Offcut) -> Offcut:
    return selectors.in_store().get(pk=offcut.pk)


def test_it_is_kept_once_under_job_room_sheet_and_number(db):
    job, material, by = JobFactory(number=1043), MaterialFactory(), UserFactory()
    (offcut,) = services.keep(job=job, left=[left(material=material)], by=by)
    assert (offcut.label, offcut.width_mm, offcut.length_mm) == ("1043/BB-3-1", 400, 2100)
    assert services.keep(job=job, left=[left(material=material)], by=by) == []
    assert Offcut.objects.count() == 1


# Common practice: damaged, wet, or kept through more than one later job, an offcut goes.
def test_damaged_wet_and_old_ones_are_not_worth_keeping(db):
    old = kept(days_ago=30)
    assert selectors.why_discard(stored(old)) == ""
    for days in (20, 20):
        kept(old.from_job, days, label=f"BB-9-{Offcut.objects.count()}")  # of its own job: does not count
    one_later = JobFactory()
    kept(one_later, 10, label="A")
    kept(one_later, 9, label="B")
    assert selectors.why_discard(stored(old)) == ""
    kept(JobFactory(), 5, label="C")
    assert selectors.why_discard(stored(old)) == "Kept through 2 jobs since"
    for condition in ("damaged", "wet"):
        assert selectors.why_discard(stored(kept(label=condition, condition=condition)))
    assert old not in selectors.free_for(JobFactory())


def test_a_job_reserves_and_lets_go(db):
    job, by = JobFactory(), UserFactory()
    one, two = kept(label="A"), kept(label="B")
    services.reserve(job=job, offcuts=[one, two], by=by)
    assert {offcut.pk for offcut in selectors.reserved_for(job)} == {one.pk, two.pk}
    services.reserve(job=job, offcuts=[two], by=by)
    assert selectors.reserved_for(job) == [stored(two)]
    with pytest.raises(services.Taken, match=two.label):
        services.reserve(job=JobFactory(), offcuts=[two], by=by)
    assert selectors.free_for(JobFactory()) == [stored(one)]


@pytest.mark.django_db(transaction=True)
def test_two_jobs_at_once_do_not_both_get_it():
    """On SQLite and on PostgreSQL: the rows are locked before they are looked at."""
    offcut, jobs, by = kept(), [JobFactory() for _ in range(4)], UserFactory()

    def take(job):
        services.reserve(job=job, offcuts=[offcut], by=by)
        return job.pk

    outcomes = at_once(*(partial(take, job) for job in jobs), refusals=(services.Taken,))
    winners = [outcome for outcome in outcomes if not isinstance(outcome, services.Taken)]
    assert len(winners) == 1
    assert Offcut.objects.get().reserved_for_id == winners[0]


def test_what_is_used_or_discarded_is_gone(db):
    job, by = JobFactory(), UserFactory()
    used, thrown = kept(label="A"), kept(label="B")
    services.reserve(job=job, offcuts=[used, thrown], by=by)
    services.use(job=job, labels=[used.label], by=by)
    assert services.discard(offcut=thrown, by=by) and not services.discard(offcut=thrown, by=by)
    assert list(selectors.in_store()) == []
    assert dict(Offcut.objects.values_list("label", "state")) == {used.label: "used", thrown.label: "discarded"}
    services.use(job=JobFactory(), labels=[thrown.label], by=by)
    assert Offcut.objects.get(pk=thrown.pk).state == "discarded"


@pytest.mark.parametrize(
    "sides", [{"length_mm": 0}, {"length_mm": 300, "width_mm": 400}, {"length_mm": 300, "width_mm": 0}]
)
def test_the_database_refuses_impossible_sizes(db, sides):
    with pytest.raises(IntegrityError), transaction.atomic():
        Offcut.objects.create(label="X", material=MaterialFactory(), from_job=JobFactory(), **sides)


def test_the_office_sees_the_store_and_discards(office, count_queries):
    url = reverse("offcuts:store")
    assert "The store is empty" in office.get(url).content.decode()
    wet = kept(label="BB-3-1", condition="wet")
    queries = count_queries(office, url)
    kept(label="BB-3-2")
    kept(label="BB-3-3")
    assert count_queries(office, url) == queries
    page = office.get(url).content.decode()
    assert "400 × 2,100" in page and "Has been wet" in page and "1 of these is not worth keeping" in page
    office.post(reverse("offcuts:discard", args=[wet.pk]))
    assert f" {wet.label}</span>" not in office.get(url).content.decode()


def test_the_page_of_a_job_costs_the_same_for_one_offcut_and_for_three(office, count_queries):
    url = reverse("offcuts:for-job", args=[JobFactory().number])
    kept(label="A")
    queries = count_queries(office, url)
    kept(label="B")
    kept(label="C")
    assert count_queries(office, url) == queries


def test_the_office_reserves_for_a_job(office):
    job = JobFactory()
    url = reverse("offcuts:for-job", args=[job.number])
    assert "Nothing in the store is free" in office.get(url).content.decode()
    one = kept(label="A")
    kept(label="B")
    assert office.post(url, {"offcuts": [one.pk]}).status_code == 302
    page = office.get(url).content.decode()
    assert page.count(" checked") == 1
    services.reserve(job=job, offcuts=[], by=UserFactory())
    services.reserve(job=JobFactory(), offcuts=[one], by=UserFactory())
    refused = office.post(url, {"offcuts": [one.pk]})
    assert refused.status_code == 200 and "another job&#x27;s by now" in refused.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("stage", [Stage.LOST, Stage.CLOSED])
def test_a_job_that_is_over_gives_back_what_it_did_not_cut(stage):
    job, by = JobFactory(stage=Stage.COMPLETE if stage == Stage.CLOSED else Stage.SURVEYED), UserFactory()
    whole, cut = kept(label="BB-3-1"), kept(label="BB-3-2")
    services.reserve(job=job, offcuts=[whole, cut], by=by)
    services.use(job=job, labels=[cut.label], by=by)

    stage_change(job=job, to_stage=stage, by=by)

    assert stored(whole).reserved_for is None
    cut.refresh_from_db()
    assert (cut.state, cut.reserved_for) == (Offcut.State.USED, job)
