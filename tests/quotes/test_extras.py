"""Optional extras: offered beside an option, ticked by the homeowner, frozen with the sum of the contract."""

import json
import re
from decimal import Decimal
from functools import partial
from io import BytesIO

import pytest
from django.core import mail
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from contractor.billing.reckoning import total
from contractor.billing.selectors import account_of, contract_of
from contractor.quotes import mail as quote_mail
from contractor.quotes import paper, services
from contractor.quotes.agreed import agreed_hash, agreed_option, chosen_extras, with_extras
from contractor.quotes.differences import differences
from contractor.quotes.document import _prices, fingerprint
from contractor.quotes.models import Decision, Discount, ExtraLine, Revision
from contractor.quotes.options import options_of
from contractor.quotes.prices import Reduction
from contractor.quotes.pricing import price_option
from tests.at_once import at_once as run_at_once
from tests.quotes.results import takeoff
from tests.quotes.test_pricing import EXTRAS, FACES, RATES, RATES_STRATEGY, REDUCTIONS, extra, in_pence
from tests.quotes.test_proposal import ticked

PAINT = {"section": "finishing", "description": "Paint the new linings", "unit_price": Decimal("410.00")}
SHELF = {"section": "details", "description": "Shelf on the breast", "unit_price": Decimal("165.05")}
ANSWER = {"typed_name": "Ada Pell", "agreed_terms": True, "early_start": False, "address": "", "browser": ""}


def add_extra(job, **values):
    return ExtraLine.objects.create(job=job, is_optional=True, about="What it is, in words", **values)


@pytest.fixture
def paint(job):
    return add_extra(job, **PAINT)


@pytest.fixture
def shelf(job):
    """In the second option alone, at the reduced rate."""
    return add_extra(job, scheme=job.schemes.last(), vat_percent=5, vat_reason="adaptation", vat_evidence="x", **SHELF)


@pytest.fixture
def offered(paint, shelf, job, sender):
    return services.send(job=job, user=sender, valid_days=30)


def url(sent, name="proposal"):
    return reverse(f"quotes:{name}", args=[sent.token])


def key(line):
    return f"optional-{line.pk}"


def answer(client, sent, *extras, **changes):
    data = {"option": "2", "typed_name": "Ada Pell", "agreed_terms": "on", "extras": extras} | changes
    return client.post(url(sent, "proposal-accept"), data)


def text_of(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html))


# The arithmetic, for any option and any choice.


@settings(deadline=None, max_examples=60)
@given(
    faces=st.lists(FACES, max_size=4),
    rates=RATES_STRATEGY,
    lines=st.lists(EXTRAS, max_size=5),
    reductions=REDUCTIONS,
    data=st.data(),
)
def test_any_choice_adds_up_in_pence(faces, rates, lines, reductions, data):
    lines = [extra(**vars(line) | {"pk": n, "is_optional": n % 2 == 0}) for n, line in enumerate(lines)]
    priced = price_option(takeoff(faces), rates, lines, (), reductions)
    option = {"name": "Any", "deposit_percent": "30"} | _prices(priced)
    plain = price_option(takeoff(faces), rates, [line for line in lines if not line.is_optional], (), reductions)
    assert (priced.net, priced.total) == (plain.net, plain.total)  # extras and what they cost are in no total
    offered = [e["key"] for e in option["extras"]]
    assert len(offered) == len([line for line in lines if line.is_optional])
    ticked = data.draw(st.sets(st.sampled_from(offered))) if offered else set()
    chosen = chosen_extras(option, ticked)
    agreed = with_extras(option, chosen)
    as_pence = lambda amount: in_pence(Decimal(amount))  # noqa: E731
    assert as_pence(agreed["total"]) == as_pence(option["total"]) + sum(as_pence(e["total"]) for e in chosen)
    for section in agreed["sections"]:
        assert as_pence(section["net"]) == sum(as_pence(line["net"]) for line in section["lines"])
    assert as_pence(agreed["net"]) == sum(as_pence(section["net"]) for section in agreed["sections"])
    assert as_pence(agreed["net"]) == sum(as_pence(band["net"]) for band in agreed["vat"])
    assert as_pence(agreed["vat_total"]) == sum(as_pence(band["vat"]) for band in agreed["vat"])
    assert as_pence(agreed["total"]) == as_pence(agreed["net"]) + as_pence(agreed["vat_total"])
    if chosen:
        assert as_pence(agreed["deposit"]) + as_pence(agreed["balance"]) == as_pence(agreed["total"])


def test_an_extra_reckoned_by_hand_and_no_discount_on_it():
    # 1882.64 less 5 % = 1788.51 net; VAT 357.702 → 357.70; 2146.21. Extra 165.05 + 5 % = 8.2525 → 8.25 → 173.30.
    off = Reduction(pk=1, percent=Decimal(5), amount=None, reason="Empty week")
    optional = extra(unit_price=Decimal("165.05"), vat_percent=Decimal(5), is_optional=True)
    priced = price_option(takeoff(), RATES, [optional], reductions=[off])
    assert priced.total == Decimal("2146.21")
    assert (priced.optional[0].vat, priced.optional[0].with_vat) == (Decimal("8.25"), Decimal("173.30"))


def test_a_credit_costs_nothing_and_comes_out_of_the_margin():
    # The margin without it is 381.80 (see the test of cost in test_pricing); a credit of 80 leaves 301.80.
    priced = price_option(takeoff(), RATES, [extra(unit_price=Decimal(-80))])
    assert (priced.margin, priced.uncosted_net) == (Decimal("301.80"), Decimal(0))
    line = next(line for line in priced.lines if line.extra_pk)
    assert line.trace[-1].working == "none: a credit is given out of the margin"


# The office.


def test_the_office_marks_a_line_as_an_extra(office, job):
    before = options_of(job)[0].priced.total
    line = {"section": "finishing", "description": "Paint", "quantity": "1", "unit": "item", "unit_price": "410"}
    line |= {"vat_percent": "20", "is_optional": "on"}
    refused = office.post(reverse("quotes:line-new", args=[job.number]), line | {"unit_price": "-5"})
    assert set(refused.context["form"].errors) == {"about", "unit_price"}
    assert 'value="Paint"' in refused.content.decode()
    office.post(reverse("quotes:line-new", args=[job.number]), line | {"about": "White, once it is dry."})
    priced = options_of(job)[0].priced
    assert priced.total == before
    assert priced.optional[0].with_vat == Decimal("492.00")
    page = office.get(reverse("quotes:quote", args=[job.number])).content.decode()
    assert "White, once it is dry." in page and "1 item × £410.00" in page and "£492.00" in page


def test_extras_add_no_queries(office, job, paint, count_queries):
    address = reverse("quotes:quote", args=[job.number])
    office.get(address)  # the first look lays the draft down
    one = count_queries(office, address)
    for n in range(4):
        add_extra(job, **PAINT | {"description": f"Extra {n}"})
    assert count_queries(office, address) == one


def test_a_line_that_becomes_an_extra_is_told_as_such(paint, job, sender):
    first = services.send(job=job, user=sender, valid_days=30).revision.document
    ExtraLine.objects.update(is_optional=False)
    second = services.send(job=job, user=sender, valid_days=30).revision.document
    ExtraLine.objects.update(is_optional=True, unit_price=450)
    third = services.send(job=job, user=sender, valid_days=30).revision.document
    told = [
        (c.kind, c.section) for c in differences(first, second).options[0].lines if "Paint" in c.line["description"]
    ]
    assert told == [("removed", "Optional extra, in no total"), ("added", "Finishing")]
    change = next(c for c in differences(first, third).options[0].lines)
    assert change.kind == "changed" and {"unit_price", "net", "vat", "total"} <= change.moved
    assert not differences(first, third).options[0].sums  # no total moves with an extra


# The letter.


def test_the_letter_offers_them_with_price_and_words(stranger, offered, paint, shelf):
    page = stranger.get(url(offered)).content.decode()
    for words in ("Paint the new linings", "What it is, in words", "£492.00", "£173.30", "Only with “Wall and void”."):
        assert words in text_of(page)
    assert page.count('name="extras"') == 2
    assert ticked(page) == 0
    assert "extras.js" in page


def test_without_a_script_the_sum_is_shown_before_anything_is_accepted(stranger, offered, paint, shelf):
    whole = Decimal(offered.revision.document["options"][1]["total"]) + Decimal("492.00") + Decimal("173.30")
    page = answer(stranger, offered, key(paint), key(shelf), show="sum").content.decode()
    assert f"What you order comes to £{whole:,.2f} with VAT" in text_of(page)
    assert ticked(page) == 4 and 'value="Ada Pell"' in page and not Decision.objects.exists()
    page = answer(stranger, offered, key(paint), key(shelf)).content.decode()
    assert f"With these it is £{whole:,.2f} with VAT. Look at it, then accept once more." in text_of(page)
    assert f'name="sum_shown" value="{whole}"' in page and not Decision.objects.exists()
    answer(stranger, offered, key(paint), key(shelf), sum_shown=str(whole))
    assert Decision.objects.get().contract_sum == whole


@pytest.mark.parametrize("tampered", ["optional-0", "extra-1", "<script>", ""])
def test_an_extra_that_was_not_offered_is_refused(stranger, offered, paint, tampered):
    page = answer(stranger, offered, key(paint), tampered, sum_shown="1.00").content.decode()
    assert "This proposal has no such extra" in page
    assert 'value="Ada Pell"' in page and not Decision.objects.exists()
    with pytest.raises(ValueError, match="no optional extra"):
        services.accept(link=offered.link, option_key="2", extra_keys=["optional-0"], **ANSWER)
    assert Revision.objects.get().status == "sent"


def test_an_extra_of_another_option_is_refused_by_name(stranger, offered, shelf):
    page = text_of(answer(stranger, offered, key(shelf), option="1").content.decode())
    assert "“Shelf on the breast” does not go with “Party wall”" in page
    with pytest.raises(ValueError, match="no optional extra"):
        services.accept(link=offered.link, option_key="1", extra_keys=[key(shelf)], **ANSWER)
    assert not Decision.objects.exists()


def test_a_sum_that_was_not_on_the_page_is_not_accepted(stranger, offered, paint):
    page = answer(stranger, offered, key(paint), sum_shown="1.00").content.decode()
    assert "accept once more" in page and not Decision.objects.exists()


def test_nothing_ticked_is_the_price_that_stands_there(stranger, offered):
    answer(stranger, offered)
    decision = Decision.objects.get()
    assert decision.extras == []
    assert decision.contract_sum == Decimal(offered.revision.document["options"][1]["total"])


# What is agreed.


@pytest.fixture
def agreed(offered, paint, shelf):
    return services.accept(link=offered.link, option_key="2", extra_keys=[key(paint), key(shelf)], **ANSWER)


def test_acceptance_freezes_extras_sum_and_hash(agreed, offered, paint):
    agreed.refresh_from_db()
    assert [e["description"] for e in agreed.extras] == ["Paint the new linings", "Shelf on the breast"]
    base = Decimal(offered.revision.document["options"][1]["total"])
    assert agreed.contract_sum == base + Decimal("492.00") + Decimal("173.30")
    assert agreed.document_hash == fingerprint(agreed.revision.document)
    assert agreed.agreed_hash == agreed_hash(agreed)
    paint.unit_price = 9999
    paint.save()
    assert agreed_option(Decision.objects.get())["total"] == str(agreed.contract_sum)
    agreed.extras.pop()
    assert agreed.agreed_hash != agreed_hash(agreed)


def test_the_contract_and_its_stages_hold_the_extras(agreed, job):
    contract = contract_of(job)
    account = account_of(job, contract)
    assert total(contract.bands) == account.contract_sum == agreed.contract_sum
    assert {"Paint the new linings", "Shelf on the breast"} <= {line["description"] for line in contract.lines}
    assert sum(stage.amount for stage in account.stages) == pytest.approx(agreed.contract_sum, abs=Decimal("0.01"))
    assert Decimal(contract.option["deposit"]) + Decimal(contract.option["balance"]) == agreed.contract_sum


def test_both_sides_read_what_was_chosen(stranger, office, agreed, offered, job):
    whole = f"£{agreed.contract_sum:,.2f}"
    told = "accepted “Wall and void” with “Paint the new linings” and “Shelf on the breast” for " + whole
    assert told in text_of(stranger.get(url(offered)).content.decode())
    evidence = text_of(office.get(reverse("quotes:revision", args=[offered.revision.pk])).content.decode())
    for words in ("Paint the new linings, £492.00", "Shelf on the breast, £173.30", whole, agreed.agreed_hash):
        assert words in evidence
    assert "Fits the record" in evidence
    assert len(mail.outbox) >= 2
    for message in mail.outbox[-2:]:
        assert "Extra: Paint the new linings, £492.00" in message.body
        assert f"Sum of the contract: {whole} with VAT" in message.body
    assert "with 2 extras" in office.get(reverse("quotes:quote", args=[job.number])).content.decode()


def test_the_durable_copy_says_what_was_chosen(agreed):
    pages = PdfReader(BytesIO(paper.proposal_pdf(agreed.revision, agreed))).pages
    words = " ".join(" ".join(page.extract_text() for page in pages).split())
    for part in ("Optional extras", "Paint the new linings", "Sum of the contract", f"{agreed.contract_sum:,.2f}"):
        assert part in words


def test_extras_that_were_left_are_in_nothing_that_is_owed(offered, paint, job):
    decision = services.accept(link=offered.link, option_key="2", extra_keys=[key(paint)], **ANSWER)
    assert "Shelf" not in json.dumps(decision.extras)
    assert "Shelf" not in json.dumps(agreed_option(decision)["sections"])


def test_the_discount_says_that_it_does_not_cover_them(stranger, paint, job, sender):
    Discount.objects.create(job=job, percent=5, reason="Empty week", made_by=sender)
    sent = services.send(job=job, user=sender, valid_days=30)
    assert "The discount is not taken off them." in stranger.get(url(sent)).content.decode()


def test_a_quote_from_before_extras_opens_and_can_be_accepted(stranger, office, sent):
    document = json.loads(json.dumps(sent.revision.document)) | {"format": 3}
    for option in document["options"]:
        del option["extras"], option["deposit_percent"]
    Revision.objects.update(document=document, document_hash=fingerprint(document))
    page = stranger.get(url(sent)).content.decode()
    assert "Optional extras" not in page and "extras.js" not in page
    assert office.get(reverse("quotes:quote", args=[sent.revision.job.number])).status_code == 200
    answer(stranger, sent)
    decision = Decision.objects.get()
    assert (decision.extras, decision.contract_sum) == ([], Decimal(document["options"][1]["total"]))
    Decision.objects.update(agreed_hash="", contract_sum=None)  # as an acceptance from before has it
    assert office.get(reverse("quotes:revision", args=[sent.revision.pk])).status_code == 200
    assert total(contract_of(sent.revision.job).bands) == Decimal(document["options"][1]["total"])


@pytest.mark.django_db(transaction=True)
def test_two_choices_at_once_make_one_contract(offered, paint, shelf, job, monkeypatch):
    monkeypatch.setattr(quote_mail, "proposal_pdf", lambda revision, decision: b"%PDF")

    def accepting(*keys):
        return lambda: services.accept(
            link=type(offered.link).objects.get(pk=offered.link.pk), option_key="2", extra_keys=keys, **ANSWER
        )

    choices = [(), (key(paint),), (key(shelf),), (key(paint), key(shelf))]
    at_once = partial(run_at_once, refusals=(services.NotOpen,))
    outcomes = at_once(*(accepting(*keys) for keys in choices))
    made = [outcome for outcome in outcomes if isinstance(outcome, Decision)]
    assert len(made) == 1
    kept = Decision.objects.get()
    assert (kept.extras, kept.contract_sum) == (made[0].extras, made[0].contract_sum)
    assert total(contract_of(job).bands) == kept.contract_sum


def test_the_fitters_and_the_handover_read_what_was_ordered_besides(agreed, job, office):
    from contractor.handover.selectors import draft_of

    pack = job.work_pack
    assert [e["description"] for e in pack.document["extras"]] == ["Paint the new linings", "Shelf on the breast"]
    assert "492" not in json.dumps(pack.document["extras"])
    page = office.get(reverse("fitting:pack", args=[job.number])).content.decode()
    assert "Ordered besides" in page and "Shelf on the breast" in page and "£" not in page
    document = draft_of(job, number=1, made_at=agreed.at)
    assert document["extras"] == pack.document["extras"]
