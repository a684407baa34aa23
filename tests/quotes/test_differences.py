"""What changed since the quote was sent, and between any two that were sent."""

from datetime import timedelta
from decimal import Decimal

from django.urls import reverse
from django.utils import timezone

from contractor.quotes import services
from contractor.quotes.differences import differences
from contractor.quotes.models import Discount, ExtraLine, Revision
from contractor.rooms.models import Calculation
from tests.factories import JobFactory
from tests.quotes.results import calculated_scheme, face, predictions, takeoff


def line(key, net="10.00", **changes):
    plain = {
        "key": key,
        "description": "Skip",
        "where": "",
        "quantity": "1",
        "unit": "item",
        "unit_price": net,
        "net": net,
        "vat_percent": "20",
    }
    return plain | changes


def document(*lines, total="12.00", **changes):
    sections = [{"label": "Waste", "net": "10.00", "lines": list(lines)}]
    option = {"scheme_id": 1, "name": "Wall", "summary": "", "sections": sections, "rooms": [], "total": total}
    return {"options": [option | {"net": "10.00", "vat_total": "2.00"}], "terms": "Pay."} | changes


def kinds(before, after):
    return [(c.kind, c.line["key"], c.moved) for option in differences(before, after).options for c in option.lines]


def test_nothing_differs_from_itself():
    assert not differences(document(line("a"), line("b")), document(line("b"), line("a")))


def test_lines_are_added_removed_and_changed():
    before = document(line("a"), line("b"), line("c"))
    after = document(line("b", net="12.00"), line("c"), line("d"))
    assert kinds(before, after) == [
        ("removed", "a", set()),
        ("changed", "b", {"unit_price", "net"}),
        ("added", "d", set()),
    ]
    changes = differences(before, after).options[0].lines
    assert [change.net_change for change in changes] == [Decimal("-10.00"), Decimal("2.00"), Decimal("10.00")]


def test_lines_of_one_key_are_told_apart():
    assert kinds(document(line("a"), line("a")), document(line("a"))) == [("removed", "a", set())]


def test_documents_without_keys_are_matched_by_what_the_lines_say():
    before = document({k: v for k, v in line("a").items() if k != "key"})
    assert not differences(before, document(line("a")))
    assert differences(before, document(line("a", description="Bags"))).options


def test_options_and_texts_that_come_or_go_are_told():
    gone = document(line("a")) | {"options": []}
    assert [option.kind for option in differences(document(line("a")), gone).options] == ["removed"]
    assert [option.kind for option in differences(gone, document(line("a"))).options] == ["added"]
    changed = differences(document(terms="Pay."), document(terms="Pay later."))
    assert [(text.name, text.before, text.after) for text in changed.texts] == [("Terms", "Pay.", "Pay later.")]
    assert not differences(document(opening="Dear both"), document())  # only one side carries it


def quote_page(office, job):
    return office.get(reverse("quotes:quote", args=[job.number]))


def test_the_quote_page_tells_line_by_line_what_changed_since_it_was_sent(office, job, sent):
    page = quote_page(office, job)
    assert not page.context["changes"]
    assert "As in quote 1" in page.content.decode()
    frozen = Revision.objects.get().document
    first = job.schemes.first()
    Calculation.objects.filter(scheme=first).update(
        takeoff=takeoff([face(quantity="9.60")]), predictions=predictions(51)
    )
    ExtraLine.objects.create(job=job, section="waste", description="Bags by hand", unit_price=30)
    page = quote_page(office, job)
    option = page.context["changes"].options[0]
    by_text = {change.line["description"]: change for change in option.lines}
    assert by_text["Bags by hand"].kind == "added"
    assert "quantity" in by_text["Independent steel lining, two dense boards"].moved
    assert [(room.before, room.after) for room in option.rooms] == [("45 → 53 dB ± 4", "45 → 51 dB ± 4")]
    text = page.content.decode()
    for words in ("Changed since quote 1", "Bags by hand", "8.64 m² → 9.6 m²", "The customer still sees quote 1"):
        assert words in text
    assert Revision.objects.get().document == frozen


def test_the_firms_new_rates_are_told(office, job, sent, firm):
    firm.overhead_profit_percent = 30
    firm.terms = "New terms."
    firm.save()
    changes = quote_page(office, job).context["changes"]
    assert all("unit_price" in change.moved for change in changes.options[0].lines)
    assert [text.name for text in changes.texts] == ["Terms"]


def test_any_two_revisions_are_set_against_each_other(office, job, sent, sender, count_queries):
    Discount.objects.create(job=job, percent=5, reason="Empty week in May", made_by=sender)
    later = services.send(job=job, user=sender, valid_days=30, opening="Dear both")
    url = reverse("quotes:against", args=[sent.revision.pk, later.revision.pk])
    text = office.get(url).content.decode()
    for words in ("From quote 1 to quote 2", "Empty week in May", "Added", "Dear both", "Superseded"):
        assert words in text
    assert (
        "Removed" in office.get(reverse("quotes:against", args=[later.revision.pk, sent.revision.pk])).content.decode()
    )
    assert url in office.get(reverse("quotes:revision", args=[later.revision.pk])).content.decode()
    two = count_queries(office, url)
    services.send(job=job, user=sender, valid_days=30)
    assert count_queries(office, url) == two


def test_cost_and_margin_stand_in_no_difference(office, job, sent, sender):
    later = services.send(job=job, user=sender, valid_days=30)
    text = office.get(reverse("quotes:against", args=[sent.revision.pk, later.revision.pk])).content.decode()
    assert "Both say the same" in text
    assert "margin" not in text.lower()


def test_revisions_of_two_jobs_are_not_set_against_each_other(office, job, sent, sender):
    other = JobFactory()
    calculated_scheme(other)
    foreign = services.send(job=other, user=sender, valid_days=30)
    assert office.get(reverse("quotes:against", args=[sent.revision.pk, foreign.revision.pk])).status_code == 404


def test_expired_and_superseded_are_told(office, job, sent, sender):
    services.send(job=job, user=sender, valid_days=30)
    Revision.objects.filter(number=2).update(valid_until=timezone.localdate() - timedelta(days=1))
    text = quote_page(office, job).content.decode()
    assert ">Expired<" in text and ">Superseded<" in text
