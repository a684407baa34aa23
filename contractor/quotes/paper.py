"""The proposal as a PDF, and what its template and the web page share: the frozen document made ready to show."""

from datetime import date, timedelta

from django.utils import timezone

from contractor.common.pdf import render_pdf
from contractor.quotes.agreed import agreed_hash, agreed_option, extras_offered
from contractor.quotes.cancelling import last_day_to_cancel
from contractor.quotes.models import Decision, Revision
from contractor.quotes.prices import DISCOUNT, SECTIONS
from contractor.rooms.graphs import curve, shares

PDF_TEMPLATE = "print/proposal.html"
SHORT = 10  # a price of so many lines stands on one page


def pdf_filename(revision: Revision) -> str:
    return f"proposal-{revision.job.number}-{revision.number}.pdf"


def proposal_pdf(revision: Revision, decision: Decision | None) -> bytes:
    """Raises PdfUnavailable, naming the Debian packages, where the drawing libraries are missing."""
    return render_pdf(PDF_TEMPLATE, shown(revision, decision))


def _line_count(option: dict) -> int:
    return sum(len(section["lines"]) for section in option["sections"])


def shown(revision: Revision, decision: Decision | None) -> dict:
    """Template context of a frozen revision. Words and numbers come from the document; drawings are placed afresh."""
    document = revision.document
    shared, limits = _limits(document["options"])
    agreed_on = timezone.localdate(decision.at) if decision and decision.answer == Decision.Answer.ACCEPTED else None
    return {
        "document": document,
        "firm": document["firm"],
        "quote": document["quote"],
        "revision": revision,
        "decision": decision,
        "options": [
            _with_drawings(option) | {"limits": own, "is_short": _line_count(option) <= SHORT}
            for option, own in zip(document["options"], limits, strict=True)
        ],
        "shared_limits": shared,
        "rooms": [room | {"drawing": ways_in(room)} for room in document["rooms"]],
        "shared_extras": _shared_extras(document["options"]),
        "extras_offered": extras_offered(document["options"]).values(),
        "agreed_on": agreed_on,
        "agreed": agreed_option(decision) if agreed_on else None,
        "is_agreed_hash": bool(agreed_on and decision.agreed_hash and decision.agreed_hash == agreed_hash(decision)),
        "cancel_until": last_day_to_cancel(agreed_on or timezone.localdate()),
        "start_from": last_day_to_cancel(agreed_on or timezone.localdate()) + timedelta(days=1),
        "is_lapsed": is_lapsed(revision),
        "has_discount": any(
            section["label"] == SECTIONS[DISCOUNT] for option in document["options"] for section in option["sections"]
        ),
    }


def _shared_extras(options: list[dict]) -> list[dict]:
    """The optional extras where every option has the same, to be told once."""
    each = [option.get("extras", []) for option in options]
    return each[0] if each and all(extras == each[0] for extras in each) else []


def _limits(options: list[dict]) -> tuple[list[str], list[list[str]]]:
    """What the work will not do: what holds for every option, and what for each alone."""
    each = [
        list(
            dict.fromkeys(
                [text for room in option["rooms"] for text in (room["limit_text"], *room["notices"]) if text]
                + [f"Not included: {part}" for part in option["not_included"]]
            )
        )
        for option in options
    ]
    shared = [text for text in each[0] if all(text in own for own in each)] if each else []
    return shared, [[text for text in own if text not in shared] for own in each]


def is_lapsed(revision: Revision, today: date | None = None) -> bool:
    """True when a sent price has run out without an answer."""
    return revision.status == Revision.Status.SENT and revision.valid_until < (today or timezone.localdate())


def _with_drawings(option: dict) -> dict:
    rooms = [
        room | {"curve": curve(room["prediction"]), "shares": shares(room["prediction"])} for room in option["rooms"]
    ]
    treatments = [t | {"uid": f"-{option['key']}-{n}"} for n, t in enumerate(option["treatments"])]
    plans = [p | {"plan": p["plan"] | {"uid": f"{p['plan']['uid']}-{option['key']}"}} for p in option.get("plans", [])]
    return option | {"rooms": rooms, "treatments": treatments, "plans": plans}


def ways_in(room: dict) -> dict:
    """The drawing of where the noise comes in today: a bar for each way, its length its share."""
    width, bar, row_height = 360, 280, 42
    rows = [
        {
            "name": way["name"],
            "text": "under 1 %" if way["percent"] == 0 else f"{way['percent']} %",
            "name_y": 15 + n * row_height,
            "bar_y": 21 + n * row_height,
            "text_y": 31 + n * row_height,
            "width": max(round(way["percent"] * bar / 100), 2),
            "text_x": max(round(way["percent"] * bar / 100), 2) + 8,
        }
        for n, way in enumerate(room["ways_in"])
    ]
    told = "; ".join(f"{row['name']}: {row['text']}" for row in rows)
    return {"width": width, "height": max(len(rows), 1) * row_height, "rows": rows, "title": room["name"], "desc": told}
