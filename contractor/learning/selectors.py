"""Reads of what the firm learns from: sound tests, hours, pieces, proposals, each beside what was promised."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Sum

from contractor.fitting.models import Tick, WorkPack
from contractor.jobs.models import Job, Stage, StageChange
from contractor.learning.accepted import accepted_options
from contractor.learning.differences import Case
from contractor.learning.hours import BUILDING, JobHours, Pieces, pieces_by_build_up, quoted_hours
from contractor.learning.material import JobMaterial, Packs, parts_of
from contractor.learning.pipeline import Proposal, value_of
from contractor.orders.counts import Goods
from contractor.orders.models import FromVan, Order
from contractor.orders.selectors import material_of_jobs
from contractor.quotes.models import Decision, Revision
from contractor.rooms.models import Room, Surface
from contractor.site.models import TimeEntry
from contractor.soundtests.models import Kind, SoundTest

NOT_KNOWN = "Not known any more"
UNTREATED = "Nothing built on it"
FINISHED = (Stage.COMPLETE, Stage.CLOSED)
MOST_OPTIONS = 6  # of a quote, whose totals are read


@dataclass(frozen=True, kw_only=True)
class Reason:
    at: datetime
    number: int
    title: str
    words: str
    by_customer: bool


def cases() -> tuple[list[Case], int]:
    """Every airborne test by the standard in a job whose quote was accepted, and how many such tests had no promise.

    Of several in one room, from one source room and at one moment the latest counts. The number of queries is fixed.
    """
    tests = (
        SoundTest.objects.filter(basis=SoundTest.Basis.STANDARD, kind=Kind.AIRBORNE)
        .select_related("room", "job")
        .prefetch_related("room__surfaces__patches__construction")
        .defer("readings")
        .order_by("measured_on", "pk")
    )
    latest = {(t.job_id, t.room_id, t.source_room.strip().lower(), t.moment): t for t in tests}
    promised = accepted_options(test.job_id for test in latest.values())
    found = [_case(test, promised.get(test.job_id, {})) for test in latest.values()]
    kept = [case for case in found if case]
    return kept, len(found) - len(kept)


def _case(test: SoundTest, promise: Mapping) -> Case | None:
    predicted = promise.get("predictions", {}).get(str(test.room_id)) if test.room_id else None
    if not predicted or not predicted[test.moment]["uncertainty_db"]:
        return None
    side = predicted[test.moment]
    separating = [s for s in test.room.surfaces.all() if s.role == Surface.Role.SEPARATING]
    return Case(
        job_number=test.job.number,
        room_id=test.room_id,
        room=test.room.name,
        source_room=test.source_room,
        moment=test.moment,
        measured_db=test.result["weighted_db"],
        predicted_db=side["weighted_db"],
        # What was stated may have been widened by an earlier factor: the rule asks about the model's own.
        uncertainty_db=side["uncertainty_db"] / predicted.get("uncertainty_factor", 1.0),
        construction=_construction(separating),
        build_up=_build_up(test.room, separating, promise["faces"]),
    )


def _construction(separating: list[Surface]) -> str:
    """What most of the separating surface is built of, as surveyed: its patch that is the rest."""
    names = [p.construction.name for s in separating for p in s.patches.all() if p.is_rest and p.construction]
    return names[0] if names else NOT_KNOWN


def _build_up(room: Room, separating: list[Surface], faces: list[Mapping]) -> str:
    """What was promised to be built on the separating surface, the largest face first."""
    letters = {surface.letter for surface in separating}
    on_it = [f for f in faces if f["room"] == room.name and f["surface"] in letters and not f["problem"]]
    return max(on_it, key=lambda face: float(face["area_m2"] or 0))["build_up"] if on_it else UNTREATED


def finished_hours() -> list[JobHours]:
    """Jobs that are complete or closed, have an accepted quote with hours and any time kept on site; latest first."""
    taken: dict[int, dict[str, Decimal]] = {}
    facts = {}
    kept = (
        TimeEntry.objects.filter(job__stage__in=FINISHED)
        .order_by("-job__number")
        .values_list("job_id", "job__number", "job__title", "task")
        .annotate(minutes=Sum("minutes"))
    )
    for job_id, number, title, task, minutes in kept:
        facts[job_id] = (number, title)
        taken.setdefault(job_id, {})[task] = Decimal(minutes) / 60
    promised = accepted_options(facts)
    found = []
    for job_id, (number, title) in facts.items():
        quoted = quoted_hours(promised.get(job_id, {}).get("faces", []))
        if quoted:
            used = sum((h for task, h in taken[job_id].items() if task in BUILDING), Decimal(0))
            other = sum(taken[job_id].values()) - used
            found.append(JobHours(number=number, title=title, quoted=quoted, used=used, other=other))
    return found


def finished_material() -> list[JobMaterial]:
    """Jobs that are complete or closed, have an accepted quote, and orders or material out of the van; latest first."""
    ids = set(Order.objects.filter(cancelled_at=None, job__stage__in=FINISHED).values_list("job_id", flat=True))
    ids |= set(FromVan.objects.filter(job__stage__in=FINISHED).values_list("job_id", flat=True))
    promised = accepted_options(ids)
    goods = material_of_jobs(Job.objects.in_bulk([pk for pk in ids if pk in promised]))
    found = []
    for job, rows in goods:
        used = {row.key: row for row in rows}
        packs = {key: _packs(same, used.get(key)) for key, same in _bought(promised[job.pk]["buy"]).items()}
        found.append(
            JobMaterial(
                number=job.number, title=job.title, packs={key: each for key, each in packs.items() if each},
                parts=parts_of(promised[job.pk]["faces"]), is_said=any(row.said for row in rows),
            )
        )  # fmt: skip
    return sorted(found, key=lambda job: -job.number)


def _bought(buy: list[Mapping]) -> dict[str, list[Mapping]]:
    found: dict[str, list[Mapping]] = {}
    for row in buy:
        found.setdefault(row["material_key"], []).append(row)
    return found


def _packs(rows: list[Mapping], goods: Goods | None) -> Packs | None:
    """None of what was never ordered: of its use nothing is known."""
    if goods is None:
        return None
    first = rows[0]
    return Packs(
        name=first["material"],
        unit=f"pack of {first['pack_quantity']}" if first["pack_quantity"] > 1 else first["pack_unit"],
        price=Decimal(first["pack_price"]),
        quoted=Decimal(sum(row["packs"] for row in rows)),
        ordered=Decimal(goods.asked),
        used=goods.used,
    )


def pieces_made() -> list[Pieces]:
    """Of every work pack with a piece ticked as cut. Packs are read a few at a time, since each is large."""
    ticked: dict[int, set[str]] = {}
    for pack_id, key in Tick.objects.filter(is_done=True).order_by().values_list("pack_id", "key"):
        ticked.setdefault(pack_id, set()).add(key)
    packs = WorkPack.objects.filter(pk__in=ticked).order_by("pk").values_list("pk", "job_id", "document")
    return pieces_by_build_up((job, document, ticked[pk]) for pk, job, document in packs.iterator(chunk_size=20))


def proposals() -> list[Proposal]:
    """The last quote sent of each job. Of each letter only its options' names and totals are read."""
    named = [f"document__options__{n}__{what}" for n in range(MOST_OPTIONS) for what in ("name", "total")]
    rows = (
        Revision.objects.exclude(status=Revision.Status.SUPERSEDED)
        .order_by("job_id", "number")
        .values_list(
            "job_id", "job__stage", "status", "valid_until", "sent_at", "decision__at", "decision__option", *named
        )
    )
    found = {}
    for job_id, stage, status, valid_until, sent_at, at, option, *options in rows:
        found[job_id] = Proposal(
            job_id=job_id, stage=stage, status=status, valid_until=valid_until, sent_at=sent_at, answered_at=at,
            value=value_of(zip(options[::2], options[1::2], strict=True), option or ""),
        )  # fmt: skip
    return list(found.values())


def reasons(limit: int = 30) -> list[Reason]:
    """Why proposals were declined, in the customer's words, and why jobs were lost, in the office's; latest first."""
    declined = Decision.objects.filter(answer=Decision.Answer.DECLINED).select_related("revision__job")
    declined = declined.only("at", "reason", "revision__job__number", "revision__job__title")
    lost = StageChange.objects.filter(to_stage=Stage.LOST).select_related("job").order_by("-at")
    told = [
        Reason(at=d.at, number=d.revision.job.number, title=d.revision.job.title, words=d.reason, by_customer=True)
        for d in declined.order_by("-at")[:limit]
    ]
    told += [
        Reason(at=c.at, number=c.job.number, title=c.job.title, words=c.note, by_customer=False) for c in lost[:limit]
    ]
    return sorted(told, key=lambda reason: reason.at, reverse=True)[:limit]
