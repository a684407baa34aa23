"""Ticking extras on a phone: the sum follows with the script, and is shown before anything is ordered without it."""

from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from contractor.quotes.models import Decision
from tests.quotes.test_extras import offered, paint, shelf  # noqa: F401  (fixtures)

pytestmark = pytest.mark.django_db(transaction=True)
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


@pytest.fixture
def letter(browser, live_server, offered, monkeypatch):  # noqa: F811
    """Opens the letter on a phone: `letter()` gives the page, `letter.total` the price of the second option."""
    monkeypatch.setattr("contractor.quotes.mail.proposal_pdf", lambda revision, decision: b"%PDF")
    contexts = []

    def opened(**settings):
        contexts.append(browser.new_context(base_url=live_server.url, **PHONE, **settings))
        page = contexts[-1].new_page()
        page.goto(reverse("quotes:proposal", args=[offered.token]))
        return page

    opened.total = Decimal(offered.revision.document["options"][1]["total"])
    yield opened
    for context in contexts:
        context.close()


def sign(page):
    page.get_by_label("Your full name").fill("Ada Pell")
    page.get_by_label("I have read this proposal").check()


def order(page):
    page.get_by_role("button", name="Accept and order").click()
    page.wait_for_load_state()


def test_the_sum_follows_what_is_ticked(letter):
    page = letter()
    said = page.locator("[data-sum]")
    assert said.inner_text() == "Choose an option to see what it comes to."
    assert not page.get_by_role("button", name="Show me the sum").is_visible()
    page.get_by_role("radio", name="Wall and void").check()
    assert said.inner_text() == f"What you order comes to £{letter.total:,.2f} with VAT."
    page.get_by_role("checkbox", name="Paint the new linings").check()
    page.get_by_role("checkbox", name="Shelf on the breast").check()
    assert f"£{letter.total + Decimal('665.30'):,.2f}" in said.inner_text()  # 492.00 and 173.30
    page.get_by_role("radio", name="Party wall,").check()  # the shelf does not go with it
    assert page.get_by_role("checkbox", name="Shelf on the breast").is_disabled()
    page.get_by_role("radio", name="Wall and void").check()
    page.get_by_role("checkbox", name="Paint the new linings").uncheck()
    whole = letter.total + Decimal("173.30")
    assert f"£{whole:,.2f}" in said.inner_text()
    assert page.evaluate("window.policyViolations") == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}).violations_count == 0
    sign(page)
    order(page)
    assert Decision.objects.get().contract_sum == whole
    assert f"“Wall and void” with “Shelf on the breast” for £{whole:,.2f}" in page.locator("main").inner_text()


def test_without_a_script_the_sum_is_on_the_page_before_the_order(letter):
    page = letter(java_script_enabled=False)
    page.get_by_role("radio", name="Wall and void").check()
    page.get_by_role("checkbox", name="Paint the new linings").check()
    sign(page)
    page.get_by_role("button", name="Show me the sum").click()
    whole = letter.total + Decimal("492.00")
    assert f"£{whole:,.2f}" in page.locator("[data-sum]").inner_text()
    assert not Decision.objects.exists()
    page.get_by_role("checkbox", name="Shelf on the breast").check()
    order(page)  # for a sum that does not stand there yet
    assert not Decision.objects.exists()
    whole += Decimal("173.30")
    assert f"With these it is £{whole:,.2f} with VAT" in page.locator("#accept").inner_text()
    assert page.get_by_label("Your full name").input_value() == "Ada Pell"
    order(page)
    assert Decision.objects.get().contract_sum == whole
