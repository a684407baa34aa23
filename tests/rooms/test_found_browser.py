"""The tap test and the photographs on a phone, and the household's diary, in a browser."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import Role
from contractor.jobs import diary
from contractor.jobs.models import DiaryEntry
from contractor.rooms.models import Finding, Photo
from tests.common.test_pictures import phone_picture
from tests.factories import JobFactory, PatchFactory, SurfaceFactory, UserFactory

PHONE = {"width": 390, "height": 844}
PASSWORD = "long-enough-for-tests"
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def phone(browser, live_server):
    """A page the size of a phone, signed in as the office."""
    person = UserFactory(role=Role.OFFICE, password=PASSWORD)
    context = browser.new_context(base_url=live_server.url, viewport=PHONE, has_touch=True)
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=username]", person.username)
    page.fill("input[name=password]", PASSWORD)
    page.locator("main button[type=submit]").click()
    page.get_by_role("heading", level=1).wait_for()
    yield page
    context.close()


@pytest.fixture
def stranger_phone(browser, live_server):
    context = browser.new_context(base_url=live_server.url, viewport=PHONE, has_touch=True)
    yield context.new_page()
    context.close()


@pytest.fixture
def wall():
    return PatchFactory(surface=SurfaceFactory(length_mm=3000, height_mm=2400)).surface


def keeps_its_own_rules(page):
    assert page.evaluate("window.policyViolations") == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    problems = Axe().run(page).response["violations"]
    assert [(p["id"], [n["html"][:120] for n in p["nodes"]]) for p in problems] == []


def cell(page, name, mark):
    return page.get_by_label(f"{name}: {mark}", exact=True)


def test_cells_are_marked_by_thumb_and_by_keyboard_and_the_drawing_follows(phone, wall):
    phone.goto(reverse("rooms:condition", args=[wall.pk]))
    cell(phone, "Column 1, row 1 up", "hollow").tap()
    phone.keyboard.press("ArrowRight")
    phone.keyboard.press("Space")
    phone.locator("#drawing figcaption").get_by_text("3 % hollow, the largest place 0.18 m²").wait_for()
    phone.get_by_label("Damp", exact=True).check()
    cell(phone, "Column 1, row 1 up", "damp").tap()
    assert not cell(phone, "Column 1, row 1 up", "hollow").is_visible()
    phone.locator("#drawing figcaption").get_by_text("1 % damp").wait_for()
    keeps_its_own_rules(phone)
    assert not Finding.objects.exists()

    phone.get_by_role("button", name="Save what was found").click()
    phone.get_by_text("is saved").wait_for()
    found = Finding.objects.get()
    assert sorted(found.marks["hollow"]) == [[0, 0], [1, 0]] and found.marks["damp"] == [[0, 0]]


def test_what_was_marked_without_signal_is_offered_again(phone, wall):
    address = reverse("rooms:condition", args=[wall.pk])
    phone.goto(address)
    cell(phone, "Column 3, row 2 up", "hollow").tap()
    phone.goto("/jobs/")
    phone.goto(address)
    assert not cell(phone, "Column 3, row 2 up", "hollow").is_checked()
    phone.get_by_role("button", name="Put it back").click()
    assert cell(phone, "Column 3, row 2 up", "hollow").is_checked()


def test_a_photo_is_taken_kept_and_seen(phone, wall):
    phone.goto(f"{reverse('rooms:photos', args=[wall.room_id])}?shows=surface-{wall.pk}")
    assert phone.get_by_label("Take a photo").get_attribute("capture") == "environment"
    picture = {"name": "IMG_0001.jpg", "mimeType": "image/jpeg", "buffer": phone_picture()}
    phone.get_by_label("Or choose pictures").set_input_files([picture])
    phone.get_by_role("button", name="Keep the photos").click()
    phone.get_by_text("The photo is kept.").wait_for()
    assert Photo.objects.get().surface == wall
    shown = phone.locator(".gallery img")
    shown.scroll_into_view_if_needed()
    phone.wait_for_function("document.querySelector('.gallery img').naturalWidth > 0")
    keeps_its_own_rules(phone)


def test_the_household_writes_in_its_diary(stranger_phone):
    job = JobFactory()
    _, token = diary.link_new(job=job, by=UserFactory())
    phone = stranger_phone
    phone.goto(reverse("jobs:household-diary", args=[token]))
    keeps_its_own_rules(phone)
    phone.get_by_label("What was it").select_option("music")
    phone.get_by_label("Which day").fill((timezone.localdate() - timedelta(days=1)).isoformat())
    phone.get_by_label("From about").fill("22:15")
    phone.get_by_label("Loud: we stopped what we did").check()
    phone.get_by_role("button", name="Write it down").click()
    phone.get_by_text("Written down. Thank you.").wait_for()
    phone.locator(".written strong").get_by_text("Music with bass").wait_for()
    entry = DiaryEntry.objects.get()
    assert (entry.job, entry.kind, entry.loudness, f"{entry.starts_at:%H:%M}") == (job, "music", 3, "22:15")
    keeps_its_own_rules(phone)


def test_pages_of_rules_and_the_week_keep_within_a_phone(phone, wall):
    job = wall.room.job
    link, _ = diary.link_new(job=job, by=UserFactory())
    diary.entry_add(link=link, heard_on=timezone.localdate(), starts_at="00:00", kind="music")
    for address in (
        reverse("jobs:heard", args=[job.number]),
        reverse("rooms:rules"),
        reverse("rooms:rule", args=["unsound-plaster-off"]),
        reverse("jobs:gate", args=[job.number, "asbestos"]),
    ):
        phone.goto(address)
        keeps_its_own_rules(phone)
