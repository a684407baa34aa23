"""The fitter's pages in a browser the size of a phone: within reach, nothing wider than the screen, ticks that stick."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from contractor.fitting.models import Tick
from tests.factories import UserFactory
from tests.fitting.conftest import pack_for

PASSWORD = "long-enough-for-tests"
PAGES = (
    "/today/",
    "/jobs/{n}/site/",
    "/jobs/{n}/site/cuts/",
    "/jobs/{n}/site/cuts/p12-1/",
    "/jobs/{n}/site/cuts/p14-1/",
    "/jobs/{n}/site/left/",
)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def on_site(live_server, takeoff):
    """A pack, and how to open a signed-in phone on it: phone(browser, **context) -> page."""
    person = UserFactory(role="fitter", password=PASSWORD)
    pack = pack_for(takeoff, person)

    def phone(browser, **options):
        context = browser.new_context(
            base_url=live_server.url, viewport={"width": 390, "height": 844}, has_touch=True, **options
        )
        page = context.new_page()
        page.goto("/sign-in/")
        page.fill("input[name=username]", person.username)
        page.fill("input[name=password]", PASSWORD)
        page.locator("main button[type=submit]").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("Today")
        return page

    return pack, phone


def test_pages_fit_the_phone_and_the_thumb_and_break_no_rule(browser, on_site):
    pack, phone = on_site
    page = phone(browser)
    for path in PAGES:
        page.goto(path.format(n=pack.job.number))
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, path
        heights = page.evaluate(
            "[...document.querySelectorAll('.btn, .reach > *, button.tick, .face-list a, summary, .ring')]"
            ".map(e => e.getBoundingClientRect().height).filter(height => height > 0)"
        )
        assert len(heights) >= 3
        assert min(heights) >= 48, path
        assert page.evaluate("window.policyViolations") == [], path
        violations = Axe().run(page).response["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in violations] == [], path


def open_surface(page, step: str):
    """Unfold the surface that the step belongs to: only the next one stands open."""
    button = page.get_by_role("button", name=step, include_hidden=True)
    page.locator("details.face").filter(has=button).locator("> summary").tap()


def test_a_tick_is_saved_in_place_and_counts(browser, on_site):
    pack, phone = on_site
    page = phone(browser)
    page.goto(f"/jobs/{pack.job.number}/site/")

    expect(page.get_by_role("button", name="Steel stud 48: done")).to_be_hidden()
    open_surface(page, "Steel stud 48: done")
    page.get_by_role("button", name="Steel stud 48: done").tap()

    expect(page.locator("#progress")).to_contain_text("1 of 26")
    expect(page.get_by_role("button", name="Steel stud 48: done")).to_have_attribute("aria-pressed", "true")
    page.reload()
    expect(page.get_by_role("button", name="Steel stud 48: done")).to_have_attribute("aria-pressed", "true")
    assert Tick.objects.get().is_done


def test_a_tick_without_signal_is_written_down_said_so_and_sent_later(browser, on_site):
    pack, phone = on_site
    page = phone(browser)
    page.goto(f"/jobs/{pack.job.number}/site/")
    open_surface(page, "Steel stud 48: done")
    page.context.set_offline(True)

    button = page.get_by_role("button", name="Steel stud 48: done")
    button.tap()

    expect(page.get_by_text("Written down here, not sent yet.")).to_be_visible()
    expect(page.locator("#sent summary")).to_contain_text("Not sent yet: 1 act. No signal.")
    assert not Tick.objects.exists()
    page.context.set_offline(False)
    expect(page.locator("#sent summary")).to_have_text("All sent")
    expect(page.locator("#progress")).to_contain_text("1 of 26")
    assert Tick.objects.get().is_done


def test_signed_out_in_the_meantime_the_act_is_kept_and_explained(browser, on_site):
    pack, phone = on_site
    page = phone(browser)
    page.goto(f"/jobs/{pack.job.number}/site/")
    open_surface(page, "Steel stud 48: done")
    page.context.clear_cookies(name="sessionid")

    page.get_by_role("button", name="Steel stud 48: done").tap()

    expect(page.locator("#sent summary")).to_contain_text("Signed out. Sign in and it goes out.")
    assert not Tick.objects.exists()
    page.goto("/sign-in/")
    page.fill("input[name=username]", pack.job.visits.get().people.get().username)
    page.fill("input[name=password]", PASSWORD)
    page.locator("main button[type=submit]").click()
    expect(page.locator("html")).to_have_attribute("data-unsent", "0")
    assert Tick.objects.get().is_done


def test_ticks_need_no_javascript(browser, on_site):
    pack, phone = on_site
    page = phone(browser, java_script_enabled=False)
    page.goto(f"/jobs/{pack.job.number}/site/cuts/p12-1/")

    page.get_by_role("button", name="L2-B-03: done").tap()

    expect(page.get_by_role("button", name="L2-B-03: done")).to_have_attribute("aria-pressed", "true")
    assert Tick.objects.get().key == "cut:p12-1:8:L2-B-03"
