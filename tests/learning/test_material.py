"""Material quoted, ordered and used by build-up, counted by hand."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from contractor.learning.material import JobMaterial, Packs, by_build_up, parts_of
from contractor.learning.selectors import finished_material
from contractor.site.services import act_take
from tests.factories import UserFactory
from tests.fitting.conftest import accepted_job
from tests.orders.placed import line, ordered
from tests.quotes.results import face, takeoff

BOARD = {"material_key": "dense-board-15", "material": "Dense board 15", "unit": "m2"}


def needs(quantity: str, **changes) -> dict:
    return face(materials=[BOARD | {"needed": quantity}], **changes)


def job_of(used: str, quoted: str = "10", number: int = 1) -> JobMaterial:
    packs = Packs(
        name="Board", unit="sheet", price=Decimal(20), quoted=Decimal(quoted), ordered=Decimal(12), used=Decimal(used)
    )
    parts = {("Lining", "board"): Decimal("0.75"), ("Ceiling", "board"): Decimal("0.25")}
    return JobMaterial(number=number, title="T", packs={"board": packs}, parts=parts, is_said=True)


def test_a_shared_material_is_split_as_the_take_off_split_it():
    faces = [needs("9"), needs("3", build_up="Ceiling"), needs("50", problem="Not measured")]
    parts = parts_of(faces)
    assert parts["Independent steel lining, two dense boards", "dense-board-15"] == Decimal("0.75")
    assert sum(parts.values()) == 1


# By hand: 10, 11 and 12 of 10 quoted are 1.0, 1.1, 1.2: mean 1.1, standard deviation 0.1; a quarter of 33 is 8.25.
def test_three_jobs_have_a_mean_and_a_spread_two_have_not():
    (_, (ceiling,)), (_, (lining,)) = by_build_up([job_of("10"), job_of("11"), job_of("12")])
    assert (ceiling.quoted, ceiling.used, lining.used) == (Decimal("7.50"), Decimal("8.25"), Decimal("24.75"))
    assert ceiling.ratio == pytest.approx(1.1) and ceiling.spread == pytest.approx(0.1)
    assert (lining.quoted_money, lining.used_money) == (Decimal("450.00"), Decimal("495.00"))
    (_, (few,)), _ = by_build_up([job_of("10"), job_of("11")])
    assert few.ratio is None and few.spread is None


def finished(stage="complete"):
    job = accepted_job(takeoff(faces=[needs("17.28")])).revision.job
    order = ordered(job, line(packs=7))
    job.stage = stage
    job.save()
    return job, order


@pytest.mark.django_db
def test_quoted_ordered_and_used_stand_beside_each_other_on_the_owners_page(owner, count_queries):
    job, _ = finished()
    finished(stage="on_site")
    said = {"kind": "used", "payload": {"material": "dense-board-15", "left_over": "0.5", "bought": "1"}}
    act_take(key=uuid4(), job=job, person=UserFactory(), done_at=timezone.now(), **said)
    (found,) = finished_material()
    packs = found.packs["dense-board-15"]
    assert (packs.quoted, packs.ordered, packs.used) == (6, 7, Decimal("7.5"))
    page = " ".join(owner.get(reverse("learning:hours")).content.decode().split())
    assert "+1.5" in page and "too few to say" in page and "£152 used" in page  # 7.5 packs at £20.25
    before = count_queries(owner, reverse("learning:hours"))
    for _ in range(3):
        finished()
    assert count_queries(owner, reverse("learning:hours")) == before


@pytest.mark.django_db
def test_a_job_without_orders_tells_nothing(owner):
    accepted_job(takeoff(faces=[needs("17.28")]), number=77)
    assert finished_material() == []
    assert "orders were written down" in owner.get(reverse("learning:hours")).content.decode()
