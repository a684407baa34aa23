"""The order page, its table for a spreadsheet and its paper."""

import csv
import io
from datetime import date, timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from contractor.accounts.models import AuditEntry
from contractor.catalogue.models import Supplier
from contractor.orders.models import FromVan, Order
from contractor.quotes.models import Decision, Revision
from tests.factories import JobFactory, MaterialFactory, UserFactory, VisitFactory
from tests.quotes.results import calculated_scheme, takeoff

pytestmark = pytest.mark.django_db
BUY = takeoff()["buy"][0]


@pytest.fixture(autouse=True)
def standing_calculations(monkeypatch):
    monkeypatch.setattr("contractor.rooms.services.calculate", lambda *, scheme: scheme.calculation)


@pytest.fixture
def board():
    supplier = Supplier.objects.create(name="Mere Boards", email="orders@mere.example.com", account_note="No. 4417")
    return MaterialFactory(key="dense-board-15", name="Dense board 15", supplier=supplier)


@pytest.fixture
def job(board):
    made = JobFactory(stage="accepted")
    studs = BUY | {"material_key": "stud", "material": "=Stud", "packs": 9, "cost": "18.00", "lead_time_days": 1}
    MaterialFactory(key="stud", name="=Stud")
    calculated_scheme(made, "Party wall", 1, takeoff_json=takeoff(buy=[BUY, studs]))
    calculated_scheme(made, "Wall and void", 2, takeoff_json=takeoff(buy=[BUY | {"packs": 8}]))
    return made


def page_of(job) -> str:
    return reverse("orders:orders", args=[job.number])


def text(response) -> str:
    assert response.status_code == 200
    return response.content.decode()


def rows(response) -> list[dict]:
    assert response["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))


def test_the_page_splits_by_supplier_and_asks_for_a_fitting_day(office, job):
    page = text(office.get(page_of(job)))
    assert page.index("Mere Boards") < page.index("No supplier named yet")
    assert "No. 4417" in page and "Book the first day of fitting" in page


def test_a_booked_day_says_by_when_to_order_and_what_is_late(office, job):
    VisitFactory(job=job, on_date=date.today() + timedelta(days=1))
    page = text(office.get(page_of(job)))
    assert "cannot be there in time" in page and "Late" in page
    job.visits.update(on_date=date(2099, 6, 5))  # a Friday: there on Thursday, three working days before is Monday
    page = text(office.get(page_of(job)))
    assert "Order by Mon 1 Jun 2099" in page and "cannot be there in time" not in page


@pytest.fixture
def accepted(job):
    """The job's second option was sent with its take-off, and accepted."""
    scheme = job.schemes.get(name="Wall and void")
    studs = BUY | {"material_key": "stud", "material": "=Stud", "packs": 9, "mass_kg": "18", "lead_time_days": 1}
    frozen = takeoff(buy=[BUY, studs])
    revision = Revision.objects.create(
        job=job, number=1, status="accepted", document={}, document_hash="0" * 64, sent_by=UserFactory(),
        internal={"options": [{"name": "Party wall"}, {"name": scheme.name, "takeoff": frozen}]},
        sent_at="2026-11-01T09:00Z", valid_until=date(2026, 12, 1),
    )  # fmt: skip
    return Decision.objects.create(
        revision=revision, answer="accepted", option=scheme.name, scheme=scheme, typed_name="C",
        agreed_terms=True, document_hash="0" * 64,
    )  # fmt: skip


def test_after_acceptance_the_frozen_take_off_is_ordered_whatever_the_survey_says_now(office, job, accepted):
    page = text(office.get(page_of(job)))
    assert "6 sheets" in page and "8 sheets" not in page and "as it was accepted" in page
    accepted.scheme.delete()
    assert "6 sheets" in text(office.get(page_of(job)))


def test_before_acceptance_nothing_leaves_the_page(office, job):
    page = text(office.get(page_of(job)))
    assert "nothing can be ordered" in page and "order.pdf" not in page and "Write an order down" not in page
    for name in ("table", "pdf"):
        assert office.get(reverse(f"orders:{name}", args=[job.number])).url == page_of(job)
    place = reverse("orders:place", args=[job.number, "none"])
    assert office.post(place, {"packs-0": "6"}).url == page_of(job)
    assert not Order.objects.exists()


def test_the_van_is_kept_for_the_job_and_deducted(office, job, board):
    response = office.post(page_of(job), {f"van-{board.pk}": "2"})
    assert response.status_code == 302
    assert FromVan.objects.get(job=job).packs == 2
    assert AuditEntry.objects.get(action="van stock set").detail["packs"] == {"dense-board-15": 2}
    assert "4 sheets" in text(office.get(page_of(job)))
    assert "6 sheets" in text(office.get(page_of(calculated_scheme(JobFactory()).job)))
    office.post(page_of(job), {f"van-{board.pk}": ""})
    assert not FromVan.objects.exists()


@pytest.mark.parametrize(
    ("typed", "message"), [("7", "Only 6 needed."), ("-1", "Not below nought."), ("1.5", "Whole packs only.")]
)
def test_what_the_van_cannot_hold_is_refused_beside_its_field(office, job, board, typed, message):
    page = text(office.post(page_of(job), {f"van-{board.pk}": typed}))
    assert message in page and f'value="{typed}"' in page
    assert not FromVan.objects.exists()


def test_the_table_holds_what_is_ordered_and_runs_nothing(office, job, board, accepted):
    office.post(page_of(job), {f"van-{board.pk}": "2"})
    table = rows(office.get(reverse("orders:table", args=[job.number])))
    assert [(r["Supplier"], r["Material"], r["Packs"], r["Cost ex VAT"]) for r in table] == [
        ("Mere Boards", "Dense board 15", "4", "81.00"),
        ("", "'=Stud", "9", "182.25"),
    ]
    one = rows(office.get(reverse("orders:table", args=[job.number]) + f"?supplier={board.supplier_id}"))
    assert [r["Material"] for r in one] == ["Dense board 15"]
    assert office.get(reverse("orders:table", args=[job.number]) + "?supplier=99999").status_code == 404


def test_the_paper_has_a_page_for_each_supplier(office, job, accepted):
    response = office.get(reverse("orders:pdf", args=[job.number]))
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages]
    assert len(pages) == 2
    assert "Mere Boards" in pages[0] and "Dense board 15" in pages[0] and "£121.50" in pages[0]
    assert "no supplier named yet" in pages[1] and "Larch Rise" in pages[1]


def test_an_option_of_another_job_is_not_found(office, job):
    other = calculated_scheme(JobFactory())
    assert office.get(page_of(job) + f"?option={other.pk}").status_code == 404


def test_a_job_without_a_treatment_says_what_to_do(office):
    assert "Choose a treatment" in text(office.get(page_of(JobFactory())))


def test_lines_and_suppliers_add_no_queries(office, job, count_queries):
    count_queries(office, page_of(job))
    before = count_queries(office, page_of(job))
    calculation = job.schemes.get(name="Party wall").calculation
    for n in range(4):
        MaterialFactory(key=f"more-{n}", supplier=Supplier.objects.create(name=f"More {n}"))
        calculation.takeoff["buy"].append(BUY | {"material_key": f"more-{n}"})
    calculation.save()
    assert count_queries(office, page_of(job)) == before


def test_once_fitting_has_begun_the_page_says_so(office, job):
    VisitFactory(job=job)
    page = text(office.get(page_of(job)))
    assert "Fitting has begun" in page and "cannot be there in time" not in page
