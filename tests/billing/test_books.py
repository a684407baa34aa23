"""The firm's list of invoices, the statement, and the tables for bookkeeping."""

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from contractor.billing import services
from contractor.billing.models import Invoice, Payment
from contractor.billing.payment_services import payment_take_back
from contractor.billing.selectors import invoices_between, open_of
from contractor.billing.standing import invoices_standing, sums_standing
from contractor.billing.statement import statement_of
from contractor.common.sheets import harmless, sheet
from contractor.mail.models import Message
from tests.billing.conftest import account, approved, ask, pay, said

pytestmark = pytest.mark.django_db


def rows_of(response) -> list[dict]:
    return list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))


def test_the_books_as_tables(office, accepted, sender):
    customer = accepted.property.customer
    customer.name = "=HYPERLINK(1)"
    customer.save()
    invoice = ask(accepted, sender)
    services.invoice_credit(invoice=invoice, user=sender, reason="Name")
    again = ask(accepted, sender)
    pay(again, sender, "5.50", note="-ref 7")
    rows = rows_of(office.get("/books/invoices.csv"))
    assert [(row["Number"], row["Kind"]) for row in rows] == [("1", "Invoice"), ("2", "Credit note"), ("3", "Invoice")]
    assert Decimal(rows[1]["Gross"]) == -invoice.total and rows[1]["Takes back"] == "1"
    assert rows[0]["Customer"] == "'=HYPERLINK(1)"
    assert (rows[2]["Paid"], rows[2]["Open"]) == ("5.50", f"{again.total - Decimal('5.50'):.2f}")
    assert sum(Decimal(row["Open"]) for row in rows) == account(accepted).owed
    (payment,) = rows_of(office.get("/books/payments.csv"))
    assert payment["Amount"] == "5.50" and payment["Note"] == "'-ref 7"
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    assert rows_of(office.get(f"/books/invoices.csv?first={tomorrow}")) == []
    assert "Before the first day." in said(office.get(f"/books/invoices.csv?first={tomorrow}&last=2020-01-01"))


def test_payments_go_by_their_own_day(office, accepted, sender):
    """A bookkeeper of a month wants what came in then, whenever it was asked for."""
    today = timezone.localdate()
    pay(ask(accepted, sender), sender, "5.00", on_date=today - timedelta(days=40))
    wanted = today - timedelta(days=41), today - timedelta(days=30)
    url = "/books/{}.csv?first={}&last={}"
    assert len(rows_of(office.get(url.format("payments", *wanted)))) == 1
    assert rows_of(office.get(url.format("invoices", *wanted))) == []


def test_tables_hold_the_mark_and_the_points_that_are_told(office, accepted, sender):
    ask(accepted, sender)
    body = office.get("/books/invoices.csv").content
    assert body.startswith(b"\xef\xbb\xbf") and body.endswith(b"\r\n")
    page = said(office.get(reverse("billing:books")))
    assert "UTF-8 with a byte order mark" in page
    for heading in body.decode("utf-8-sig").splitlines()[0].split(","):
        assert f"<dt>{heading}</dt>" in page


# OWASP, "CSV Injection" (from memory): = + - @, tab and carriage return begin a formula, their full-width forms too.
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", " =", "＝", "＋", "－", "＠"])
def test_text_that_begins_as_a_formula_is_harmless(start):
    (row,) = csv.reader(io.StringIO(sheet([], [[f"{start}1+1", "safe", Decimal("-1.50"), -3]]).split("\r\n", 1)[1]))
    assert row == [f"'{start}1+1", "safe", "-1.50", "-3"]
    assert harmless(harmless(f"{start}1")) == harmless(f"{start}1")


def test_the_list_reckons_as_the_jobs_do(accepted, sender):
    first = ask(accepted, sender)
    pay(first, sender, first.total + Decimal("0.30"), is_more=True)
    services.invoice_credit(invoice=first, user=sender, reason="Name")
    again = ask(accepted, sender)
    for amount in ("0.10", "0.20"):
        pay(again, sender, amount)
    by_sql = {invoice.pk: invoice.still for invoice in invoices_standing()}
    assert by_sql == {invoice.pk: open_of(invoice) for invoice in invoices_between(None, None)}
    Invoice.objects.filter(pk=again.pk).update(due_on=timezone.localdate() - timedelta(days=1))
    still = again.total - Decimal("0.30")
    assert sums_standing() == {"open": still, "overdue": still, "over": -first.total - Decimal("0.30")}
    assert [list(invoices_standing(show)) for show in ("open", "overdue", "over")] == [[again], [again], [first]]


def test_the_list_of_the_firm(office, accepted, sender, count_queries):
    url = reverse("billing:books")
    assert "belong here" in said(office.get(url))
    first = ask(accepted, sender)
    few = count_queries(office, url)
    pay(first, sender, first.total)
    services.invoice_credit(invoice=first, user=sender, reason="Name")
    again = ask(accepted, sender)
    pay(again, sender, again.total)
    ask(accepted, sender)
    assert count_queries(office, url) == few <= 9
    page = said(office.get(url))
    for state in ("Open</span>", "Paid</span>", "Credit note</span>", f"£{first.total:,.2f} over</span>"):
        assert state in page
    assert "None of that kind" in said(office.get(url + "?show=overdue"))


def test_the_statement_runs_by_days_to_what_is_owed(office, accepted, sender):
    first = ask(accepted, sender)
    pay(first, sender, "100.00", note="Ref 7")
    payment_take_back(payment=pay(first, sender, "7.77"), user=sender)
    approved(accepted, sender)
    last = ask(accepted, sender)
    statement = statement_of(accepted)
    assert [entry.balance for entry in statement.entries][-1] == statement.account.owed
    assert statement.account.owed == first.total + last.total - 100
    assert sum(Decimal(part["total"]) for part in statement.makes_up) == statement.account.contract_sum
    response = office.get(reverse("billing:statement-pdf", args=[accepted.number]))
    paper = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages)
    for words in ("V01", "Ref 7", f"{statement.account.owed:,.2f}", "Tannery Yard Quiet Rooms"):
        assert words in paper
    assert "7.77" not in paper and "7.77" in said(office.get(reverse("billing:money", args=[accepted.number])))


def test_the_statement_goes_by_e_mail_once_a_press(office, accepted, sender, mailoutbox):
    ask(accepted, sender)
    for _ in range(2):
        office.post(reverse("billing:statement-send", args=[accepted.number]), {"copy": "0"})
    (mail,) = [mail for mail in mailoutbox if "Statement" in mail.subject]
    assert mail.attachments[0][0] == f"statement-{accepted.number}.pdf"
    office.post(reverse("billing:statement-send", args=[accepted.number]), {"copy": "1"})
    assert Message.objects.filter(key__startswith=f"statement:{accepted.pk}").count() == 2


def test_without_a_contract_there_is_no_statement(office, job):
    assert office.get(reverse("billing:statement-pdf", args=[job.number])).status_code == 302
    assert not Payment.objects.exists()
