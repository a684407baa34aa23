"""The document that is frozen when a quote is sent: all that the homeowner is shown, and nothing else.

Money and quantities stand in it as text and levels rounded, so that its hash is the same on every database. No cost,
markup or margin may enter it: lines are copied field by field, never whole.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from contractor.accounts.letterhead import letterhead
from contractor.accounts.models import Firm
from contractor.jobs.models import Job, NoiseHeard
from contractor.quotes.cancelling import CANCEL_DAYS
from contractor.quotes.document_rooms import room_after, rooms_before
from contractor.quotes.models import Revision
from contractor.quotes.options import Option
from contractor.quotes.prices import Line, Priced, PricedSection, VatBand, pence
from contractor.quotes.programme import programme_of, slowest_material_days

FORMAT = 4  # 2: sound to listen to, the programme, the logo, what is built on the plan. 3: keys of lines. 4: extras, why a rate of VAT
SHARED = ("dust", "fire_on_site", "solvents")  # everyday cautions that touch the household as well as us
NEEDS = (
    "Clear the room, or enough of it that we can work a metre and a half from each treated surface.",
    "Take down what hangs on those surfaces: shelves, pictures, curtains, televisions.",
    "A place to park near the door on the days of delivery and work, or tell us what the permit costs.",
    "Water, electricity and a way in each working day.",
    "Tell your neighbours that there will be drilling and dust on the first days.",
)


def fingerprint(document: Mapping) -> str:
    """SHA-256, as 64 hexadecimal digits, of the document as `canonical` writes it."""
    return hashlib.sha256(canonical(document)).hexdigest()


def canonical(document: Mapping) -> bytes:
    """As JSON in one way only: sorted keys, no spaces, UTF-8."""
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.encode()


def is_as_frozen(revision: Revision) -> bool:
    """True while the document in the database is the one whose hash was kept when it was sent."""
    return fingerprint(revision.document) == revision.document_hash


def build_document(
    *,
    job: Job,
    firm: Firm,
    options: Sequence[Option],
    noises: Iterable[NoiseHeard],
    cautions: Iterable,
    plain_words: Mapping[str, str],
    sections: Mapping[str, Mapping],
    plans: Mapping[str, Mapping],
    boxes: Mapping[str, Mapping],
    built_plans: Mapping[int, Mapping[str, Mapping]],
    number: int,
    sent_at: datetime,
    valid_until: date,
    opening: str = "",
) -> dict:
    """`plain_words` and `sections` (drawings) are by build-up key; `cautions` have title, text and who; `plans` and `boxes` are by room, `built_plans` by scheme
    and room; `opening` is a note from the office."""
    engines = sorted({option.calculation.engine_version for option in options})
    return {
        "format": FORMAT,
        "engine_version": ", ".join(engines),
        "quote": {
            "job_number": job.number,
            "revision": number,
            "reference": f"{job.number}/{number}",
            "title": job.title,
            "sent_at": sent_at.isoformat(),
            "valid_until": valid_until.isoformat(),
        },
        "firm": letterhead(firm),
        "customer": {"name": job.property.customer.name},
        "property": {"lines": job.property.lines},
        "opening": opening,
        "heard": [_heard(noise) for noise in noises],
        "wish": job.wish,
        "rooms": rooms_before(options[0].calculation.predictions, plans, boxes) if options else [],
        "options": [
            _option(n, option, firm, plain_words, sections, built_plans.get(option.scheme.pk, {}))
            for n, option in enumerate(options, start=1)
        ],
        "cautions": [
            {"title": c.title, "text": c.text, "who": c.who, "is_open": c.is_open}
            for c in cautions
            if c.who or c.kind in SHARED
        ],
        "needs": list(NEEDS),
        "exclusions": _lines(firm.exclusions),
        "terms": firm.terms,
        "guarantee": firm.guarantee,
        "cancel_days": CANCEL_DAYS,
    }


def _heard(noise: NoiseHeard) -> dict:
    details = [
        f"from: {noise.comes_from}" if noise.comes_from else "",
        f"heard in: {noise.heard_in}" if noise.heard_in else "",
        f"strongest: {noise.strongest_at}" if noise.strongest_at else "",
        f"when: {noise.times}" if noise.times else "",
        noise.get_words_display().lower() if noise.words else "",
        "felt as a tremble too" if noise.is_felt else "",
        {"in": "comes in to you", "out": "goes out to others", "both": "goes both ways"}[noise.direction],
    ]
    return {"noise": noise.get_kind_display(), "details": [detail for detail in details if detail]}


def _option(
    number: int,
    option: Option,
    firm: Firm,
    plain_words: Mapping[str, str],
    sections: Mapping[str, Mapping],
    built_plans: Mapping[str, Mapping],
) -> dict:
    priced = option.priced
    deposit = pence(priced.total * firm.deposit_percent / 100)
    return {
        "key": str(number),
        "scheme_id": option.scheme.pk,
        "name": option.scheme.name,
        "summary": option.scheme.summary,
        "treatments": _treatments(option.faces, plain_words, sections),
        "plans": [
            {"room": room["room"], "plan": built_plans[key]}
            for key, room in option.calculation.predictions.items()
            if key in built_plans
        ],
        "depth_mm": option.greatest_depth_mm,
        "floor_lost_m2": str(floor_lost_m2(option.faces)),
        "mass_kg": str(Decimal(option.calculation.takeoff["totals"]["mass_kg"]).to_integral_value()),
        "rooms": [room_after(room) for room in option.calculation.predictions.values()],
        **_prices(priced),
        "deposit_percent": str(firm.deposit_percent),
        "deposit": str(deposit),
        "balance": str(priced.total - deposit),
        "not_included": list(priced.left_out),
        "programme": programme_of(option.work, firm, slowest_material_days(option.calculation.takeoff)),
    }


def today_in_short(job: Job, firm: Firm, options: Sequence[Option]) -> dict:
    """What would be sent today as far as it can be set against a document that was sent: prices, predictions, texts."""
    return {
        "wish": job.wish,
        "exclusions": _lines(firm.exclusions),
        "terms": firm.terms,
        "guarantee": firm.guarantee,
        "options": [
            {
                "scheme_id": option.scheme.pk,
                "name": option.scheme.name,
                "summary": option.scheme.summary,
                "rooms": [room_after(room) for room in option.calculation.predictions.values()],
                **_prices(option.priced),
            }
            for option in options
        ],
    }


def _prices(priced: Priced) -> dict:
    return {
        "sections": [_section(section) for section in priced.sections],
        "vat": [_vat(band) for band in priced.vat_bands],
        "net": str(priced.net),
        "vat_total": str(priced.vat),
        "total": str(priced.total),
        "extras": [_extra(line) for line in priced.optional],
    }


def _treatments(
    faces: Iterable[Mapping], plain_words: Mapping[str, str], sections: Mapping[str, Mapping]
) -> list[dict]:
    """What is built, once each, with the places where it is built and what each takes of the room."""
    by_build_up: dict[str, dict] = {}
    for face in faces:
        key = face["build_up_key"]
        words = plain_words.get(key, "").strip().rstrip(".")
        what = {"build_up": face["build_up"], "words": words, "section": sections.get(key), "places": []}
        treatment = by_build_up.setdefault(key, what)
        treatment["places"].append({"where": f"{face['room']}: {face['label']}", "depth_mm": face["depth_mm"]})
    return list(by_build_up.values())


def treatment_numbers(faces: Iterable[Mapping]) -> dict[str, int]:
    """By the build-up's key, the place of its treatment in the document, from 1."""
    return {key: n for n, key in enumerate(dict.fromkeys(face["build_up_key"] for face in faces), start=1)}


def floor_lost_m2(faces: Iterable[Mapping]) -> Decimal:
    """Floor that the linings of walls stand on, in m² to a hundredth."""
    lost_mm2 = sum(
        (Decimal(face["width_mm"]) * Decimal(face["depth_mm"]) for face in faces if face["surface_kind"] == "wall"),
        Decimal(0),
    )
    return (lost_mm2 / 1_000_000).quantize(Decimal("0.01"))


def _section(section: PricedSection) -> dict:
    return {"label": section.label, "net": str(section.net), "lines": [_line(line) for line in section.lines]}


def _line(line: Line) -> dict:
    return {
        "key": line.key,
        "description": line.description,
        "where": line.where,
        "quantity": f"{line.quantity.normalize():f}",
        "unit": line.unit,
        "unit_price": str(line.unit_price),
        "net": str(line.net),
        "vat_percent": f"{line.vat_percent.normalize():f}",
    }


def _extra(line: Line) -> dict:
    return _line(line) | {"about": line.about, "why": line.vat_why, "vat": str(line.vat), "total": str(line.with_vat)}


def _vat(band: VatBand) -> dict:
    found = {"percent": f"{band.percent.normalize():f}", "net": str(band.net), "vat": str(band.vat)}
    return found | {"why": list(band.why)}


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]
