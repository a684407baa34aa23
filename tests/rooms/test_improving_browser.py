"""In a browser: the preview is marked, and the better take-off comes by itself."""

import pytest
from django.urls import reverse

from contractor.common.background import _threads
from tests.rooms.scenes import FRAME_LINING, bedroom

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def in_background(settings):
    """Tasks on threads of their own, as in the demo; long enough for the preview to be seen."""
    settings.TASKS = {"default": {"BACKEND": settings.TASK_BACKENDS["in-process"]}}
    settings.TAKEOFF_SECONDS = 4.0
    yield
    _threads().shutdown(wait=True)
    _threads.cache_clear()


def test_the_better_take_off_comes_by_itself(page, live_server, office, in_background):
    scene = bedroom()
    scene.build(FRAME_LINING, patch=scene.alcoves)
    cookie = {"name": "sessionid", "value": office.cookies["sessionid"].value, "url": live_server.url}
    page.context.add_cookies([cookie])
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))

    page.goto(live_server.url + reverse("rooms:takeoff", args=[scene.scheme.pk]))
    assert page.locator("#to-buy").is_visible()
    note = page.locator(f"#takeoff-state-{scene.scheme.pk}")
    assert "Preview" in note.inner_text()
    note.wait_for(state="detached", timeout=90_000)
    assert page.locator("#to-buy").is_visible()
    assert faults == []
