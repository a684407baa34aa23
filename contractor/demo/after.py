"""What came after acceptance in the demo: the site's day, money, sound tests, the completion pack. All invented."""

from datetime import datetime, timedelta
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from contractor.accounts.models import User
from contractor.billing import payment_services
from contractor.billing import services as billing
from contractor.billing.models import BillingSettings, Payment, VariationLine
from contractor.billing.selectors import account_of, contract_of
from contractor.demo.pictures import picture
from contractor.jobs.models import Job
from contractor.rooms.models import Room
from contractor.site.services import act_take, photo_piece
from contractor.soundtests.models import SoundTest
from contractor.soundtests.selectors import predicted_for
from contractor.soundtests.services import keep_test, work_out

BANDS = [100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150]
FIRST = 3  # of the 21 bands of a prediction
OFF_DB = (1.4, -2.1, 0.8, -0.6, 1.9, -1.2, 0.3, 1.1, -0.9, 0.6, -1.5, 0.2, 1.3, -0.4, -1.0, 0.7)
HOW_TO_PAY = "Larkfold Quiet Rooms\nSort code 00-00-00, account 00000000"
POSITIONS_DB = (-1.1, 0.4, 0.9, -0.6, 0.3)


def site_day(job: Job, person: User) -> None:
    """A morning on site: boards came, a joist end is soft, two photographs, the hours."""
    now = timezone.now()
    acts = [
        ("delivery", {"what": "Boards, wool and studs", "state": "short", "note": "One box of screws is missing"}, 5),
        (
            "note",
            {"kind": "note", "where": "Stairs", "text": "Boards are carried up one at a time: the turn is tight."},
            4,
        ),
        ("note", {"kind": "snag", "where": "Party wall", "text": "A joist end by the window is soft with damp."}, 3),
        ("time", {"on_date": timezone.localdate().isoformat(), "task": "prepare", "hours": "3.5", "note": ""}, 1),
    ]
    for kind, payload, hours in acts:
        done_at = now - timedelta(hours=hours)
        act = act_take(key=uuid4(), job=job, person=person, kind=kind, payload=payload, done_at=done_at)
        if kind == "note":
            photograph(job, person, str(act.key), done_at)


def hours_kept(job: Job, people: list[User], days: int, days_ago: int) -> None:
    """The hours that people kept on a job, so many days of two tasks each."""
    tasks = ["prepare", "frame", "board", "finish"]
    for n in range(days):
        on_date = timezone.localdate() - timedelta(days=days_ago + days - n)
        for person in people:
            task = tasks[n * len(tasks) // days]
            for kept, hours in ((task, "6.5"), ("carry", "1")):
                payload = {"on_date": on_date.isoformat(), "task": kept, "hours": hours, "note": ""}
                done_at = timezone.now() - timedelta(days=days_ago + days - n)
                act_take(key=uuid4(), job=job, person=person, kind="time", payload=payload, done_at=done_at)


def photograph(job: Job, person: User, about: str, taken_at: datetime | None = None) -> None:
    """A drawn picture that stands for a photograph of `about`."""
    body = picture("wall").getvalue()
    photo_piece(
        key=uuid4(), job=job, person=person, offset=0, piece=body, size=len(body), taken_at=taken_at or timezone.now(),
        about=about,
        caption="",
    )  # fmt: skip


def money(job: Job, office: User, fitter: User) -> None:
    """The deposit is asked for and partly paid; a variation that was raised on site waits for its answer."""
    BillingSettings.objects.update_or_create(pk=1, defaults={"how_to_pay": HOW_TO_PAY})
    stage = account_of(job, contract_of(job)).stages[0]
    invoice = billing.invoice_next(job=job, user=office, expected=stage.amount)
    payment = Payment(invoice=invoice, amount=Decimal("1000.00"), note="Ref. deposit")
    payment_services.payment_add(payment=payment, user=office, expected=invoice.total)
    billing.invoice_send(invoice=invoice, user=office)
    act = act_take(
        key=uuid4(), job=job, person=fitter, kind="variation", done_at=timezone.now() - timedelta(hours=2),
        payload={
            "title": "Soft joist end by the window", "cause": "hidden",
            "why": "Behind the skirting one joist end is soft with damp. It has to be spliced before the lining can stand"
            " on the floor. A structural engineer looks at it first.",
        },
    )  # fmt: skip
    photograph(job, fitter, str(act.key), act.done_at)
    variation = job.variations.get()
    variation.days = 1
    billing.variation_change(variation=variation, user=office)
    VariationLine.objects.create(
        variation=variation, description="Splice one joist end, treated timber", unit="item",
        unit_price=Decimal("185.00"), vat_percent=Decimal(20),
    )  # fmt: skip
    billing.variation_send(variation=variation, user=office)


def sound_test(job: Job, office: User, moment: str, days_ago: int) -> None:
    """A test near what was predicted, five positions in each room, as a meter would have given it."""
    room = Room.objects.filter(job=job).order_by("pk").first()
    predicted = predicted_for(job).rooms[str(room.pk)][moment]["standardized_db"][FIRST : FIRST + len(BANDS)]
    source = [96.0 - 0.3 * n for n in range(len(BANDS))]
    received = [s - d - off for s, d, off in zip(source, predicted, OFF_DB, strict=True)]
    test = SoundTest(
        job=job, room=room, kind="airborne", moment=moment, source_room="Next door", bands=BANDS,
        measured_on=timezone.localdate() - timedelta(days=days_ago), measured_by="A tester of an accredited body",
        instrument="Class 1 meter, calibrated in September", volume_m3=Decimal(str(round(room.volume_m3, 1))),
        readings={
            "source": _around(source), "receiving": _around(received), "background": [[16.0] * len(BANDS)],
            "reverberation": [[0.55 - 0.008 * n for n in range(len(BANDS))]],
        },
    )  # fmt: skip
    work_out(test)
    keep_test(test=test, by=office)


def _around(levels: list[float]) -> list[list[float]]:
    return [[round(level + off, 1) for level in levels] for off in POSITIONS_DB]


def settled(job: Job, office: User) -> None:
    """Three stages of a finished job: two paid, the second with 50 pounds too many, which are set against the last."""
    shares = [("With the order", 20), ("Boards sealed", 50), ("When the work is done", 30)]
    billing.stages_set(job=job, stages=[(label, Decimal(percent)) for label, percent in shares], user=office)
    invoices = []
    for too_many in (0, 50, None):
        stage = next(stage for stage in account_of(job, contract_of(job)).stages if stage.is_next)
        invoice = billing.invoice_next(job=job, user=office, expected=stage.amount)
        invoices.append(invoice)
        if too_many is not None:
            payment = Payment(invoice=invoice, amount=invoice.total + too_many, note=f"Ref. {invoice.number}")
            payment_services.payment_add(payment=payment, user=office, expected=invoice.total, is_more=True)
    payment_services.set_off(invoice=invoices[1], other=invoices[2], user=office, expected=Decimal(-50))
