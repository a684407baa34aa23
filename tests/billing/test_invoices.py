"""Stages, invoices in an unbroken series, payments, credit notes, the books."""

import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.db.models import ProtectedError
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from contractor.billing import services
from contractor.billing.models import Invoice, KeptForever
from contractor.billing.selectors import billing_settings, contract_of
from contractor.common.pdf import PdfUnavailable
from contractor.mail.models import Message
from tests.billing.conftest import account, approved, ask, pay, said

pytestmark = pytest.mark.django_db


def test_stages_begin_as_the_accepted_letter_says(accepted, sender):
    option = contract_of(accepted).option
    deposit = account(accepted).stages[0]
    assert deposit.amount == Decimal(option["deposit"])
    invoices = [ask(accepted, sender), ask(accepted, sender)]
    assert [invoice.total for invoice in invoices] == [Decimal(option["deposit"]), Decimal(option["balance"])]
    assert account(accepted).still_to_ask == 0


def test_numbers_run_without_a_gap_across_jobs_and_credit_notes(accepted, sender):
    first = ask(accepted, sender)
    credit = services.invoice_credit(invoice=first, user=sender, reason="Wrong name")
    again = ask(accepted, sender)
    assert [first.number, credit.number, again.number] == [1, 2, 3]
    assert credit.total == -first.total and again.total == first.total
    assert (credit.document["credits"], account(accepted).asked_total) == (1, first.total)


def test_a_refused_invoice_takes_no_number(accepted, sender):
    with pytest.raises(services.Refused, match="changed meanwhile"):
        services.invoice_next(job=accepted, user=sender, expected=Decimal("1.00"))
    assert ask(accepted, sender).number == 1


def test_an_approved_variation_comes_in_with_the_next_stage(accepted, sender):
    ask(accepted, sender)
    approved(accepted, sender, price="100")
    last = ask(accepted, sender)
    balance = Decimal(contract_of(accepted).option["balance"])
    assert last.total == balance + 120
    approved(accepted, sender, price="10")
    assert account(accepted).still_to_ask == 12
    more = ask(accepted, sender)
    assert (more.total, more.label) == (Decimal("12.00"), "Variations since the last stage")
    with pytest.raises(services.Refused):
        ask(accepted, sender)


def test_the_office_splits_the_sum_before_the_first_invoice(office, accepted, sender):
    url = reverse("billing:stages", args=[accepted.number])
    posted = {"label-1": "Order", "percent-1": "25", "label-2": "Boards sealed", "percent-2": "45"}
    assert "Together they are 70 %" in said(office.post(url, posted))
    assert "How much of the sum?" in said(office.post(url, posted | {"label-3": "End"}))
    assert office.post(url, posted | {"label-3": "End", "percent-3": "30"}).status_code == 302
    assert [stage.row.label for stage in account(accepted).stages] == ["Order", "Boards sealed", "End"]
    whole = account(accepted).contract_sum
    assert sum(ask(accepted, sender).total for _ in range(3)) == whole
    assert "invoiced already" in said(office.post(url, posted | {"label-3": "End", "percent-3": "30"}))


def test_what_is_late_is_said(office, accepted, sender):
    invoice = ask(accepted, sender)
    Invoice.objects.filter(pk=invoice.pk).update(due_on=timezone.localdate() - timedelta(days=1))
    assert "is overdue" in said(office.get(reverse("billing:money", args=[accepted.number])))
    pay(invoice, sender, invoice.total)
    page = said(office.get(reverse("billing:money", args=[accepted.number])))
    assert "is overdue" not in page and "may cancel until the end of" in page


def test_a_credit_note_goes_from_the_last_invoice_back(accepted, sender):
    first, last = ask(accepted, sender), ask(accepted, sender)
    with pytest.raises(services.Refused, match="later invoice"):
        services.invoice_credit(invoice=first, user=sender, reason="x")
    services.invoice_credit(invoice=last, user=sender, reason="x")
    services.invoice_credit(invoice=first, user=sender, reason="x")
    assert account(accepted).asked_total == 0
    with pytest.raises(services.Refused, match="taken back already"):
        services.invoice_credit(invoice=first, user=sender, reason="x")


def test_the_paper_says_what_was_frozen(office, accepted, sender, firm):
    invoice = ask(accepted, sender)
    firm.name = "Another name"
    firm.save()
    response = office.get(reverse("billing:invoice-pdf", args=[invoice.pk]))
    reader = PdfReader(io.BytesIO(response.content))
    paper = " ".join(page.extract_text() for page in reader.pages)
    assert "Tannery Yard Quiet Rooms" in paper and "Another name" not in paper
    assert "Invoice 1" in paper and "GB 000 0000 00" in paper and len(reader.pages) == 1


def test_it_is_posted_once_with_its_paper(office, accepted, sender, mailoutbox):
    invoice = ask(accepted, sender)
    for _ in range(2):
        office.post(reverse("billing:invoice-send", args=[invoice.pk]))
    assert Message.objects.filter(key=f"invoice:{invoice.pk}").count() == 1
    mails = [mail for mail in mailoutbox if "Invoice 1" in mail.subject]
    assert len(mails) == 1 and mails[0].attachments[0][0] == "invoice-1.pdf"
    page = said(office.get(reverse("billing:invoice", args=[invoice.pk])))
    assert "Sent</span>" in page and "Send it once more" in page
    for _ in range(2):  # the page knew of one e-mail when it was pressed twice
        office.post(reverse("billing:invoice-send", args=[invoice.pk]), {"copy": "1"})
    assert Message.objects.filter(key__startswith=f"invoice:{invoice.pk}").count() == 2


def test_the_series_only_begins_where_the_firm_says(office, accepted, sender):
    url = reverse("billing:settings")
    posted = {"next_number": "240", "days_to_pay": "7", "how_to_pay": "Sort code 00-00-00"}
    assert office.post(url, posted).status_code == 302
    invoice = ask(accepted, sender)
    assert invoice.number == 240 and invoice.due_on == timezone.localdate() + timedelta(days=7)
    office.post(url, posted | {"next_number": "5"})
    assert ask(accepted, sender).number == 241


def test_settings_read_before_an_invoice_and_kept_after_it_do_not_wind_the_series_back(accepted, sender):
    stale = billing_settings()
    first = ask(accepted, sender)
    stale.how_to_pay = "Sort code 00-00-00"
    services.settings_save(settings=stale, user=sender)
    assert (ask(accepted, sender).number, billing_settings().how_to_pay) == (first.number + 1, "Sort code 00-00-00")


def test_nothing_in_the_books_is_changed_or_deleted(accepted, sender):
    invoice = ask(accepted, sender)
    pay(invoice, sender, "1.00")
    for row in (invoice, invoice.payments.get()):
        for act in (row.delete, row.save, type(row).objects.filter(pk=row.pk).delete):
            with pytest.raises(KeptForever):
                act()
    with pytest.raises(ProtectedError):
        accepted.delete()


def test_vat_without_a_number_to_stand_on_it_is_not_invoiced(accepted, sender, firm):
    """HMRC VAT Notice 700, 16.3 (from memory): an invoice that charges VAT shows the supplier's registration number."""
    firm.vat_number = ""
    firm.save()
    with pytest.raises(services.Refused, match="no VAT number"):
        ask(accepted, sender)
    firm.vat_number = "GB 000 0000 00"
    firm.save()
    assert ask(accepted, sender).number == 1


def test_a_failure_half_way_leaves_no_hole_in_the_series(accepted, sender, monkeypatch):
    with monkeypatch.context() as broken:
        broken.setattr(Invoice.objects, "create", lambda **values: 1 / 0)
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            ask(accepted, sender)
    assert ask(accepted, sender).number == 1


def test_a_paper_that_cannot_be_drawn_leaves_the_invoice_and_keeps_the_letter_waiting(
    office, accepted, sender, mailoutbox, monkeypatch
):
    def cannot(*args):
        raise PdfUnavailable("PDFs need libpango")

    monkeypatch.setattr("contractor.billing.post.render_pdf", cannot)
    first = ask(accepted, sender)
    office.post(reverse("billing:invoice-send", args=[first.pk]))
    message = Message.objects.get(key=f"invoice:{first.pk}")
    assert message.state == "waiting" and "libpango" in message.problem
    assert not [mail for mail in mailoutbox if "Invoice" in mail.subject]
    assert "libpango" in said(office.get(reverse("billing:invoice", args=[first.pk])))
    assert ask(accepted, sender).number == first.number + 1


def test_the_page_asks_as_often_for_many_as_for_few(office, accepted, sender, count_queries):
    url = reverse("billing:money", args=[accepted.number])
    ask(accepted, sender)
    approved(accepted, sender)
    few = count_queries(office, url)
    ask(accepted, sender)
    for _ in range(3):
        approved(accepted, sender)
        pay(ask(accepted, sender), sender, "1.00")
    assert count_queries(office, url) == few <= 25
