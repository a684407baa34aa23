"""The survey on a phone and by keyboard, in a browser: the drawing follows the typing, and pages are accessible."""

import contextlib

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Error as PlaywrightError

from contractor.accounts.models import Role
from contractor.rooms import services
from contractor.rooms.models import Opening, Patch, Room
from tests.factories import ConstructionFactory, FixtureFactory, UserFactory
from tests.rooms.walks import walked_room

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
def room():
    room = walked_room()
    wall = room.surfaces.get(letter="B")
    wall.role, wall.boxes = "separating", 2
    services.surface_save(surface=wall, construction=ConstructionFactory(), condition="blown", depth_limit_mm=100)
    window = Opening(surface=wall, kind="window", x_mm=2000, y_mm=900, width_mm=1000, height_mm=1200)
    services.opening_save(opening=window)
    FixtureFactory(surface=wall, x_mm=400)
    return room


def test_a_patch_by_keyboard_alone_with_the_drawing_following(phone, room):
    wall = room.surfaces.get(letter="B")
    phone.goto(reverse("rooms:patch-new", args=[wall.pk]))

    phone.get_by_label("Name", exact=True).focus()
    phone.keyboard.type("Chimney breast")
    for value in ("1100", "2800"):
        phone.keyboard.press("Tab")
        phone.keyboard.press("ControlOrMeta+a")
        phone.keyboard.type(value)
    caption = phone.locator("#drawing figcaption")
    caption.get_by_text("reaches 300 mm past the right-hand end").wait_for()
    phone.keyboard.press("ControlOrMeta+a")
    phone.keyboard.type("1400")
    phone.locator("#drawing text", has_text="1,400").wait_for()
    assert "past the right-hand end" not in caption.inner_text()
    phone.keyboard.press("Enter")

    phone.get_by_text("Chimney breast is saved.").wait_for()
    patch = Patch.objects.get(is_rest=False)
    assert (patch.x_mm, patch.width_mm, patch.height_mm) == (1100, 1400, 2400)


def test_what_is_typed_survives_a_lost_connection(phone, room):
    address = reverse("rooms:surface", args=[room.surfaces.get(letter="B").pk])
    phone.goto(address)
    phone.get_by_label("Depth the customer will give").fill("85")
    phone.get_by_label("Takes no part").check()
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Save", exact=True).click()
    told = phone.get_by_role("alert").filter(has_text="No connection. What you typed is kept on this device")
    told.wait_for()
    assert phone.get_by_label("Depth the customer will give").input_value() == "85"
    phone.context.set_offline(False)
    told.wait_for(state="detached")

    phone.goto(address)
    assert phone.get_by_label("Depth the customer will give").input_value() == "100"
    phone.get_by_role("button", name="Put it back").click()
    assert phone.get_by_label("Depth the customer will give").input_value() == "85"
    assert phone.get_by_label("Takes no part").is_checked()
    phone.get_by_role("button", name="Save", exact=True).click()
    phone.get_by_text("is saved.").wait_for()
    assert not phone.get_by_role("button", name="Put it back").is_visible()
    assert Patch.objects.get(surface__letter="B").depth_limit_mm == 85


def type_walk(phone, lengths, first=0):
    for number, length_mm in enumerate(lengths, start=first):
        phone.locator(f"[name=walls-{number}-length_mm]").fill(str(length_mm))


def test_a_room_is_walked_round_on_a_phone_with_its_drawing_in_view(phone, room):
    phone.goto(reverse("rooms:room-new", args=[room.job.number]))
    phone.get_by_label("Name", exact=True).fill("Loft")
    type_walk(phone, (4200, 2000, 1500, 1600))
    phone.get_by_text("More on D").click()
    phone.get_by_role("button", name="Add a wall after D").click()
    phone.get_by_text("More on E").click()
    phone.get_by_role("button", name="Add a wall after E").click()
    assert phone.locator("[name=walls-5-length_mm]").evaluate("e => e === document.activeElement")
    phone.locator("[name=walls-2-turn]").select_option("left")
    type_walk(phone, (2700, 3560), first=4)

    caption = phone.locator("#drawing figcaption")
    caption.get_by_text("its end lies 40 mm from its start, at the corner F–A").wait_for()
    drawing = phone.locator("#drawing svg").first.bounding_box()
    assert 0 <= drawing["y"] < PHONE["height"] / 2, "the plan stays in view above the field"
    target = phone.locator("[name=walls-5-length_mm]").bounding_box()
    assert target["height"] >= 48 and phone.locator("[name=walls-5-length_mm]").get_attribute("inputmode") == "decimal"
    phone.locator("[name=walls-5-length_mm]").fill("3600")
    caption.get_by_text("Floor 12.7 m²").wait_for()
    assert phone.locator("#drawing text[font-weight='700']", has_text="3,600").count() == 2  # on plan and elevation
    phone.keyboard.press("Enter")

    phone.get_by_text("Loft is added.").wait_for()
    assert [s.length_mm for s in Room.objects.get(name="Loft").surfaces.filter(face="wall")] == [
        4200,
        2000,
        1500,
        1600,
        2700,
        3600,
    ]


def test_a_walk_with_more_walls_survives_a_lost_connection(phone, room):
    address = reverse("rooms:room-new", args=[room.job.number])
    phone.goto(address)
    phone.get_by_text("More on D").click()
    phone.get_by_role("button", name="Add a wall after D").click()
    phone.get_by_label("Name", exact=True).fill("Study with a bay")
    type_walk(phone, (4200, 3600, 4100, 3500, 120))
    phone.get_by_role("button", name="Add a height").click()
    phone.locator("[name=heights-0-at_mm]").fill("700")
    phone.context.set_offline(True)
    with contextlib.suppress(PlaywrightError):
        phone.get_by_role("button", name="Save", exact=True).click()
    phone.wait_for_timeout(300)
    phone.context.set_offline(False)

    phone.goto(address)
    assert phone.locator("[name=walls-0-length_mm]").input_value() == ""
    phone.get_by_role("button", name="Put it back").click()
    phone.locator("[name=walls-4-length_mm]").wait_for()
    typed = [phone.locator(f"[name=walls-{n}-length_mm]").input_value() for n in range(5)]
    assert typed == ["4200", "3600", "4100", "3500", "120"]
    assert phone.locator("[name=heights-0-at_mm]").input_value() == "700"
    assert phone.get_by_label("Name", exact=True).input_value() == "Study with a bay"
    assert Room.objects.count() == 1


def test_the_junction_is_asked_only_of_a_surface_that_runs_past(phone, room):
    phone.goto(reverse("rooms:surface", args=[room.surfaces.get(letter="A").pk]))

    junction = phone.get_by_label("How it meets the separating surface")
    assert not junction.is_visible()
    phone.get_by_label("Runs past the separating surface").check()
    assert junction.is_visible()
    phone.get_by_label("Takes no part").check()
    assert not junction.is_visible()


@pytest.mark.parametrize(
    "name",
    [
        "survey",
        "room-new",
        "room",
        "room-edit",
        "surface",
        "patch-new",
        "opening",
        "fixture",
        "strip-new",
        "side-path-new",
    ],
)
def test_pages_fit_a_phone_and_are_accessible(phone, room, name):
    wall = room.surfaces.get(letter="B")
    pk = {
        "survey": room.job.number,
        "room-new": room.job.number,
        "surface": wall.pk,
        "patch-new": wall.pk,
        "opening": wall.openings.get().pk,
        "fixture": wall.fixtures.get().pk,
        "strip-new": wall.pk,
    }.get(name, room.pk)

    phone.goto(reverse(f"rooms:{name}", args=[pk]))

    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert phone.evaluate("window.policyViolations") == []
    assert phone.locator("h1").count() == 1
    violations = Axe().run(phone).response["violations"]
    assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in violations] == []
