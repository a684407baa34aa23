"""A job with an accepted quote, its take-off kept in it as sent, and the pack made from that."""

import json
from pathlib import Path

import pytest
from django.utils import timezone

from contractor.fitting.services import make_pack
from contractor.quotes.models import Decision, Revision
from tests.factories import JobFactory, PropertyFactory, SchemeFactory, UserFactory, VisitFactory

TAKEOFF = json.loads((Path(__file__).parent / "takeoff.json").read_text())


@pytest.fixture(autouse=True)
def holds_are_settled(request, monkeypatch):
    """Hold points keep nothing closed, but in tests marked `holds`, which are about them."""
    if "holds" not in request.keywords:
        monkeypatch.setattr("contractor.fitting.selectors.locks_of", lambda document, done, evidence: {})


@pytest.fixture
def takeoff() -> dict:
    return json.loads(json.dumps(TAKEOFF))


def accepted_job(takeoff: dict, **job) -> Decision:
    """A job whose only option was sent with this take-off and accepted."""
    home = PropertyFactory(access_note="Key safe by the side gate.\nThe dog is friendly.", parking_note="On the verge.")
    scheme = SchemeFactory(job=JobFactory(property=home, stage="accepted", **job), name="Quieter")
    revision = Revision.objects.create(
        job=scheme.job,
        number=1,
        status=Revision.Status.ACCEPTED,
        document={},
        internal={"options": [{"name": "Quieter", "cost": "768.27", "takeoff": takeoff}]},
        document_hash="0" * 64,
        sent_at=timezone.now(),
        sent_by=UserFactory(),
        valid_until=timezone.localdate(),
    )
    return Decision.objects.create(
        revision=revision,
        answer=Decision.Answer.ACCEPTED,
        option="Quieter",
        scheme=scheme,
        typed_name="Customer",
        agreed_terms=True,
        document_hash="0" * 64,
    )


def pack_for(takeoff: dict, *people, **job):
    """A pack on a job to which these people are sent today."""
    decision = accepted_job(takeoff, **job)
    VisitFactory(job=decision.revision.job, people=people)
    return make_pack(job=decision.revision.job, revision=decision.revision, scheme=decision.scheme)


@pytest.fixture
def decision(db, takeoff) -> Decision:
    return accepted_job(takeoff)


@pytest.fixture
def pack(fitter, takeoff):
    """The pack of a job to which the signed-in fitter is sent today."""
    return pack_for(takeoff, fitter.user)
