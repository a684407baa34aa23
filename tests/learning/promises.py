"""Jobs whose quote was accepted with a prediction frozen in it, and sound tests in their rooms."""

from datetime import timedelta

from django.utils import timezone

from contractor.quotes.models import Decision, Revision
from contractor.rooms.models import Room, Surface
from contractor.soundtests.models import SoundTest
from tests.factories import JobFactory, RoomFactory, SchemeFactory, UserFactory
from tests.quotes.results import face

ANSWERED = {"accepted": Revision.Status.ACCEPTED, "declined": Revision.Status.DECLINED}


def side(weighted_db: int, uncertainty_db: float) -> dict:
    return {"weighted_db": weighted_db, "uncertainty_db": uncertainty_db}


def promised(*, before=(45, 3.0), after=(55, 4.0), factor=1.0, faces=None, stage="complete") -> Room:
    """A room in a job whose quote was accepted with this prediction of it."""
    room = RoomFactory(job=JobFactory(stage=stage), name="Back bedroom")
    if not room.surfaces.exists():
        Surface.objects.create(
            room=room, letter="B", name="Party wall", face="wall", role="separating", length_mm=3600, height_mm=2400
        )
    said = {"before": side(*before), "after": side(*after), "uncertainty_factor": factor}
    faces = [face()] if faces is None else faces
    option = {"name": "Quieter", "predictions": {str(room.pk): said}, "takeoff": {"faces": faces}}
    answered(sent(room.job, options=[option]), "accepted")
    return room


def sent(job, *, options=(), document=None, days_ago=10, valid_days=30) -> Revision:
    sent_at = timezone.now() - timedelta(days=days_ago)
    return Revision.objects.create(
        job=job,
        number=1,
        document=document or {"options": []},
        internal={"options": list(options)},
        document_hash="0" * 64,
        sent_at=sent_at,
        sent_by=UserFactory(),
        valid_until=sent_at.date() + timedelta(days=valid_days),
    )


def answered(revision: Revision, answer: str, *, reason="", days_ago=3) -> Decision:
    revision.status = ANSWERED[answer]
    revision.save()
    signed = {"option": "Quieter", "typed_name": "Customer", "agreed_terms": True} if answer == "accepted" else {}
    decision = Decision.objects.create(
        revision=revision,
        answer=answer,
        scheme=SchemeFactory(job=revision.job),
        reason=reason,
        document_hash="0" * 64,
        **signed,
    )
    Decision.objects.filter(pk=decision.pk).update(at=timezone.now() - timedelta(days=days_ago))
    return decision


def measured(room: Room, weighted_db: int, moment="after", **changes) -> SoundTest:
    made = {
        "job": room.job,
        "room": room,
        "moment": moment,
        "source_room": "Next door",
        "measured_by": "A tester",
        "volume_m3": "31",
        "bands": [],
        "readings": {},
        "result": {"weighted_db": weighted_db},
        "created_by": UserFactory(),
    }
    return SoundTest.objects.create(**made | changes)
