"""Takes the README's pictures of the demo, in a throwaway database.

    .venv/bin/python -m tests.pictures

Writes PNG files to .pictures/ at the top of the project.
"""

import os
from pathlib import Path

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.test.runner import DiscoverRunner  # noqa: E402
from django.urls import reverse  # noqa: E402
from playwright.sync_api import Browser, sync_playwright  # noqa: E402
from pytest_django.live_server_helper import LiveServer  # noqa: E402

FOLDER = Path(__file__).resolve().parent.parent / ".pictures"
DESK, PHONE = {"width": 1280, "height": 860}, {"width": 390, "height": 844}


def main() -> None:
    runner = DiscoverRunner(verbosity=0, interactive=False)
    old = runner.setup_databases()
    settings.ALLOWED_HOSTS = ["localhost"]
    try:
        from contractor.catalogue.services import load_seed
        from contractor.demo.build import build

        load_seed()
        token = build()
        server = LiveServer("localhost")
        FOLDER.mkdir(exist_ok=True)
        with sync_playwright() as driver:
            browser = driver.chromium.launch(
                executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"), args=["--no-sandbox", "--disable-gpu"]
            )
            take_all(browser, server.url, token)
        server.stop()
    finally:
        runner.teardown_databases(old)


def take_all(browser: Browser, site: str, token: str) -> None:
    from contractor.accounts.models import User
    from contractor.fitting.models import WorkPack
    from contractor.rooms.models import Scheme, Surface

    owner, fitter = User.objects.get(username="tamsin"), User.objects.get(username="jonty")
    pack = WorkPack.objects.select_related("job").order_by("job__number").first()
    wall = Surface.objects.filter(room__job=pack.job, role="separating").first()
    scheme = Scheme.objects.filter(job=pack.job).last()
    face = pack.document["faces"][0]["key"]
    pages = [
        ("survey", owner, DESK, reverse("rooms:surface", args=[wall.pk]), "main .note"),
        ("prediction", owner, DESK, reverse("rooms:prediction", args=[scheme.pk]), "figure.drawing"),
        ("proposal", None, PHONE, reverse("quotes:proposal", args=[token]), "main figure"),
        ("cut-list", fitter, PHONE, reverse("fitting:cut-face", args=[pack.job.number, face]), "figure >> nth=1"),
    ]
    for name, person, size, address, top in pages:
        context = browser.new_context(base_url=site, viewport=size, device_scale_factor=1 if size is DESK else 2)
        if person:
            sign_in(context, site, person)
        page = context.new_page()
        page.goto(address, wait_until="networkidle")
        place = page.locator(top).first.evaluate("e => e.getBoundingClientRect().top")
        page.evaluate("y => window.scrollTo(0, y)", place - 120)
        page.screenshot(path=FOLDER / f"{name}.png")
        print(FOLDER.name, name, page.title())
        context.close()


def sign_in(context, site: str, person) -> None:
    from tests.conftest import signed_in

    session = signed_in(person).cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": site}])


if __name__ == "__main__":
    main()
