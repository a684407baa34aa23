"""One real room all the way through, as the three people who use the app, in a browser.

The office writes the job down, surveys, chooses a treatment, prices and sends; the homeowner reads the letter on a
phone and accepts; the office books the days; the fitter works through the steps and the cut list on a phone. Every
page on the way is scanned by axe-core (WCAG 2.2 AA), keeps to its own security policy and fits its window.
"""

import io
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from pypdf import PdfReader

from contractor.accounts.models import Firm, Role
from contractor.catalogue.services import load_seed
from contractor.jobs.models import Gate, Job, Stage
from contractor.quotes.models import Decision
from tests.factories import UserFactory

DESK = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}
PASSWORD = "long-enough-for-tests"
WCAG = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}

pytestmark = pytest.mark.django_db(transaction=True)


class Person:
    """Somebody at a browser window, who looks closely at each page that opens."""

    def __init__(self, browser, site, size):
        self.context = browser.new_context(base_url=site, viewport=size, has_touch=size is PHONE)
        self.page = self.context.new_page()
        self.complaints = []
        self.page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))

    def sign_in(self, person):
        self.open("/sign-in/")
        self.page.get_by_label("Name").fill(person.username)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.press("Sign in")

    def open(self, address):
        self.page.goto(address)
        self.look()

    def follow(self, name, within="main"):
        self.page.locator(within).get_by_role("link", name=name).first.click()
        self.look()

    def press(self, name, **options):
        self.page.get_by_role("button", name=name, exact=True, **options).first.click()
        self.page.wait_for_load_state()
        self.look()

    def fill(self, **by_name):
        """Fill fields of the page's form by their names: text typed, choices chosen, ticks set."""
        for name, value in by_name.items():
            field = self.page.locator(f"main [name='{name}']")
            kind = field.first.get_attribute("type")
            if kind in ("radio", "checkbox") and isinstance(value, str):
                self.page.locator(f"main [name='{name}'][value='{value}']").check()
            elif kind == "checkbox":
                field.set_checked(value)
            elif field.evaluate("e => e.tagName") == "SELECT":
                field.select_option(label=value)
            else:
                field.fill(value)

    def look(self):
        page = self.page
        page.wait_for_load_state("networkidle")
        assert page.locator("h1").count() == 1, page.url
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, f"{page.url} is too wide"
        assert page.evaluate("window.policyViolations || []") == [], page.url
        assert self.complaints == [], page.url
        found = Axe().run(page, options=WCAG).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"]) for v in found] == [], page.url

    def says(self, text):
        self.page.get_by_text(text).first.wait_for()

    def pdf(self, address):
        """The text of a PDF, with its page count."""
        response = self.context.request.get(address)
        assert response.headers["content-type"] == "application/pdf", response.text()
        reader = PdfReader(io.BytesIO(response.body()))
        return " ".join(" ".join(page.extract_text().split()) for page in reader.pages), len(reader.pages)


@pytest.fixture
def cast(browser, live_server, settings):
    settings.SITE_URL = live_server.url
    load_seed()
    Firm.objects.create(
        pk=1, name="Invented Quiet Works", phone="01632 960000", email="office@quiet.example",
        address="1 Test Row\nFenwick Marsh", terms="Terms of ours.", exclusions="Asbestos removal",
    )  # fmt: skip
    people = [
        UserFactory(role=role, password=PASSWORD, first_name=name, last_name="Cast")
        for role, name in ((Role.OWNER, "Ona"), (Role.FITTER, "Fia"))
    ]
    seats = [Person(browser, live_server.url, size) for size in (DESK, PHONE, PHONE)]
    yield *seats, *people
    for seat in seats:
        seat.context.close()


def test_one_room_from_enquiry_to_the_fitters_ticks(cast):
    office, homeowner, fitter, ona, fia = cast
    office.sign_in(ona)
    job = write_down(office)
    survey(office, job)
    choose_treatment(office, job)
    price, address = price_and_send(office, job)
    accept(homeowner, job, price, address)
    book(office, job, fia)
    fit(fitter, job, fia)
    job.refresh_from_db()
    assert job.stage == Stage.ON_SITE


def write_down(office):
    office.follow("Customers", within="header")
    office.follow("New customer")
    office.fill(name="Wilhelmina Sedge", email="wilhelmina@household.example", phone="07700 900000")
    office.page.locator("main button[type=submit]").first.click()
    office.look()
    office.fill(address_line_1="8 Plover Steps", town="Fenwick Marsh", postcode="ZZ1 1ZZ", built="1919 to 1944")
    office.page.locator("main button[type=submit]").first.click()
    office.look()
    office.follow("Open a job here")
    office.fill(title="Bedroom beside a music room", wish="Their piano wakes the baby.")
    office.press("Open the job")
    job = Job.objects.get()
    office.follow("Add a noise")
    office.page.locator("main [name=kind]").wait_for()
    office.fill(kind="Talking", comes_from="Next door", heard_in="Bedroom")
    office.page.get_by_role("button", name="Save the noise").click()
    office.says("Next door")
    office.look()
    for kind, _ in Gate.Kind.choices:
        office.open(f"/jobs/{job.number}/gates/{kind}/")
        office.fill(evidence="Survey report 12", cleared_by="A licensed surveyor", cleared_on="2026-01-05")
        need = office.page.locator("main [name=need]")
        needed = "Needed" if need.first.evaluate("e => e.tagName") == "SELECT" else "needed"
        office.fill(need=needed)
        office.press("Save")
    return job


def survey(office, job):
    office.open(f"/jobs/{job.number}/survey/")
    office.follow("Add a room")
    lengths = {"walls-0-length_mm": "4.2 m", "walls-1-length_mm": "3600", "walls-2-length_mm": "4,205"}
    office.fill(name="Bedroom", **lengths, **{"walls-3-length_mm": "3600", "walls-0-height_mm": "2400"})
    office.press("Save")
    room = job.rooms.get()
    surfaces = {s.letter: s for s in room.surfaces.all()}
    assert sorted(surfaces) == list("ABCDEF")

    office.open(f"/surfaces/{surfaces['B'].pk}/")
    office.fill(role="separating", construction="One-brick wall, plastered both sides")
    office.fill(condition="Sound, well-bonded plaster", depth_limit_mm="100", boxes="2")
    office.press("Save")
    wall_length = surfaces["B"].length_mm
    office.open(f"/surfaces/{surfaces['B'].pk}/")
    office.follow("Add a patch")
    office.fill(name="Chimney breast", x_mm="1200", y_mm="0", width_mm="9000", height_mm="2400", projection_mm="350")
    office.fill(construction="Chimney breast with a flue, on a one-brick party wall", depth_limit_mm="60")
    office.press("Save")
    assert office.page.locator("main .field.bad").count(), "a patch past the end of the wall is refused"
    assert office.page.locator("main [name=name]").input_value() == "Chimney breast", "what was typed is kept"
    office.fill(width_mm="1300")
    office.press("Save")
    assert wall_length > 2500

    office.open(f"/surfaces/{surfaces['A'].pk}/")
    office.fill(role="flanking", construction="External cavity wall, brick and aircrete block, cavity empty")
    office.fill(
        condition="Sound, well-bonded plaster", junction="Rigid T: it runs past the end", junction_length_mm="2400"
    )
    office.press("Save")
    office.open(f"/surfaces/{surfaces['A'].pk}/")
    office.follow("Add an opening")
    office.fill(kind="Window", x_mm="900", y_mm="900", width_mm="1200", height_mm="1200")
    office.press("Save")

    office.open(f"/rooms/{room.pk}/")
    office.follow(re.compile("way round", re.I))
    office.fill(kind="Gaps and leaks", name="Joist pockets", open_area_mm2="300")
    office.press("Save")


def choose_treatment(office, job):
    office.open(f"/jobs/{job.number}/treatment/")
    office.fill(name="Recommended")
    office.press("Add the option")
    wall = office.page.get_by_label("B Party wall").or_(office.page.locator("main select").first).first
    wall.select_option(
        label=next(o for o in wall.locator("option").all_inner_texts() if o.startswith("Independent steel"))
    )
    breast = office.page.get_by_label("Chimney breast").first
    breast.select_option(
        label=next(o for o in breast.locator("option").all_inner_texts() if o.startswith("Chimney breast"))
    )
    office.page.get_by_text("dB").first.wait_for()
    office.press("Save the treatment")
    office.follow("Prediction")
    office.says("give or take")
    assert office.page.locator("figure.drawing svg title").count() >= 2
    office.page.go_back()
    office.follow("Take-off")
    office.says("Materials, ex VAT")
    assert not job.schemes.get().calculation.takeoff["problems"]


def price_and_send(office, job):
    office.open(f"/jobs/{job.number}/quote/")
    office.follow("Add a line by hand")
    office.fill(
        section="Testing", description="Check by ear with the customer", quantity="1", unit="visit", unit_price="85"
    )
    office.page.locator("main button[type=submit]").first.click()
    office.look()
    office.open(f"/jobs/{job.number}/quote/")
    office.press("Freeze and send")
    address = office.page.locator("#proposal-address").input_value()
    revision = job.revisions.get()
    price = f"£{float(revision.document['options'][0]['total']):,.2f}"
    text, pages = office.pdf(office.page.get_by_role("link", name="Open the PDF").get_attribute("href"))
    for expected in (
        "Invented Quiet Works",
        "Wilhelmina Sedge",
        "Bedroom beside a music room",
        price,
        "Asbestos",
        "Check by ear",
    ):
        assert expected in text, expected
    assert not re.search(r"markup|margin|overhead|profit", text, re.I)
    assert 2 <= pages <= 12
    return price, address


def accept(homeowner, job, price, address):
    homeowner.open(address)
    homeowner.says(price)
    for tick in homeowner.page.locator("main input[type=checkbox], main input[type=radio]").all():
        assert not tick.is_checked(), "nothing is ticked beforehand"
    homeowner.press("Accept and order")
    assert homeowner.page.locator("main .field.bad").count(), "neither name nor tick: refused beside the fields"
    homeowner.page.locator("main .field.bad :focus").wait_for()  # and taken to the first of them
    homeowner.fill(typed_name="Wilhelmina Sedge", agreed_terms=True)
    homeowner.press("Accept and order")
    homeowner.says("Wilhelmina Sedge")
    decision = Decision.objects.get()
    assert decision.document_hash == job.revisions.get().document_hash
    assert decision.address
    homeowner.open(address)
    assert homeowner.page.locator("main [name=typed_name]").count() == 0, "accepted once, there is nothing to accept"
    text, _ = homeowner.pdf(address + "proposal.pdf")
    assert price in text


def book(office, job, fia):
    office.open(f"/jobs/{job.number}/programme/")
    office.follow("Book a visit")
    office.fill(purpose="Fitting", on_date=timezone.localdate().isoformat(), people=str(fia.pk))
    office.press("Book")
    office.open("/diary/")
    office.says("Bedroom beside a music room")


def settle_holds(fitter, job, face):
    """Do the surface's steps up to the first that is cut; hold points are let pass with a reason."""
    fitter.open(f"/jobs/{job.number}/site/")
    surface = fitter.page.locator(f"#face-{face}")
    if surface.get_attribute("open") is None:
        surface.locator("> summary").click()
    for row in surface.locator(".tick-row").all():
        if row.locator("a[href*='/site/cuts/']").count():
            break
        if row.locator("details").count():
            row.locator("details > summary").click()
            row.locator("input[name=reason]").fill("Looked at together with the office on the telephone.")
            row.get_by_role("button", name="Let it pass").click()
        elif row.locator("button.tick[aria-pressed=false]").count():
            row.locator("button.tick").click()
    fitter.page.locator("html[data-unsent='0']").wait_for(state="attached")
    fitter.page.wait_for_timeout(300)


def fit(fitter, job, fia):
    fitter.sign_in(fia)
    fitter.says("8 Plover Steps")
    fitter.follow(re.compile("^Steps"))
    first = fitter.page.locator("button.tick").first
    first.click()
    fitter.page.locator("button.tick[aria-pressed=true]").first.wait_for()
    fitter.page.reload()
    fitter.look()
    fitter.page.locator("html[data-unsent='0']").wait_for(state="attached")
    assert fitter.page.locator("button.tick[aria-pressed=true]").count() == 1, "the tick sticks"
    fitter.open(f"/jobs/{job.number}/site/cuts/")
    cut_list = fitter.page.locator("main a[href*='/site/cuts/']").first.get_attribute("href")
    fitter.open(cut_list)
    assert fitter.page.locator("figure svg").count() >= 1
    assert fitter.page.locator("button.tick").first.is_disabled(), "closed by the hold point before it"
    settle_holds(fitter, job, cut_list.rstrip("/").rpartition("/")[2])
    fitter.open(cut_list)
    fitter.page.locator("button.tick").first.click()
    fitter.page.locator("button.tick[aria-pressed=true]").first.wait_for()
    text, pages = fitter.pdf(f"/jobs/{job.number}/site/pack.pdf")
    assert "8 Plover Steps" in text and "L1-" in text and pages >= 2
    assert "£" not in text, "the fitters' paper holds no price"
    assert fitter.context.request.get(f"/jobs/{job.number}/quote/").status == 403
