"""Checked off on site: counts, missing and damaged, two people at one line, the van, the photograph; material used."""

import io
import json
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from contractor.orders.models import CheckOff, FromVan, UsedMaterial
from contractor.orders.selectors import counted_line, material_of, placed_of
from contractor.site.models import Act, SitePhoto
from contractor.site.pages import pages_for
from contractor.site.services import act_take
from tests.at_once import at_once
from tests.conftest import signed_in
from tests.factories import MaterialFactory, UserFactory
from tests.fitting.conftest import accepted_job, holds_are_settled, pack, takeoff  # noqa: F401  (fixtures)
from tests.orders.placed import line, ordered

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(pack):  # noqa: F811
    return ordered(pack.job, line("board", 10), line("stud", 4))


def send(client, order, kind: str, at=None, **payload) -> dict:
    at = at or timezone.now()
    act = {"key": str(uuid4()), "job": order.job.number, "kind": kind, "at": at.isoformat(), "payload": payload}
    body, person = json.dumps({"acts": [act]}), {"X-Person": str(client.user.pk)}
    response = client.post(reverse("site:acts"), body, content_type="application/json", headers=person)
    return response.json()["results"][0]


def board_of(order):
    return counted_line(order.job, str(order.lines.get(material_key="board").pk))


def deliveries(order) -> str:
    return reverse("orders:deliveries", args=[order.job.number])


def text(response) -> str:
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_a_line_is_counted_on_a_phone_and_the_office_sees_what_is_outstanding(fitter, office, order):
    board = board_of(order)
    result = send(fitter, order, "came", line=board.key, seen="", here="8", damaged="1", note="Corner broken")
    assert result["outcome"] == "applied" and "3 sheets outstanding" in result["html"]
    page = text(office.get(reverse("orders:orders", args=[order.job.number])))
    assert "2 of 2 outstanding" in page and "3 sheets Board" in page
    shown = text(office.get(reverse("orders:order", args=[order.job.number, order.number])))
    assert "8 here, 1 damaged. Corner broken" in shown
    send(fitter, order, "came", line=board.key, seen=board_of(order).seen, here="11", damaged="1")
    send(fitter, order, "came", line=str(order.lines.get(material_key="stud").pk), here="4", damaged="0")
    assert placed_of(order.job)[0].outstanding == []
    assert "All here" in text(office.get(reverse("orders:orders", args=[order.job.number])))


def test_two_who_count_otherwise_are_both_shown_and_the_later_count_stands(fitter, office, order):
    """Bea counts 8 at eleven; the fitter's phone, without signal since ten, then sends 10."""
    bea = signed_in(UserFactory(first_name="Bea", last_name="Ives", role="fitter"))
    order.job.visits.get().people.add(bea.user)
    key, now = board_of(order).key, timezone.now()
    send(bea, order, "came", at=now - timedelta(hours=1), line=key, seen="", here="8", damaged="0")
    result = send(fitter, order, "came", at=now - timedelta(hours=2), line=key, seen="", here="10", damaged="0")
    assert result["outcome"] == "conflict" and "Bea Ives counted 8 here" in result["told"]
    assert [count.here for count in board_of(order).counts] == [10, 8] and board_of(order).missing == 2
    page = text(office.get(deliveries(order)))
    assert "Two people counted differently" in page and page.count("8 here") >= 1 and "10 here" in page
    office.post(reverse("site:looked-at", args=[Act.objects.get(outcome="conflict").pk]))
    assert "Two people counted differently" not in text(office.get(deliveries(order)))


def test_two_who_count_the_same_make_ten_of_ten_and_no_conflict(fitter, order):
    bea = signed_in(UserFactory(role="fitter"))
    order.job.visits.get().people.add(bea.user)
    for client in (bea, fitter):
        assert send(client, order, "came", line=board_of(order).key, here="10")["outcome"] == "applied"
    assert (board_of(order).sound, board_of(order).missing, CheckOff.objects.count()) == (10, 0, 2)


@pytest.mark.parametrize(
    ("payload", "told"),
    [
        ({"line": "999999", "here": "1"}, "not on the order any more"),
        ({"line": "x", "here": "1"}, "not on the order any more"),
        ({"here": "1.5"}, "Whole packs only."),
        ({"here": "1", "damaged": "2"}, "More damaged than there are."),
        ({"here": ""}, "Packs here now"),
    ],
)
def test_what_cannot_be_counted_is_kept_and_told(fitter, order, payload, told):
    result = send(fitter, order, "came", **({"line": board_of(order).key} | payload))
    assert result["outcome"] == "refused" and told in result["told"]
    assert Act.objects.count() == 1 and not CheckOff.objects.exists()


def test_more_than_ordered_is_told(fitter, order):
    assert "2 more here than ordered" in send(fitter, order, "came", line=board_of(order).key, here="12")["told"]


def test_a_line_of_another_job_is_not_counted(fitter, order, takeoff):  # noqa: F811
    elsewhere = ordered(accepted_job(takeoff).revision.job)
    assert send(fitter, order, "came", line=str(elsewhere.lines.get().pk), here="1")["outcome"] == "refused"


def test_without_a_script_the_form_counts_with_a_photograph_and_keeps_what_is_wrong(fitter, order):
    address = reverse("orders:count", args=[order.job.number])
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "white").save(picture, "JPEG")
    picture.name, _ = "corner.jpg", picture.seek(0)
    posted = {"line": board_of(order).key, "here": "9", "damaged": "1", "note": "Corner", "photo": picture}
    assert fitter.post(address, posted).url == deliveries(order)
    assert SitePhoto.objects.get().about == str(board_of(order).standing.act.key)
    page = text(fitter.post(address, posted | {"here": "many", "photo": ""}))
    assert "Whole packs only." in page and 'value="many"' in page and 'value="Corner"' in page
    bad = io.BytesIO(b"no picture")
    bad.name = "x.jpg"
    assert "Corner" in text(fitter.post(address, posted | {"photo": bad})) and CheckOff.objects.count() == 1


def test_all_lines_nobody_has_counted_are_taken_as_here_by_one_press(fitter, order):
    send(fitter, order, "came", line=board_of(order).key, here="7")
    third = ordered(order.job, line("bar", 3), line("strip", 1))
    page = text(fitter.get(deliveries(order)))
    assert "All 2 lines not counted yet are here" in page
    keys = [str(pk) for pk in third.lines.values_list("pk", flat=True)]
    # board_of was counted meanwhile, and "999" is no line of this job: neither is touched.
    fitter.post(reverse("orders:count-all", args=[order.job.number]), {"line": [*keys, board_of(order).key, "999"]})
    assert board_of(order).standing.here == 7
    assert sorted(CheckOff.objects.filter(line__order=third).values_list("here", flat=True)) == [1, 3]
    assert "not counted yet are here" not in text(fitter.get(deliveries(order)))


def test_the_page_is_for_those_sent_there_shows_no_price_and_is_kept_on_the_phone(fitter, order, count_queries):
    page = text(fitter.get(deliveries(order)))
    assert "10 sheets" in page and "£" not in page and "20.25" not in page
    assert {deliveries(order), reverse("orders:used", args=[order.job.number])} <= set(pages_for(fitter.user))
    assert signed_in(UserFactory(role="fitter")).get(deliveries(order)).status_code == 404
    before = count_queries(fitter, deliveries(order))
    ordered(order.job, *(line(f"m{n}", 2) for n in range(5)))
    assert count_queries(fitter, deliveries(order)) == before


def test_what_comes_out_of_the_van_is_checked_off_and_outlives_a_new_number(fitter, office, order):
    sealant = MaterialFactory(key="sealant", name="Sealant", pack_unit="tube")
    row = FromVan.objects.create(job=order.job, material=sealant, packs=3)
    send(fitter, order, "came", line=f"van-{row.pk}", here="2")
    assert "1 tube outstanding" in text(fitter.get(deliveries(order)))
    from contractor.orders.services import van_set

    van_set(job=order.job, packs={sealant: 2}, by=office.user)
    (van,) = [row for row in material_of(order.job) if row.key == "sealant"]
    assert (van.asked, van.came) == (2, 2)


def test_nothing_ordered_says_so(fitter, pack):  # noqa: F811
    assert "Nothing is ordered for this job yet" in text(
        fitter.get(reverse("orders:deliveries", args=[pack.job.number]))
    )
    assert "nothing to say of its use" in text(fitter.get(reverse("orders:used", args=[pack.job.number])))


# By hand: 10 ordered, 9 came sound; 2.5 left over and 1 bought besides make 9 + 1 - 2.5 = 7.5.
def test_material_used_is_all_that_came_until_somebody_says_otherwise(fitter, order):
    send(fitter, order, "came", line=board_of(order).key, here="10", damaged="1")
    used = {row.key: row.used for row in material_of(order.job)}
    assert used == {"board": Decimal(9), "stud": Decimal(4)}
    result = send(fitter, order, "used", material="board", left_over="2.5", bought="1", note="To the van")
    assert result["outcome"] == "applied" and "7.5" in result["html"]
    assert {row.key: row.used for row in material_of(order.job)}["board"] == Decimal("7.5")
    send(fitter, order, "used", material="board", left_over="", bought="")
    assert {row.key: row.used for row in material_of(order.job)}["board"] == 9
    assert UsedMaterial.objects.count() == 2


@pytest.mark.parametrize(
    ("payload", "told"),
    [
        ({"material": "gone"}, "neither ordered nor"),
        ({"material": "board", "left_over": "11"}, "only 10 came"),
        ({"material": "board", "left_over": "-1"}, "Packs left over"),
        ({"material": "board", "bought": "x"}, "Bought besides"),
    ],
)
def test_what_cannot_be_left_over_is_told(fitter, order, payload, told):
    result = send(fitter, order, "used", **payload)
    assert result["outcome"] == "refused" and told in result["told"]


def test_without_a_script_use_is_said_and_errors_stand_beside_the_field(fitter, order):
    address = reverse("orders:say", args=[order.job.number])
    page = text(fitter.post(address, {"material": "board", "left_over": "12", "note": "Keep me"}))
    assert "Only 10 came." in page and "Keep me" in page and not UsedMaterial.objects.exists()
    assert fitter.post(address, {"material": "board", "left_over": "2"}).status_code == 302
    assert UsedMaterial.objects.get().left_over == 2


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite takes one writer at a time")
def test_two_counts_at_the_same_moment_are_both_kept(takeoff):  # noqa: F811
    order = ordered(accepted_job(takeoff).revision.job, line("board", 10))
    people, key = [UserFactory(), UserFactory()], board_of(order).key

    def press(person, here):
        payload = {"line": key, "seen": "", "here": here}
        what = {"job": order.job, "kind": "came", "payload": payload, "done_at": timezone.now()}
        return lambda: act_take(key=uuid4(), person=person, **what).outcome

    gave = at_once(press(people[0], "6"), press(people[1], "9"))
    assert sorted(gave) == ["applied", "conflict"] and CheckOff.objects.count() == 2
