"""The letter is between the firm and a household: nothing of it goes elsewhere, nobody finds it by trying."""

import re
from html.parser import HTMLParser
from urllib.parse import urlsplit

import pytest
from django.contrib.staticfiles import finders
from django.core.cache import cache
from django.urls import reverse

from contractor.common import guesses

ADDRESSES = {"src", "href", "srcset", "action", "formaction", "poster", "data", "xlink:href", "background", "ping"}


class Addresses(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found: list[str] = []
        self.styled: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.found += [value or "" for name, value in attrs if name in ADDRESSES]
        self.styled += [tag for name, _ in attrs if name == "style" or name.startswith("on")]


def addresses_in(text: str) -> Addresses:
    parser = Addresses()
    parser.feed(text)
    return parser


def is_ours(address: str) -> bool:
    parts = urlsplit(address)
    return parts.scheme in ("tel", "mailto") or not (parts.scheme or parts.netloc)


@pytest.fixture
def wrong_tokens():
    """Counted from nothing, and forgotten afterwards."""
    cache.clear()
    yield
    cache.clear()


def letter(sent, name="proposal"):
    return reverse(f"quotes:{name}", args=[sent.token])


def test_no_address_in_page_styles_or_scripts_leads_elsewhere(stranger, sent):
    found = addresses_in(stranger.get(letter(sent)).content.decode())
    assert len(found.found) > 10 and not found.styled
    assert [address for address in found.found if not is_ours(address)] == []
    files = [a.removeprefix("/static/") for a in found.found if a.startswith("/static/")]
    assert {name.rsplit(".", 1)[-1] for name in files} >= {"css", "js"}
    for name in files:
        if not name.endswith((".css", ".js")):
            continue
        with open(finders.find(name), encoding="utf-8") as file:
            text = re.sub(
                r"http://www\.w3\.org/\d+/\w+", "", file.read()
            )  # names of XML vocabularies: nobody asks there
        in_css = re.findall(r"""(?:url\(|@import)\s*["']?([^"')\s;]+)""", text)
        assert [address for address in in_css if not is_ours(address) and not address.startswith("data:")] == [], name
        assert not re.search(r"""["'(](?:https?:)?//[\w.]""", text), name


def test_the_policy_of_the_page_allows_nothing_from_elsewhere(stranger, sent):
    policy = stranger.get(letter(sent))["Content-Security-Policy"]
    rules = {rule.split()[0]: rule.split()[1:] for rule in policy.split(";") if rule.strip()}
    allowed = {source for sources in rules.values() for source in sources}
    assert rules["default-src"] in (["'self'"], ["'none'"])
    assert allowed <= {"'self'", "'none'", "data:", "blob:"}


def test_page_paper_and_clips_are_kept_by_nobody_on_the_way(stranger, sent):
    for name in ("proposal", "proposal-pdf"):
        response = stranger.get(letter(sent, name))
        assert response["Cache-Control"] == "no-store"
        assert (response["Referrer-Policy"], response["X-Robots-Tag"]) == ("no-referrer", "noindex, nofollow")


def test_many_wrong_tokens_from_one_address_have_to_wait(stranger, sent, wrong_tokens):
    nowhere = reverse("quotes:proposal", args=["x" * 43])
    for _ in range(guesses.MOST):
        assert stranger.get(nowhere).status_code == 404
    held = stranger.get(nowhere)
    assert held.status_code == 429 and held["Cache-Control"] == "no-store"
    assert "Please wait a little" in held.content.decode()
    assert stranger.get(nowhere, REMOTE_ADDR="192.0.2.7").status_code == 404
    assert stranger.get(letter(sent)).status_code == 200, "others at the same address have their own right link"
    cache.clear()  # as after a quarter of an hour
    assert stranger.get(nowhere).status_code == 404


def test_a_household_that_mistypes_now_and_then_is_let_in(stranger, sent, wrong_tokens):
    for _ in range(guesses.MOST - 1):
        stranger.get(reverse("quotes:proposal", args=["x" * 43]))
    assert stranger.get(letter(sent)).status_code == 200
