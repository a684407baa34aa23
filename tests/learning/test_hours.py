"""Hours quoted against used, and pieces made again: reckoned by hand, shared out as the quote shared them."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from contractor.fitting.models import Tick
from contractor.learning.hours import JobHours, by_build_up, quoted_hours
from contractor.learning.selectors import finished_hours, pieces_made
from contractor.site.models import Act, TimeEntry
from tests.factories import UserFactory
from tests.fitting.conftest import TAKEOFF, pack_for
from tests.learning.promises import promised
from tests.quotes.results import face

PAGE = "/learning/hours/"


def worked(job, **hours) -> None:
    person = UserFactory()
    for task, count in hours.items():
        act = Act.objects.create(key=uuid4(), job=job, person=person, kind="time", payload={}, done_at=timezone.now())
        TimeEntry.objects.create(
            job=job, person=person, on_date=timezone.localdate(), task=task, minutes=int(count * 60), act=act
        )


def test_hours_quoted_are_those_of_building_and_preparing():
    faces = [face(), face(2, labour_hours="9.70", preparation_hours="0"), face(3, build_up="Ceiling", problem="No")]
    # 20.30 + 4.75 + 9.70
    assert quoted_hours(faces) == {"Independent steel lining, two dense boards": Decimal("34.75")}


def test_hours_of_a_job_are_shared_out_as_quoted():
    """30 and 10 quoted, 44 used: 33 and 11."""
    job = JobHours(number=1, title="", quoted={"Wall": Decimal(30), "Floor": Decimal(10)}, used=Decimal(44), other=0)
    assert job.used_by_build_up == {"Wall": 33, "Floor": 11}
    rows = by_build_up([job, job])
    assert [(r.name, r.job_count, r.quoted, r.used, r.ratio) for r in rows] == [
        ("Floor", 2, 20, 22, None),  # two jobs are too few for a ratio
        ("Wall", 2, 60, 66, None),
    ]
    assert [r.ratio for r in by_build_up([job] * 3)] == [Decimal("1.1"), Decimal("1.1")]


@pytest.mark.django_db
def test_only_finished_jobs_count_and_finishing_stands_apart():
    done, going = promised(stage="closed").job, promised(stage="on_site").job
    worked(done, prepare=5, frame=10, board=12.5, finish=6, carry=1)
    worked(going, board=3)
    (job,) = finished_hours()
    assert (job.number, job.quoted_sum, job.used, job.other) == (done.number, Decimal("25.05"), Decimal("27.5"), 7)


@pytest.mark.django_db
def test_pieces_made_again(owner):
    pack = pack_for(TAKEOFF)
    pieces = [
        (face, [p["key"] for layer in face["layers"] for p in layer["pieces"]]) for face in pack.document["faces"]
    ]
    first, keys = next((face, keys[:3]) for face, keys in pieces if len(keys) >= 3)
    assert pieces_made() == []
    for key in (*keys, "again:" + keys[0].removeprefix("cut:")):
        Tick.objects.create(pack=pack, key=key, is_done=True, by=owner.user)
    (row,) = [row for row in pieces_made() if row.name == first["build_up"]]
    assert (row.job_count, row.cut, row.again, row.part_again) == (1, 3, 1, None)
    assert row.planned >= 3
    page = owner.get(PAGE).content.decode()
    assert "too few jobs to say" in page and "orders were written down" in page


@pytest.mark.django_db
def test_nothing_finished_says_what_belongs_there(owner):
    page = owner.get(PAGE).content.decode()
    assert "Hours belong here once" in page and "Pieces belong here once" in page and "orders were written down" in page


@pytest.mark.django_db
def test_the_page_draws_and_tables_the_same_and_its_queries_do_not_grow(owner, count_queries):
    worked(promised().job, board=20)
    one = count_queries(owner, PAGE)
    for _ in range(3):
        worked(promised().job, prepare=5, board=25)
    assert count_queries(owner, PAGE) <= one
    page = owner.get(PAGE).content.decode()
    # 4 × 25.05 quoted, 20 + 3 × 30 used: 110 %
    assert "100.2 h quoted" in page and "110.0 h used" in page and "110 %" in page
