"""Before and after to listen to: what can be played of a predicted room, the files, and the player in a browser."""

import io
import time
import wave

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from acoustics.audibility import HEARING_THRESHOLD_DB, SOURCES, audible, received_db
from acoustics.listen import band_levels_db
from contractor.accounts.models import Role
from contractor.rooms.calculation import predict_rooms
from contractor.rooms.inputs import gather
from contractor.rooms.listening import bridge
from contractor.rooms.models import Surface
from tests.factories import UserFactory
from tests.quotes.results import calculated_scheme
from tests.rooms.scenes import CEILING_LINING, FRAME_LINING, bedroom, heard

pytestmark = pytest.mark.django_db
PASSWORD = "long-enough-for-tests"
NAMES = ("source", "before", "after", "low-end")


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    return tmp_path


@pytest.fixture
def scene():
    made = bedroom()
    made.build(FRAME_LINING, patch=made.alcoves)
    heard(made, "television")
    return made


def predicted(scene) -> dict:
    return predict_rooms(gather(scene.scheme)).rooms[str(scene.room.pk)]


def row(told: dict, noise: str) -> dict:
    return next(r for r in told["listen"] if r["noise"] == noise)


def samples(file: bytes) -> np.ndarray:
    with wave.open(io.BytesIO(file)) as opened:
        return np.frombuffer(opened.readframes(opened.getnframes()), "<i2") / 32767.0


def test_the_levels_at_the_ear_are_the_prediction_of_the_room(scene):
    # L2 = L1 - D_nT + 10 lg(T / 0.5 s), ISO 16283-1.
    scene.room.reverberation_s = "0.8"
    scene.room.save()
    told = predicted(scene)
    for noise in ("television", "speech_normal", "music_bass"):
        found = row(told, noise)
        for side in ("before", "after"):
            wanted = received_db(SOURCES[noise].levels_db, told[side]["standardized_db"], 0.8)
            np.testing.assert_allclose(found[f"{side}_db"], wanted, atol=0.11)
        gained = np.array(found["low_end_db"]) - found["after_db"]
        np.testing.assert_allclose(gained, told["after"]["uncertainty_db"], atol=0.11)


def test_what_was_told_of_stands_first_and_the_usual_noises_can_be_compared(scene):
    told = predicted(scene)
    assert [(r["noise"], r["is_told_of"]) for r in told["listen"]] == [
        ("television", True),
        ("speech_normal", False),
        ("music_bass", False),
    ]


def test_every_file_has_the_predicted_levels(scene, office):
    told = predicted(scene)
    for noise in ("television", "speech_normal", "music_bass"):
        for name, key in zip(NAMES, ("source_db", "before_db", "after_db", "low_end_db"), strict=True):
            response = office.get(reverse("rooms:listen", args=[scene.scheme.pk, scene.room.pk, noise, name]))
            assert (response.status_code, response["Content-Type"]) == (200, "audio/wav")
            wanted = np.array(row(told, noise)[key])
            loud = wanted > HEARING_THRESHOLD_DB + 4.0
            np.testing.assert_allclose(band_levels_db(samples(response.content))[loud], wanted[loud], atol=1.0)


def test_footsteps_can_be_heard_through_a_ceiling_that_is_told_of():
    scene = bedroom()
    surface = scene.ceiling.surface
    surface.role = Surface.Role.SEPARATING
    surface.junction, surface.junction_length_mm = "", None
    surface.save()
    scene.build(CEILING_LINING, patch=scene.ceiling)
    heard(scene, "footsteps")
    told = predicted(scene)
    steps = row(told, "footsteps")
    assert steps["source_db"] is None and steps["is_told_of"]
    before, after = told["impact"]["before"]["standardized_db"], told["impact"]["after"]["standardized_db"]
    gained = np.array(steps["before_db"]) - steps["after_db"]
    np.testing.assert_allclose(gained, np.array(before) - after, atol=0.21)
    words = next(word for word in told["words"] if word["key"] == "footsteps")
    assert words["noise"] == "Footsteps above, in the evening"
    assert words["before"] == "clearly audible"


def test_footsteps_are_not_played_where_they_are_not_predicted(scene):
    heard(scene, "footsteps")
    told = predicted(scene)
    assert "why_not" in told["impact"]
    assert "footsteps" not in {r["noise"] for r in told["listen"]}
    assert "footsteps" not in {word["key"] for word in told["words"]}


def test_words_are_those_of_the_engine(scene):
    told = predicted(scene)
    for side in ("before", "after"):
        judged = audible(
            told[side]["standardized_db"],
            reverberation_s=float(scene.room.reverberation_s),
            uncertainty_db=told[side]["uncertainty_db"],
            sources=("television",),
        )[0]
        assert told["words"][0][side] == judged.words
    assert told["words"][0]["noise"] == "Television next door, in the evening"


def test_a_file_is_made_once_and_kept_by_what_it_is_made_from(media, monkeypatch):
    levels = [40.0] * 21
    first = bridge.played("television", levels)
    monkeypatch.setattr(bridge, "wav", lambda *args: pytest.fail("made again"))
    assert bridge.played("television", levels) == first
    monkeypatch.undo()
    bridge.played("television", [40.0] * 20 + [41.0])
    bridge.played("music_bass", levels)
    assert len(list((media / "listening").glob("*.wav"))) == 3
    assert not list((media / "listening").glob("*.part"))


def test_the_longest_unplayed_files_go_first(media, monkeypatch):
    import os

    monkeypatch.setattr(bridge, "MOST_KEPT", 2)
    for n, level in enumerate((40.0, 41.0)):
        bridge.played("television", [level] * 21)
        os.utime(bridge._path("television", [level] * 21), (n, n))
    bridge.played("television", [40.0] * 21)  # played just now
    bridge.played("television", [42.0] * 21)
    kept = {path.name for path in (media / "listening").glob("*.wav")}
    assert kept == {bridge._path("television", [level] * 21).name for level in (40.0, 42.0)}


def test_a_file_is_made_in_less_than_a_second():
    started = time.process_time()
    bridge.played("speech_loud", [43.0] * 21)
    assert time.process_time() - started < 1.0


@pytest.mark.parametrize(
    ("room", "noise", "name"),
    [("999", "television", "after"), ("1", "harp", "after"), ("1", "speech_normal", "elsewhere")],
)
def test_there_is_no_other_sound(office, job_scheme, room, noise, name):
    assert office.get(reverse("rooms:listen", args=[job_scheme.pk, room, noise, name])).status_code == 404


def test_what_is_louder_than_the_files_can_hold_is_not_played_and_breaks_nothing(office, job_scheme):
    calculation = job_scheme.calculation
    calculation.predictions["1"]["listen"][0]["before_db"] = [100.0] * 21
    calculation.save()
    address = reverse("rooms:listen", args=[job_scheme.pk, "1", "speech_normal", "before"])
    assert office.get(address).status_code == 404


@pytest.fixture
def job_scheme(monkeypatch):
    monkeypatch.setattr("contractor.rooms.services.calculate", lambda *, scheme: scheme.calculation)
    return calculated_scheme(bedroom().room.job)


def test_a_part_of_a_sound_can_be_asked_for(office, job_scheme):
    address = reverse("rooms:listen", args=[job_scheme.pk, "1", "speech_normal", "after"])
    whole = office.get(address)
    assert whole["Accept-Ranges"] == "bytes" and whole["Cache-Control"].startswith("private")
    part = office.get(address, headers={"range": "bytes=100-199"})
    assert part.status_code == 206
    assert part.content == whole.content[100:200]


def test_the_page_loads_no_sound_until_somebody_plays(office, scene):
    text = office.get(reverse("rooms:prediction", args=[scene.scheme.pk])).content.decode()
    assert text.count("<audio") == 1 + 3 * 4
    assert text.count('preload="none"') == text.count("<audio")
    assert text.index("First: set the level") < text.index("Television next door</h4>")
    assert "Mind your ears." in text and "This is a prediction, not a recording" in text


@pytest.fixture
def page(browser, live_server, transactional_db):
    person = UserFactory(role=Role.OFFICE, password=PASSWORD)
    context = browser.new_context(base_url=live_server.url, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=username]", person.username)
    page.fill("input[name=password]", PASSWORD)
    page.locator("main button[type=submit]").click()
    page.get_by_role("heading", level=1).wait_for()
    yield page
    context.close()


def is_moving(page, audio, until: float = 0.0) -> bool:
    """True as soon as it plays on from where it is, and has come to `until`. Asked again and again: the page's security
    policy lets no condition be evaluated inside it."""
    start = audio.evaluate("a => a.currentTime")
    for _ in range(200):
        page.wait_for_timeout(50)
        now, paused = audio.evaluate("a => [a.currentTime, a.paused]")
        if not paused and now > start and now > until:
            return True
    return False


def test_it_plays_in_a_browser_the_level_first(page, scene):
    page.goto(reverse("rooms:prediction", args=[scene.scheme.pk]))
    step = page.locator("[data-level-step]")
    now, after = (page.get_by_role("button", name=name).first for name in ("In your room now", "Afterwards"))
    sounds = page.locator("[data-noise] audio")

    now.click()
    assert "Set the level first" in step.get_by_role("status").inner_text()
    assert sounds.nth(1).evaluate("a => a.paused")

    step.locator("audio").evaluate("a => a.play()")
    assert is_moving(page, step.locator("audio"), until=2.2)
    now.press("Enter")
    assert is_moving(page, sounds.nth(1))
    assert step.locator("audio").evaluate("a => a.paused")
    assert now.get_attribute("aria-pressed") == "true"

    place = sounds.nth(1).evaluate("a => a.currentTime")
    after.press(" ")
    assert is_moving(page, sounds.nth(2))
    assert sounds.nth(1).evaluate("a => a.paused")
    assert sounds.nth(2).evaluate("a => a.currentTime") >= place
    after.click()
    assert sounds.nth(2).evaluate("a => a.paused")

    assert page.evaluate("window.policyViolations") == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}).violations_count == 0


def test_it_plays_without_scripts(browser, live_server, transactional_db, scene, page):
    context = browser.new_context(
        base_url=live_server.url, java_script_enabled=False, storage_state=page.context.storage_state()
    )
    plain = context.new_page()
    plain.goto(reverse("rooms:prediction", args=[scene.scheme.pk]))
    assert plain.locator("audio[controls]").count() == 1 + 3 * 4
    assert plain.locator("audio:not([aria-label])").count() == 0
    with plain.expect_response(lambda r: "/listen/" in r.url) as caught:
        plain.locator("[data-level-step] audio").click(position={"x": 20, "y": 27})
    assert caught.value.status in (200, 206)
    context.close()
