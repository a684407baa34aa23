"""Reads of quotes, links and decisions, with what their pages need loaded along."""

import hashlib
from datetime import datetime
from enum import StrEnum

from django.db.models import QuerySet
from django.http import Http404
from django.utils import timezone

from contractor.catalogue.models import BuildUp
from contractor.jobs.models import Job
from contractor.quotes.models import ExtraLine, ProposalLink, Revision


class Standing(StrEnum):
    """What a link opens onto."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    SUPERSEDED = "superseded"
    EXPIRED = "expired"
    REVOKED = "revoked"


def token_hash(token: str) -> str:
    """SHA-256 of a link's token: all that is kept of it. The token itself has 256 random bits, so no salt is needed."""
    return hashlib.sha256(token.encode()).hexdigest()


def link_for(token: str) -> ProposalLink | None:
    """The link that a token opens, its revision, decision and job loaded; None for a token that we never gave out."""
    return (
        ProposalLink.objects.select_related("revision__job__property__customer", "revision__decision")
        .defer("revision__internal")
        .filter(token_hash=token_hash(token))
        .first()
    )


def standing_of(link: ProposalLink, now: datetime | None = None) -> Standing:
    now = now or timezone.now()
    if link.revoked_at:
        return Standing.REVOKED
    status = link.revision.status
    if status == Revision.Status.SUPERSEDED:
        return Standing.SUPERSEDED
    if link.expires_at <= now:
        return Standing.EXPIRED
    if status == Revision.Status.ACCEPTED:
        return Standing.ACCEPTED
    if status == Revision.Status.DECLINED:
        return Standing.DECLINED
    return Standing.OPEN


def revisions_of(job: Job) -> QuerySet[Revision]:
    """The job's sendings, newest first, without their large inner parts."""
    return job.revisions.select_related("decision", "sent_by").defer("internal", "document")


def latest_revision(job: Job) -> Revision | None:
    return revisions_of(job).first()


def revision_for(pk: int) -> Revision:
    """A revision with its job, customer, decision and sender; Http404 where there is none."""
    try:
        return Revision.objects.select_related("job__property__customer", "decision", "sent_by").get(pk=pk)
    except Revision.DoesNotExist:
        raise Http404("There is no such quote.") from None


def link_by_id(pk: int) -> ProposalLink:
    try:
        return ProposalLink.objects.select_related("revision__job").defer("revision__internal").get(pk=pk)
    except ProposalLink.DoesNotExist:
        raise Http404("There is no such link.") from None


def extra_line_for(pk: int) -> ExtraLine:
    try:
        return ExtraLine.objects.select_related("job__property__customer", "scheme").get(pk=pk)
    except ExtraLine.DoesNotExist:
        raise Http404("There is no such line.") from None


def build_ups_for(keys: set[str]) -> QuerySet[BuildUp]:
    """Build-ups with their layers and materials, to be put in words and drawn."""
    return BuildUp.objects.filter(key__in=keys).prefetch_related("layers__material")
