"""A phone that loses its signal, its page and its answers: everything done on it reaches the office once."""

import random

import pytest
from playwright.sync_api import expect

from contractor.fitting.models import Tick
from contractor.site.models import Act, SiteNote, SitePhoto, Upload
from tests.conftest import signed_in
from tests.factories import UserFactory
from tests.fitting.conftest import TAKEOFF, holds_are_settled, pack_for  # noqa: F401  (fixtures)

pytestmark = pytest.mark.django_db(transaction=True)
STEPS = ("step:s3:layer-1", "cut:p12-1:4:S-B-01", "cut:p12-1:4:S-B-02", "cut:p12-1:8:L2-B-03")
FAULTS = ("answer", "answer", "refused", "server error", "lost answer", "slow answer")
SEQUENCES = 200


@pytest.fixture
def person():
    return UserFactory(first_name="Ada", last_name="Holt", role="fitter")


@pytest.fixture
def pack(person):
    return pack_for(TAKEOFF, person)


def phone_of(browser, live_server, person, **options):
    context = browser.new_context(
        base_url=live_server.url, viewport={"width": 390, "height": 844}, has_touch=True, **options
    )
    session = signed_in(person).cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    context.add_init_script("window.siteWaitMs = 25; window.siteAnswerMs = 5000;")
    return context


class Weather:
    """What becomes of each request that carries something: drawn from a seeded list, then fair for good."""

    def __init__(self, context):
        self.faults: list[str] = []
        context.route("**/site/acts/", self.answer)
        context.route("**/site/photos/**", self.answer)
        context.route("**/site/hello/", self.answer)

    def answer(self, route):
        fault = self.faults.pop() if self.faults else "answer"
        if fault == "refused":
            route.abort()
        elif fault == "server error":
            route.fulfill(status=random.Random(len(self.faults)).choice([500, 502, 503]), body="broken")
        elif fault == "lost answer":
            route.fetch()
            route.abort()
        elif fault == "slow answer":
            route.fetch()
            route.fulfill(status=504, body="too late")
        else:
            route.continue_()


PHOTO = """async ([job]) => {
  const canvas = new OffscreenCanvas(48, 32); canvas.getContext("2d").fillRect(0, 0, 20, 20);
  await window.siteQueue.photograph(job, "step:s3:layer-1", await canvas.convertToBlob({ type: "image/jpeg" }));
}"""
ACT = "async ([job, kind, payload]) => { await window.siteQueue.act(job, kind, payload, 'An act'); }"


def opened(context):
    """A light page: that of the notes grows with each of them."""
    page = context.new_page()
    page.goto("/today/")
    return page


def test_two_hundred_days_of_bad_signal_lose_nothing_and_double_nothing(browser, live_server, person, pack):
    """Seeded: acts and photographs while requests fail, answers are lost or late, the signal goes and the page dies."""
    context = phone_of(browser, live_server, person, service_workers="block")
    weather = Weather(context)
    page = opened(context)
    number = pack.job.number
    notes, photos, ticked = 0, 0, {}
    for seed in range(SEQUENCES):
        chance = random.Random(seed)
        weather.faults = [chance.choice(FAULTS) for _ in range(chance.randint(0, 6))]
        is_offline = chance.random() < 0.3
        context.set_offline(is_offline)
        for _ in range(chance.randint(1, 4)):
            what = chance.choice(("note", "tick", "tick", "photo"))
            if what == "photo":
                page.evaluate(PHOTO, [number])
                photos += 1
            elif what == "note":
                notes += 1
                page.evaluate(ACT, [number, "note", {"kind": "note", "text": f"note {notes}"}])
            else:
                row, done = chance.choice(STEPS), chance.random() < 0.6
                ticked[row] = done
                page.evaluate(ACT, [number, "tick", {"row": row, "done": done}])
        if chance.random() < 0.25:
            page.close()  # killed: nothing is asked, nothing is waited for
            context.set_offline(False)
            page = opened(context)
        context.set_offline(False)
        page.evaluate("window.siteQueue.send()")
        expect(page.locator("html")).to_have_attribute("data-unsent", "0", timeout=20_000)

    assert SiteNote.objects.count() == notes
    assert sorted(SiteNote.objects.values_list("text", flat=True)) == sorted(f"note {n + 1}" for n in range(notes))
    assert SitePhoto.objects.count() == photos and not Upload.objects.exists()
    assert {tick.key: tick.is_done for tick in Tick.objects.filter(key__in=STEPS)} == ticked
    assert set(Act.objects.values_list("outcome", flat=True)) == {"applied"}
    assert notes > 50 and photos > 50 and len(ticked) == len(STEPS)


def test_a_day_without_signal_from_kept_pages(browser, live_server, person, pack):
    """The day is opened once with signal; then all of it works without, over a killed page, and is sent afterwards."""
    context = phone_of(browser, live_server, person)
    page = context.new_page()
    page.goto("/today/")
    page.locator("html[data-pages-kept]").wait_for(timeout=90_000, state="attached")
    context.set_offline(True)
    page.close()

    page = context.new_page()
    page.goto("/today/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Today")
    page.goto(f"/jobs/{pack.job.number}/site/cuts/p12-1/")
    page.get_by_role("button", name="L2-B-03: done").tap()
    expect(page.get_by_role("button", name="L2-B-03: done")).to_have_attribute("aria-pressed", "true")
    page.goto(f"/jobs/{pack.job.number}/site/notes/")
    page.get_by_label("What you saw").fill("The neighbour's side is damp")
    page.get_by_role("region", name="Note or snag").get_by_role("button", name="Write it down").tap()
    expect(page.locator("#sent summary")).to_contain_text("Not sent yet: 2 acts")
    page.close()
    assert not Act.objects.exists()

    page = context.new_page()
    page.goto(f"/jobs/{pack.job.number}/site/cuts/p12-1/")
    expect(page.get_by_role("button", name="L2-B-03: done")).to_have_attribute("aria-pressed", "true")
    context.set_offline(False)
    expect(page.locator("#sent summary")).to_have_text("All sent", timeout=15_000)
    assert Tick.objects.get().key == "cut:p12-1:8:L2-B-03" and SiteNote.objects.get().text.endswith("damp")


def test_a_kept_page_that_is_older_than_a_tick_shows_the_tick(browser, live_server, person, pack):
    context = phone_of(browser, live_server, person)
    page = context.new_page()
    page.goto("/today/")
    page.locator("html[data-pages-kept]").wait_for(timeout=90_000, state="attached")
    page.evaluate(
        ACT.replace("An act", "A tick"), [pack.job.number, "tick", {"row": "cut:p12-1:8:L2-B-03", "done": True}]
    )
    expect(page.locator("html")).to_have_attribute("data-unsent", "0")
    context.set_offline(True)
    page.goto(f"/jobs/{pack.job.number}/site/cuts/p12-1/")
    expect(page.get_by_role("button", name="L2-B-03: done")).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_text("Written down here, not sent yet.")).to_have_count(0)


def test_what_another_person_did_on_the_phone_waits_for_them(browser, live_server, person, pack):
    context = phone_of(browser, live_server, person, service_workers="block")
    page = opened(context)
    context.set_offline(True)
    page.evaluate(ACT, [pack.job.number, "note", {"kind": "note", "text": "Ada's"}])
    bea = UserFactory(role="fitter")
    pack.job.visits.get().people.add(bea)
    for who, waiting in ((bea, 0), (person, 1)):
        session = signed_in(who).cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        context.set_offline(False)
        page.goto(f"/jobs/{pack.job.number}/site/notes/")
        expect(page.locator("#sent summary")).to_have_text("All yours is sent" if who == bea else "All sent")
        assert SiteNote.objects.count() == waiting
