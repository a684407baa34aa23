"""The proposal plays what the frozen document predicts, to whoever holds the link and to nobody else."""

import io
import wave

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from acoustics.listen import band_levels_db
from contractor.quotes import services
from contractor.quotes.document import fingerprint
from contractor.quotes.models import Revision
from contractor.rooms.models import Calculation


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)


def sound(sent, option="1", room=0, noise="speech_normal", name="after"):
    return reverse("quotes:proposal-listen", args=[sent.token, option, room, noise, name])


def levels(response) -> np.ndarray:
    with wave.open(io.BytesIO(response.content)) as opened:
        return band_levels_db(np.frombuffer(opened.readframes(opened.getnframes()), "<i2") / 32767.0)


def test_each_option_plays_its_own_prediction(sent, stranger):
    for option in sent.revision.document["options"]:
        row = option["rooms"][0]["listen"][1]
        for name, key in (
            ("source", "source_db"),
            ("before", "before_db"),
            ("after", "after_db"),
            ("low-end", "low_end_db"),
        ):
            response = stranger.get(sound(sent, option["key"], noise="music_bass", name=name))
            assert (response.status_code, response["Content-Type"]) == (200, "audio/wav")
            np.testing.assert_allclose(levels(response), row[key], atol=1.0)
    first, second = (stranger.get(sound(sent, key)).content for key in "12")
    assert first != second


def test_what_is_predicted_later_does_not_change_what_was_sent(sent, stranger):
    before = stranger.get(sound(sent)).content
    for calculation in Calculation.objects.all():
        calculation.predictions["1"]["listen"][0]["after_db"] = [50.0] * 21
        calculation.save()
    assert stranger.get(sound(sent)).content == before


def test_the_sound_is_private(sent, stranger, sender):
    response = stranger.get(sound(sent))
    assert response["Cache-Control"].startswith("private")
    assert response["Referrer-Policy"] == "no-referrer"
    assert "noindex" in response["X-Robots-Tag"]
    assert stranger.get(sound(sent), headers={"range": "bytes=0-99"}).status_code == 206
    services.link_revoke(link=sent.link, user=sender)
    assert stranger.get(sound(sent)).status_code == 410
    assert stranger.get(sound(sent).replace(sent.token, "x" * 43)).status_code == 404


@pytest.mark.parametrize("other", [{"option": "9"}, {"room": 7}, {"noise": "harp"}, {"name": "elsewhere"}])
def test_there_is_no_other_sound(sent, stranger, other):
    assert stranger.get(sound(sent, **other)).status_code == 404


def test_listening_is_not_opening(sent, stranger):
    stranger.get(sound(sent))
    sent.link.refresh_from_db()
    assert sent.link.times_opened == 0


def test_the_letter_offers_every_option_and_loads_nothing(sent, stranger):
    text = stranger.get(reverse("quotes:proposal", args=[sent.token])).content.decode()
    # One to set the level by; each of two noises where it is made, now, and twice after each of two options.
    assert text.count("<audio") == text.count('preload="none"') == 1 + 2 * (2 + 2 * 2)
    assert "Afterwards: Wall and void" in text
    assert text.index("First: set the level") < text.index("Talking normally next door</h4>")
    assert "Other noises, to compare" in text


def test_a_document_frozen_before_there_was_sound_is_still_shown(sent, stranger):
    document = sent.revision.document
    for option in document["options"]:
        option.pop("programme")
        for room in option["rooms"]:
            room.pop("listen")
            for word in room["words"]:
                word.pop("key")
    document["firm"].pop("logo")
    Revision.objects.update(document=document, document_hash=fingerprint(document))
    response = stranger.get(reverse("quotes:proposal", args=[sent.token]))
    assert response.status_code == 200
    text = response.content.decode()
    assert "<audio" not in text and "How long it takes" not in text
    assert stranger.get(sound(sent)).status_code == 404
    assert stranger.get(reverse("quotes:proposal-pdf", args=[sent.token])).status_code == 200


@pytest.mark.django_db(transaction=True)
def test_it_plays_on_a_phone(browser, live_server, sent):
    context = browser.new_context(base_url=live_server.url, viewport={"width": 390, "height": 844}, has_touch=True)
    page = context.new_page()
    page.goto(reverse("quotes:proposal", args=[sent.token]))
    page.locator("[data-level-step] audio").evaluate("a => a.play()")
    for _ in range(200):
        page.wait_for_timeout(50)
        if page.locator("[data-level-step] audio").evaluate("a => a.currentTime") > 2.1:
            break
    page.get_by_role("button", name="Afterwards: Wall and void").first.tap()
    playing = page.locator("[data-noise] audio").nth(4)
    start = playing.evaluate("a => a.currentTime")
    for _ in range(200):
        page.wait_for_timeout(50)
        if playing.evaluate("a => !a.paused && a.currentTime") > start:
            break
    assert playing.evaluate("a => !a.paused")
    assert playing.evaluate("a => a.currentTime") > start
    assert page.evaluate("window.policyViolations") == []
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}).violations_count == 0
    context.close()
