"""Orders as they are written down: off the list, changes since line by line, cancelled, never twice."""

from datetime import timedelta

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from contractor.billing.models import Variation
from contractor.catalogue.models import Supplier
from contractor.mail.models import Message
from contractor.orders.models import MoreNeeded, Order
from contractor.orders.needs import changed_on_site
from contractor.orders.services import NotNow, order_place
from tests.at_once import at_once
from tests.factories import MaterialFactory, UserFactory
from tests.fitting.conftest import TAKEOFF, decision, holds_are_settled, pack, takeoff  # noqa: F401  (fixtures)
from tests.orders.placed import line, ordered

pytestmark = pytest.mark.django_db
ROW = next(row for row in TAKEOFF["buy"] if any(s["material_key"] == row["material_key"] for s in TAKEOFF["sheets"]))


@pytest.fixture
def board():
    supplier = Supplier.objects.create(name="Mere Boards", email="orders@mere.example.com")
    return MaterialFactory(key=ROW["material_key"], name=ROW["material"], supplier=supplier)


def page_of(job) -> str:
    return reverse("orders:orders", args=[job.number])


def place_page(job, board) -> str:
    return reverse("orders:place", args=[job.number, board.supplier_id])


def text(response) -> str:
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def form(**changes) -> dict:
    today = timezone.localdate()
    return {"last_seen": "0", "ordered_on": today.isoformat(), "due_on": "", "reference": ""} | changes


def test_what_is_ordered_is_off_the_list_and_mailed_once(office, pack, board):  # noqa: F811
    job, packs = pack.job, ROW["packs"]
    assert f'value="{packs}"' in text(office.get(place_page(job, board)))
    posted = form(mail="on", reference="Q-17", **{"packs-0": str(packs)})
    assert office.post(place_page(job, board), posted).url == page_of(job)
    order = Order.objects.get()
    assert (order.supplier_name, order.lines.get().packs, order.lines.get().needed_then) == (
        "Mere Boards",
        packs,
        packs,
    )
    message = Message.objects.get()
    assert message.to == "orders@mere.example.com" and f"{packs} × {ROW['material']}" in message.body
    assert "£" not in message.body and ROW["pack_price"] not in message.body
    assert "Nothing left to order" in text(office.get(page_of(job)))
    assert office.get(place_page(job, board)).url == page_of(job)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"packs-0": "1.5"}, "Whole packs only."),
        ({"packs-0": "-1"}, "Not below nought."),
        ({"packs-0": ""}, "Say of at least one material"),
        ({"packs-0": "2", "due_on": "2020-01-01"}, "Before it is ordered."),
        ({"packs-0": "2", "last_seen": "7"}, "written down meanwhile"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_typed_is_lost(office, pack, board, changes, told):  # noqa: F811
    page = text(office.post(place_page(pack.job, board), form(reference="Keep me") | changes))
    assert told in page and "Keep me" in page
    assert not Order.objects.exists()


def test_a_cancelled_order_is_to_order_again_unless_some_of_it_came(office, pack, board):  # noqa: F811
    order = ordered(pack.job, line(board.key, ROW["packs"]))
    address = reverse("orders:cancel", args=[pack.job.number, order.number])
    assert "This field is required" in text(office.post(address, {"why": ""}))
    assert office.post(address, {"why": "Wrong size"}).url == page_of(pack.job)
    page = text(office.get(page_of(pack.job)))
    assert "Cancelled" in page and "Nothing left to order" not in page


# Counted by hand: one sheet more in the pack's cutting plan than in the accepted one.
def test_a_surface_measured_again_moves_the_list_and_names_itself(office, pack, board):  # noqa: F811
    order = ordered(pack.job, line(board.key, ROW["packs"]))
    sheet = next(s for s in pack.document["sheets"] if s["material_key"] == board.key)
    pack.document["sheets"].append(sheet | {"number": 99})
    pack.document["faces"][0]["remeasured"] = {"changes": []}
    pack.save()
    page = text(office.get(page_of(pack.job)))
    assert "1 more to order" in page and "measured again on site: " + pack.document["faces"][0]["label"] in page
    shown = text(office.get(reverse("orders:order", args=[pack.job.number, order.number])))
    assert f"needed then {ROW['packs']}, now {ROW['packs'] + 1}" in shown


def test_an_untouched_pack_changes_nothing_and_a_stored_offcut_is_not_bought(pack):  # noqa: F811
    assert changed_on_site(TAKEOFF, pack.document) == {}
    sheet = pack.document["sheets"][0]
    pack.document["sheets"].append(sheet | {"number": 99, "from_offcut": "7/A"})
    assert changed_on_site(TAKEOFF, pack.document) == {}


def test_material_of_a_variation_counts_once_it_is_approved(office, pack, board):  # noqa: F811
    variation = Variation.objects.create(
        job=pack.job, number=1, title="Soft joist", cause="hidden", created_by=UserFactory()
    )
    timber = MaterialFactory(name="Joist 47 x 195")
    posted = {"material": timber.pk, "packs": "2", "why": "Splice", "variation": variation.pk}
    assert office.post(reverse("orders:more", args=[pack.job.number]), posted).url == page_of(pack.job)
    page = text(office.get(page_of(pack.job)))
    assert "waits for approval" in page and "+2 V01: Splice" not in page
    Variation.objects.update(status="approved", typed_name="C", answered_at=timezone.now())
    page = text(office.get(page_of(pack.job)))
    assert "waits for approval" not in page and "V01: Splice" in page and "Joist 47 x 195" in page
    assert MoreNeeded.objects.count() == 1


def test_no_query_more_for_more_orders(office, pack, board, count_queries):  # noqa: F811
    ordered(pack.job, line(board.key, 1))
    count_queries(office, page_of(pack.job))
    before = count_queries(office, page_of(pack.job))
    for n in range(3):
        ordered(pack.job, line(f"other-{n}", 2), line(f"more-{n}", 2))
    assert count_queries(office, page_of(pack.job)) == before


def test_the_week_and_the_order_know_the_new_day(office, pack, board):  # noqa: F811
    order = ordered(pack.job, line(board.key, 1))
    address = reverse("orders:order", args=[pack.job.number, order.number])
    assert "Before it was ordered" in text(office.post(address, {"due_on": "2020-01-01", "reference": "R"}))
    later = timezone.localdate() + timedelta(days=9)
    office.post(address, {"due_on": later.isoformat(), "reference": "R 5"})
    order.refresh_from_db()
    assert (order.due_on, order.reference) == (later, "R 5")


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite takes one writer at a time")
def test_two_who_order_at_once_order_once(takeoff):  # noqa: F811
    from tests.fitting.conftest import accepted_job

    job, people = accepted_job(takeoff).revision.job, [UserFactory(), UserFactory()]

    def press(person):
        values = {"ordered_on": timezone.localdate(), "due_on": None, "reference": "", "last_seen": 0}
        return lambda: order_place(job=job, supplier=None, lines=[(line(), 6)], by=person, **values)

    gave = at_once(*(press(person) for person in people), refusals=(NotNow,))
    assert sorted(isinstance(each, NotNow) for each in gave) == [False, True]
    assert Order.objects.count() == 1
