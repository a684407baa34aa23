"""The document that is frozen when a quote is sent: all that the homeowner is shown, and nothing else.

Money and quantities stand in it as text and levels rounded, so that its hash is the same on every database. No cost,
markup or margin may enter it: lines are copied field by field, never whole.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from contractor.accounts.models import Firm
from contractor.jobs.models import Job, NoiseHeard
from contractor.quotes.cancelling import CANCEL_DAYS
from contractor.quotes.options import Option
from contractor.quotes.prices import Line, PricedSection, VatBand, pence
from contractor.quotes.programme import programme_of, slowest_material_days

FORMAT = 2  # 2: sound to listen to, the programme, the firm's logo, what is built drawn on the plan
SHARED = ("dust", "fire_on_site", "solvents")  # everyday cautions that touch the household as well as us
NEEDS = (
    "Clear the room, or enough of it that we can work a metre and a half from each treated surface.",
    "Take down what hangs on those surfaces: shelves, pictures, curtains, televisions.",
    "A place to park near the door on the days of delivery and work, or tell us what the permit costs.",
    "Water, electricity and a way in each working day.",
    "Tell your neighbours that there will be drilling and dust on the first days.",
)

# By the code of a notice: words for the homeowner, or nothing where only the office can use it.
PLAIN_WORDS = {
    "not_validated": "",
    "triple_leaf": "",
    "bonded_boards": "",
    "no_stiffness": "",
    "audible_resonance": "Some low notes get through these boards more easily than others.",
    "worse_low": "Some low notes may come through a little more than today.",
    "not_airborne": "Steps, bangs and what shakes the building: the figures here do not cover them, only sound that comes "
    "through the air.",
}


def fingerprint(document: Mapping) -> str:
    """SHA-256, as 64 hexadecimal digits, of the document as canonical JSON: sorted keys, no spaces, UTF-8."""
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


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
    number: int,
    sent_at: datetime,
    valid_until: date,
    opening: str = "",
) -> dict:
    """`plain_words` and `sections` (drawings) are by build-up key; `cautions` have title, text and who; `plans` is by room; `opening` is a note from the office."""
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
        "firm": {
            field: getattr(firm, field)
            for field in ("name", "address", "phone", "email", "company_number", "vat_number", "insurance_note")
        }
        | {"logo": _logo(firm)},
        "customer": {"name": job.property.customer.name},
        "property": {"lines": job.property.lines},
        "opening": opening,
        "heard": [_heard(noise) for noise in noises],
        "wish": job.wish,
        "rooms": _rooms_before(options[0].calculation.predictions, plans) if options else [],
        "options": [_option(n, option, firm, plain_words, sections) for n, option in enumerate(options, start=1)],
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
        f"when: {noise.times}" if noise.times else "",
        noise.get_words_display().lower() if noise.words else "",
        {"out": "goes out to others", "both": "both ways"}.get(noise.direction, ""),
    ]
    return {"noise": noise.get_kind_display(), "details": [detail for detail in details if detail]}


def _rooms_before(predictions: Mapping, plans: Mapping[str, Mapping]) -> list[dict]:
    """Where the noise comes in today: the ways into each room, the greatest first."""
    rooms = []
    for key, room in predictions.items():
        percents = whole_percents([path["share_before"] for path in room["paths"]])
        ways = [{"name": path["name"], "percent": p} for path, p in zip(room["paths"], percents, strict=True)]
        ways.sort(key=lambda way: -way["percent"])
        rooms.append({"name": room["room"], "ways_in": ways, "plan": plans.get(key)})
    return rooms


def _option(
    number: int, option: Option, firm: Firm, plain_words: Mapping[str, str], sections: Mapping[str, Mapping]
) -> dict:
    priced = option.priced
    deposit = pence(priced.total * firm.deposit_percent / 100)
    return {
        "key": str(number),
        "scheme_id": option.scheme.pk,
        "name": option.scheme.name,
        "summary": option.scheme.summary,
        "treatments": _treatments(option.faces, plain_words, sections),
        "depth_mm": option.greatest_depth_mm,
        "floor_lost_m2": str(floor_lost_m2(option.faces)),
        "mass_kg": str(Decimal(option.calculation.takeoff["totals"]["mass_kg"]).to_integral_value()),
        "rooms": [_room_after(room) for room in option.calculation.predictions.values()],
        "sections": [_section(section) for section in priced.sections],
        "vat": [_vat(band) for band in priced.vat_bands],
        "net": str(priced.net),
        "vat_total": str(priced.vat),
        "total": str(priced.total),
        "deposit": str(deposit),
        "balance": str(priced.total - deposit),
        "not_included": list(priced.left_out),
        "programme": programme_of(option.work, firm, slowest_material_days(option.calculation.takeoff)),
    }


def _logo(firm: Firm) -> dict | None:
    """Named by its content, so that what was sent shows the mark that it was sent with."""
    if not firm.logo:
        return None
    return {"file": firm.logo, "width_px": firm.logo_width_px, "height_px": firm.logo_height_px}


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


def floor_lost_m2(faces: Iterable[Mapping]) -> Decimal:
    """Floor that the linings of walls stand on, in m² to a hundredth."""
    lost_mm2 = sum(
        (Decimal(face["width_mm"]) * Decimal(face["depth_mm"]) for face in faces if face["surface_kind"] == "wall"),
        Decimal(0),
    )
    return (lost_mm2 / 1_000_000).quantize(Decimal("0.01"))


def _room_after(room: Mapping) -> dict:
    return {
        "name": room["room"],
        "words": [_said(word) for word in room["words"]],
        "limit_text": _what_is_left(room),
        "notices": _for_the_homeowner(room["notices"]),
        "listen": room.get("listen", []),
        "prediction": {
            "room": room["room"],
            "bands_hz": room["bands_hz"],
            "before": _single_numbers(room["before"]),
            "after": _single_numbers(room["after"]),
            "paths": [
                {
                    "name": path["name"],
                    "share_before": _plain(path["share_before"], 3),
                    "share_after": _plain(path["share_after"], 3),
                }
                for path in room["paths"]
            ],
        },
    }


def _what_is_left(room: Mapping) -> str:
    """Which way most of what is still heard comes by; the office reads the engine's own sentence instead."""
    if not room["paths"]:
        return ""
    way = max(room["paths"], key=lambda path: path["share_after"])
    share = "most" if way["share_after"] > 0.5 else "the largest part"
    return f"After the work, {share} of what is still heard comes by this way: {way['name']}."


def _for_the_homeowner(notices: Iterable[Mapping]) -> list[str]:
    """What the engine remarks on, in plain words; remarks on its model are in the range already and stay in the office."""
    return [text for notice in notices if (text := PLAIN_WORDS.get(notice["code"], notice["text"]))]


def _said(word: Mapping) -> dict:
    """What is heard of one noise; the worse end of the range only where it says something else."""
    worse = word.get("after_if_worse", "")
    said = {key: _capital(word[key]) for key in ("noise", "before", "after")} | {"key": word.get("key", "")}
    return said | {"at_worst": _capital(worse) if worse != word["after"] else ""}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _single_numbers(state: Mapping) -> dict:
    return {
        "standardized_db": [_plain(level) for level in state["standardized_db"]],
        "weighted_db": state["weighted_db"],
        "c_db": state["c_db"],
        "ctr_db": state["ctr_db"],
        "uncertainty_db": _plain(state["uncertainty_db"]),
        "band_uncertainty_db": [_plain(level) for level in state.get("band_uncertainty_db", [])],
    }


def _plain(number: float, places: int = 1) -> float:
    """Rounded, and nothing instead of minus nothing, which one database would keep and another not."""
    return round(float(number), places) + 0.0


def whole_percents(shares: Sequence[float]) -> list[int]:
    """Shares of 1 as whole percents that add up to 100 (largest remainders get the points that rounding leaves)."""
    total = sum(shares)
    if not total:
        return [0 for _ in shares]
    exact = [100 * share / total for share in shares]
    whole = [int(value) for value in exact]
    by_remainder = sorted(range(len(shares)), key=lambda n: exact[n] - whole[n], reverse=True)
    for n in by_remainder[: 100 - sum(whole)]:
        whole[n] += 1
    return whole


def _section(section: PricedSection) -> dict:
    return {"label": section.label, "net": str(section.net), "lines": [_line(line) for line in section.lines]}


def _line(line: Line) -> dict:
    return {
        "description": line.description,
        "where": line.where,
        "quantity": f"{line.quantity.normalize():f}",
        "unit": line.unit,
        "unit_price": str(line.unit_price),
        "net": str(line.net),
        "vat_percent": f"{line.vat_percent.normalize():f}",
    }


def _vat(band: VatBand) -> dict:
    return {"percent": f"{band.percent.normalize():f}", "net": str(band.net), "vat": str(band.vat)}


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]
