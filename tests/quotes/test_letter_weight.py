"""What the letter asks of a slow line: few bytes, nothing from elsewhere, no sound before somebody plays it."""

import gzip
from urllib.parse import urlsplit

import pytest
from django.urls import reverse

MOST_BYTES = 150_000


def test_the_letter_is_packed_for_who_can_unpack_it(sent, stranger):
    address = reverse("quotes:proposal", args=[sent.token])
    plain = stranger.get(address)
    packed = stranger.get(address, headers={"accept-encoding": "gzip"})
    assert "Content-Encoding" not in plain
    assert packed["Content-Encoding"] == "gzip"
    assert packed["Cache-Control"] == "no-store" and packed["Referrer-Policy"] == "no-referrer"
    assert len(packed.content) < len(plain.content) / 3
    assert "What you told us" in gzip.decompress(packed.content).decode()


@pytest.mark.django_db(transaction=True)
def test_all_that_the_letter_loads_is_its_own_and_light(browser, live_server, sent):
    context = browser.new_context(base_url=live_server.url)
    page = context.new_page()
    line = context.new_cdp_session(page)
    sizes, asked = [], []
    line.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    page.on("request", lambda request: asked.append(request.url))
    line.send("Network.enable")
    page.goto(reverse("quotes:proposal", args=[sent.token]))
    page.wait_for_load_state("networkidle")
    assert {urlsplit(url).netloc for url in asked} == {urlsplit(live_server.url).netloc}
    assert not [url for url in asked if url.endswith(".wav") or "htmx" in url]
    assert sum(sizes) < MOST_BYTES, f"{sum(sizes)} bytes with style sheets and fonts unpacked"
    assert page.evaluate("window.policyViolations") == []
    context.close()
