"""The completion pack as a document: what was built, what is hidden behind it, what was measured, what was agreed.

No cost, margin or hour enters it. The care rules follow from what was built (common practice: whatever is screwed through
a lining into the old wall ties the two together again).
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from contractor.accounts.letterhead import letterhead
from contractor.accounts.models import Firm
from contractor.billing.models import Variation
from contractor.jobs.models import Gate, Job
from contractor.site.models import SitePhoto
from contractor.soundtests.compare import Comparison

FORMAT = 3  # 2: optional extras that were ordered. 3: photographs by place, what a variation was for, cautions
CARE = {
    "wall": (
        "Pictures and light things: short screws or hooks into the board alone, none longer than the boards are thick.",
        "Shelves, cupboards, televisions and radiators: not on this wall. Stand them on the floor, or ask us for a place"
        " where we have built in support.",
        "Never drill deeper than the boards: a screw that reaches the old wall carries the sound through.",
        "Keep the thin soft joint at the edges free. Do not fill it with plaster, hard filler or tiles.",
    ),
    "ceiling": (
        "Lamps hang from the board with light-duty fixings, up to 3 kg; anything heavier needs us or a joiner first.",
        "No recessed lamps: each hole lets sound through and weakens the fire protection.",
        "Keep the thin soft joint at the edges free when you decorate.",
    ),
    "floor": (
        "Do not screw or nail into the floor: it lies loose on a soft layer.",
        "Leave the gap at the skirting open when you lay a new covering.",
    ),
}
ALWAYS = ("A fine crack at an edge in the first winter is timber drying. Show us what is wider than a coin.",)
CAUTIONS = (
    "Vents, flues and air bricks that we left open must stay open: people and fires need the air.",
    "New sockets, lamps or cables through what we built are work for a registered electrician; anything on gas or a flue"
    " for a registered gas engineer. Let them talk to us first about closing the hole again.",
    "Cables and pipes run behind the boards. Nobody drills or cuts without looking for them first.",
    "Boards and seals may be part of the protection against fire. A hole in them is closed like for like; in a flat the"
    " person responsible for the building is asked first.",
    "Walls, joists and beams carry what we added as it is now. Before more is hung or laid on it, or anything of the"
    " house is cut, a structural engineer looks.",
)
ASBESTOS = (
    "In a home from before 2000 asbestos may be in what we did not touch. Before that is drilled, scraped or taken down,"
    " somebody competent looks and samples."
)


def completion_document(
    *,
    job: Job,
    firm: Firm,
    number: int,
    option: str,
    faces: Sequence[Mapping],
    extras: Sequence[Mapping],
    photos: Iterable[SitePhoto],
    tests: Sequence[tuple[Comparison, dict | None, list]],
    variations: Iterable[Variation],
    snags_open: int,
    gates: Iterable[Gate],
    made_at: datetime,
) -> dict:
    """`faces` and `extras` are those of the work pack; `tests` are comparisons with their drawings and the targets beside them."""
    kinds = {face["surface_kind"] for face in faces}
    variations = [v for v in variations if v.status == Variation.Status.APPROVED]
    return {
        "format": FORMAT,
        "number": number,
        "made_at": made_at.isoformat(),
        "firm": letterhead(firm),
        "customer": {"name": job.property.customer.name},
        "property": {"lines": job.property.lines},
        "job": {"number": job.number, "title": job.title},
        "option": option,
        "built": [_built(face) for face in faces],
        "extras": list(extras),
        "photos": _photos(photos, faces, variations),
        "tests": [_test(*test) for test in tests],
        "variations": [_variation(v) for v in variations],
        "snags_open": snags_open,
        "guarantee": firm.guarantee,
        "care": [{"kind": kind, "lines": list(lines)} for kind, lines in CARE.items() if kind in kinds],
        "always": list(ALWAYS),
        "cautions": [*CAUTIONS, *([ASBESTOS] if job.property.may_hold_asbestos else [])],
        "papers": [_paper(gate) for gate in gates if gate.has_evidence],
    }


def _built(face: Mapping) -> dict:
    measured = face.get("remeasured")
    return {
        "where": f"{face['room']}: {face['label']}",
        "build_up": face["build_up"],
        "depth_mm": face["depth_mm"],
        "quantity": face["quantity"],
        "unit": face["unit"],
        "layers": [step["title"] for step in face["steps"] if step["kind"] in ("layer", "prepare")],
        "measured_again": bool(measured),
    }


def _photos(photos: Iterable[SitePhoto], faces: Sequence[Mapping], variations: Sequence[Variation]) -> list[dict]:
    """Those of hold points, in the order of the work, and of what was varied. Photographs of notes and snags are the
    firm's own. `face` counts the faces from nothing; it is None for a photograph of a variation."""
    steps = {step["key"]: (n, face["label"], step["title"]) for n, face in enumerate(faces) for step in face["steps"]}
    found = {str(v.act.key): (len(faces), v.reference, v.title) for v in variations if v.act}
    shown = []
    for photo in photos:
        if photo.about in steps or photo.about in found:
            place, where, what = (steps | found)[photo.about]
            face = place if photo.about in steps else None
            row = {"key": str(photo.key), "where": where, "what": what, "taken_at": photo.taken_at.isoformat()}
            shown.append((place, photo.taken_at, row | {"face": face}))
    return [row for _, _, row in sorted(shown, key=lambda one: one[:2])]


def _test(comparison: Comparison, drawing: dict | None, judged: list) -> dict:
    def single(test) -> dict | None:
        if test is None:
            return None
        result = test.result
        return {
            "weighted_db": result["weighted_db"],
            "spread_db": result["spread_db"],
            "on": test.measured_on.isoformat(),
            "by": test.measured_by,
            "cautions": result["cautions"],
        }

    predicted = comparison.predicted
    return {
        "title": comparison.title,
        "is_impact": comparison.is_impact,
        "before": single(comparison.before),
        "after": single(comparison.after),
        "gained_db": comparison.gained_db,
        "predicted": predicted
        and {"weighted_db": predicted["after"]["weighted_db"], "uncertainty_db": predicted["after"]["uncertainty_db"]},
        "drawing": drawing,
        "targets": [
            {"name": j.target.name, "asks": f"{j.target.get_quantity_display()} {j.target.limit_db} dB", "so": j.words}
            for j in judged
        ],
    }


def _variation(variation: Variation) -> dict:
    return {
        "reference": variation.reference,
        "title": variation.title,
        "why": variation.document.get("why", variation.why),
        "days": variation.days,
        "total": variation.document["total"],
        "approved_on": variation.answered_at.isoformat(),
    }


def _paper(gate: Gate) -> dict:
    """What a competent person said of a caution before the work."""
    return {
        "title": gate.get_kind_display(),
        "need": gate.get_need_display(),
        "evidence": gate.evidence or gate.paper_name,
        "by": gate.cleared_by,
        "on": gate.cleared_on.isoformat() if gate.cleared_on else "",
    }
