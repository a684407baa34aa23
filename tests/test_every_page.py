"""What must hold of every page of the office, over the table of addresses: on a phone, and of nonsense in its forms."""

from html.parser import HTMLParser

import pytest
from django.db import transaction

from tests.test_access import TABLE, World, address, clients  # noqa: F401

PHONE = {"width": 390, "height": 844}
READ_BY_THE_OWNER = [
    n for n, row in TABLE.items() if row.post is None and row.statuses[0] == 302 and row.statuses[3] == 200
]
# Typed into every field of a form at once.
NONSENSE = ("", "-1e9", "NaN", "1.234,5", "9" * 40 + "🎻 a\x00b" + "x" * 3000)

LOOK = """() => {
  const seen = e => { const r = e.getBoundingClientRect(); return r.width && r.height && e.checkVisibility() }
  const found = []
  const wide = document.documentElement.scrollWidth
  if (wide > innerWidth) found.push(`${wide} px wide`)
  const headings = document.querySelectorAll("h1").length
  if (headings !== 1) found.push(`${headings} first headings`)
  const primary = [...document.querySelectorAll(".btn-primary")].filter(seen).map(e => e.textContent.trim())
  if (primary.length > 1) found.push(`more than one primary action: ${primary}`)
  for (const e of document.querySelectorAll("main .btn:not(.btn-plain), .strip nav a, .strip .who a, .thread li"))
    if (seen(e) && e.getBoundingClientRect().height < 43.5) found.push(`too low to touch: ${e.textContent.trim()}`)
  return found
}"""


class Forms(HTMLParser):
    """The forms of a page: each with its action, method and the fields that are sent with it."""

    def __init__(self):
        super().__init__()
        self.forms, self.select = [], None

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "form":
            self.forms.append({"action": attrs.get("action"), "method": attrs.get("method", "get"), "fields": []})
        elif tag == "option" and self.select and ("selected" in attrs or self.select[2] is None):
            self.select[2] = attrs.get("value", "")
        elif tag in ("input", "select", "textarea") and attrs.get("name") and self.forms:
            kind = attrs.get("type", "text") if tag == "input" else tag
            self.forms[-1]["fields"].append([attrs["name"], kind, attrs.get("value")])
            self.select = self.forms[-1]["fields"][-1] if tag == "select" else None


def typed(form: dict, nonsense: str) -> dict[str, str]:
    """The form filled in: nonsense in what is typed, what stood there in what is chosen."""
    sent = {}
    for name, kind, value in form["fields"]:
        if kind in ("hidden", "select"):
            sent[name] = value or ""
        elif kind not in ("file", "checkbox", "radio", "submit"):
            sent[name] = nonsense
    return sent


def addresses(clients) -> list[tuple[str, str]]:  # noqa: F811
    """Each page with its address, all of one world that is whole before the first is opened."""
    world = World(clients["fitter"].user)
    return [(name, address(name, clients, world)) for name in READ_BY_THE_OWNER]


@pytest.mark.django_db(transaction=True)
def test_every_page_keeps_within_a_phone(browser, live_server, clients, owner):  # noqa: F811
    context = browser.new_context(base_url=live_server.url, viewport=PHONE, has_touch=True, service_workers="block")
    session = {"name": "sessionid", "value": owner.cookies["sessionid"].value, "url": live_server.url}
    context.add_cookies([session])
    page = context.new_page()
    found = {}
    for name, url in addresses(clients):
        if not owner.get(url).get("Content-Type", "").startswith("text/html"):
            continue
        page.goto(url)
        if page.locator(".strip").count():
            found[name] = page.evaluate(LOOK)
    context.close()
    assert len(found) > 100
    assert {name: what for name, what in found.items() if what} == {}


@pytest.mark.django_db
def test_no_nonsense_in_any_form_breaks_a_page(clients, owner):  # noqa: F811
    """Each answers with its page again, leads on or refuses; an error of the server would be raised here."""
    tried = set()
    for name, url in addresses(clients):
        if name.startswith(("fitting:", "site:")):
            continue  # of a pack made by hand; what phones send is tried in tests/site
        shown = owner.get(url)
        if not shown.get("Content-Type", "").startswith("text/html"):
            continue
        forms = Forms()
        forms.feed(shown.content.decode())
        for form in forms.forms:
            action = form["action"] or url
            kind = (
                action.split("?")[0] if form["method"] == "get" else name,
                tuple(field[0] for field in form["fields"]),
            )
            if action == "/sign-out/" or kind in tried or not action.startswith("/"):
                continue
            tried.add(kind)
            for nonsense in NONSENSE:
                sent = typed(form, nonsense)
                mark = transaction.savepoint()
                response = owner.post(action, sent) if form["method"] == "post" else owner.get(action, sent)
                transaction.savepoint_rollback(mark)
                assert response.status_code < 500, (name, action, nonsense)
    assert len(tried) > 100
