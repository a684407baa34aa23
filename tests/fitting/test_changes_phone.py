"""In a browser without signal: a board swapped and a surface measured again, queued, sent, done once, conflicts shown."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from contractor.fitting.models import WorkPack
from contractor.fitting.swaps import place_seen
from contractor.site.models import Act
from tests.factories import UserFactory
from tests.fitting.conftest import TAKEOFF, pack_for
from tests.fitting.test_changes import act, now, swap_of
from tests.fitting.test_remeasure import pieces_of, wall_of
from tests.site.test_phone import phone_of

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def person():
    return UserFactory(first_name="Ada", last_name="Holt", role="fitter")


@pytest.fixture
def pack(person) -> WorkPack:
    return pack_for(TAKEOFF, person)


def opened(pack, context):
    """The page of changes, as the phone kept it with Today."""
    page = context.new_page()
    page.goto("/today/")
    expect(page.locator("html")).to_have_attribute("data-pages-kept", re.compile(r"\d+"), timeout=30_000)
    context.set_offline(True)
    page.goto(f"/jobs/{pack.job.number}/site/cuts/p12-1/changes/")
    return page


def chosen(page, label: str, words: str):
    row = page.locator("details", has=page.locator("summary", has_text=label))
    row.locator("summary").tap()
    row.locator("label", has_text=words).tap()
    row.locator("button").tap()
    return row


def test_swap_and_size_wait_for_the_signal_and_are_done_once(browser, live_server, person, pack):
    context = phone_of(browser, live_server, person)
    page = opened(pack, context)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    row = chosen(page, "L2-B-01", "another must be bought")
    expect(row.get_by_text("Written down.")).to_be_visible()
    page.locator("input[name=width_mm]").fill("3590")
    page.locator("input[name=height_mm]").fill("2400")
    page.get_by_role("button", name="Send the new size").tap()
    expect(page.locator("html")).to_have_attribute("data-unsent", "2")
    expect(page.locator("#sent")).to_contain_text("Not sent yet: 2 acts")
    assert "spoiled" not in now(pack)
    context.set_offline(False)
    page.evaluate("window.siteQueue.send()")
    expect(page.locator("html")).to_have_attribute("data-unsent", "0", timeout=20_000)
    page.locator("#sent summary").tap()
    expect(page.locator("#sent")).to_contain_text("one sheet more than planned")
    expect(page.locator("#sent")).to_contain_text("Ada Holt measured 3,590 × 2,400")
    expect(page.locator("#measured-p12-1")).to_contain_text("Was 3,600 × 2,400")
    page.evaluate("window.siteQueue.send()")
    assert Act.objects.filter(kind__in=("swap", "measure"), outcome=Act.Outcome.APPLIED).count() == 2
    assert len(now(pack)["spoiled"]) == 1
    assert wall_of(now(pack))["width_mm"] == 3590
    page.reload()
    assert [v["id"] for v in Axe().run(page).response["violations"]] == []
    assert page.evaluate("window.policyViolations || []") == []
    context.close()


def test_what_another_changed_meanwhile_is_told_with_ones_own(browser, live_server, person, pack):
    context = phone_of(browser, live_server, person)
    page = opened(pack, context)
    act(pack, UserFactory(first_name="Ben", last_name="Oak", role="fitter"), "swap", swap_of(pack))
    before = place_seen(now(pack), pieces_of(now(pack))["L2-B-01"])
    chosen(page, "L2-B-01", "another must be bought")
    expect(page.locator("html")).to_have_attribute("data-unsent", "1")
    context.set_offline(False)
    page.evaluate("window.siteQueue.send()")
    expect(page.locator("html")).to_have_attribute("data-unsent", "0", timeout=20_000)
    page.locator("#sent summary").tap()
    expect(page.locator("#sent")).to_contain_text(
        "Ada Holt wanted it cut again from a sheet to buy; meanwhile it is planned on"
    )
    assert place_seen(now(pack), pieces_of(now(pack))["L2-B-01"]) == before
    context.close()
