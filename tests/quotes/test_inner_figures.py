"""Cost, margin and what the firm's factors are stand in nothing that a homeowner or a fitter can open.

Every address of the access table that answers one of them is read as that person gets it: pages, PDFs, calendars,
tables, JSON. One that is added later is read too.
"""

import io
import re
from decimal import Decimal

import pytest
from pypdf import PdfReader

from contractor.accounts.models import Firm
from contractor.quotes.models import Revision
from tests.test_access import TABLE, ask, clients  # noqa: F401  (a fixture)

INNER_WORDS = re.compile(
    r"\b(margins?|mark-?ups?|overheads?|materials_cost|labour_cost|cost to the firm)\b", re.IGNORECASE
)
FACTORS = {"materials_markup_percent": Decimal("17.53"), "overhead_profit_percent": Decimal("23.57")}
SIDES = {"nobody": 0, "fitter": 1}
READ = [
    (name, role)
    for name, row in TABLE.items()
    for role, place in SIDES.items()
    if row.statuses[place] == 200 and (role == "nobody" or row.statuses[0] != 200)
]


def told(response) -> str:
    """What an answer says, whatever it is made of; nothing for pictures and sounds."""
    kind = response.headers.get("Content-Type", "")
    content = b"".join(response.streaming_content) if response.streaming else response.content
    if "pdf" in kind and content.count(b"%%EOF") and len(content) > 1000:
        return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return content.decode() if kind.startswith(("text/", "application/json", "application/javascript")) else ""


def inner_figures() -> set[str]:
    """Cost and margin of every option of every quote that was sent, what its materials cost, and the firm's factors."""
    options = [option for revision in Revision.objects.all() for option in revision.internal.get("options", [])]
    takeoffs = [option.get("takeoff") or {} for option in options]
    figures = [option.get(key) for option in options for key in ("cost", "margin")]
    figures += [takeoff.get("totals", {}).get("materials_cost") for takeoff in takeoffs]
    figures += [face.get("materials_cost") for takeoff in takeoffs for face in takeoff.get("faces", [])]
    return {figure for figure in figures if figure and Decimal(figure) > 10} | {str(f) for f in FACTORS.values()}


@pytest.mark.parametrize(("name", "role"), READ)
def test_no_cost_and_no_margin_is_told(name, role, clients):  # noqa: F811
    Firm.objects.update_or_create(pk=1, defaults=FACTORS)
    _, response = ask(clients[role], name, clients)
    text = told(response)
    assert not (found := INNER_WORDS.search(re.sub(r"<(style|script)\b.*?</\1>", "", text, flags=re.S))), found
    plain = text.replace(",", "")
    for figure in inner_figures():
        assert not re.search(rf"(?<![\d.]){re.escape(figure)}(?!\d)", plain), figure


def test_the_sweep_reads_letters_papers_calendars_and_phone_pages():
    """That the list is what it says, so that it cannot shrink in silence."""
    read = {name for name, _ in READ}
    for name in ("quotes:proposal", "quotes:proposal-pdf", "handover:pack", "handover:pack-pdf", "fitting:pack"):
        assert name in read
    assert {"fitting:pack-pdf", "fitting:cuts", "billing:letter", "billing:letter-pdf", "site:pages"} <= read
    assert any("calendar" in name for name in read)


def test_the_sweep_would_find_them(clients):  # noqa: F811
    """The office's own page does tell them."""
    Firm.objects.update_or_create(pk=1, defaults=FACTORS)
    _, response = ask(clients["office"], "quotes:revision", clients)
    assert INNER_WORDS.search(told(response))
    assert any(figure in told(response).replace(",", "") for figure in inner_figures())
