"""Reads of quotes, links and decisions, with what their pages need loaded along."""

from datetime import datetime
from enum import StrEnum

from django.db.models import Count, Exists, Max, Min, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.http import Http404
from django.utils import timezone

from contractor.catalogue.models import BuildUp
from contractor.common.links import token_hash
from contractor.jobs.models import Job
from contractor.quotes.models import Discount, ExtraLine, LineOverride, ProposalLink, Question, Revision, VatBasis
from contractor.rooms.models import Scheme


class Standing(StrEnum):
    """What a link opens onto."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    SUPERSEDED = "superseded"
    EXPIRED = "expired"
    REVOKED = "revoked"


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


def followed(revisions: QuerySet[Revision]) -> QuerySet[Revision]:
    """With when and how often they were opened, and their questions that wait; without their large inner parts."""
    links = ProposalLink.objects.filter(revision=OuterRef("pk")).order_by().values("revision")
    waiting = Question.objects.filter(revision=OuterRef("pk"), answer="").order_by().values("revision")
    return (
        revisions.select_related("decision", "sent_by")
        .defer("internal", "document")
        .annotate(
            first_opened_at=Subquery(links.annotate(value=Min("first_opened_at")).values("value")),
            last_opened_at=Subquery(links.annotate(value=Max("last_opened_at")).values("value")),
            times_opened=Coalesce(Subquery(links.annotate(value=Sum("times_opened")).values("value")), 0),
            open_questions=Coalesce(Subquery(waiting.annotate(value=Count("pk")).values("value")), 0),
            first_asked_at=Subquery(waiting.annotate(value=Min("asked_at")).values("value")),
        )
    )


def revisions_of(job: Job) -> QuerySet[Revision]:
    """The job's sendings, newest first, as `followed` has them."""
    return followed(job.revisions.all())


def latest_revision(job: Job) -> Revision | None:
    return revisions_of(job).first()


def proposals_to_follow() -> QuerySet[Revision]:
    """Those that wait for an answer, and those with a question that does, the oldest first, with job and customer."""
    asked = Exists(Question.objects.filter(revision=OuterRef("pk"), answer=""))
    waiting = Revision.objects.filter(Q(status=Revision.Status.SENT) | asked)
    return followed(waiting).select_related("job__property__customer", "decision", "sent_by").order_by("sent_at", "pk")


def questions_of(job: Job) -> QuerySet[Question]:
    """Every question about the job's proposals, in order, with who answered."""
    return (
        Question.objects.filter(revision__job=job)
        .select_related("revision", "answered_by")
        .defer("revision__document", "revision__internal")
    )


def question_for(pk: int) -> Question:
    try:
        return Question.objects.select_related("revision__job__property__customer", "answered_by").get(pk=pk)
    except Question.DoesNotExist:
        raise Http404("There is no such question.") from None


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


def override_for(pk: int) -> LineOverride:
    try:
        return LineOverride.objects.select_related("scheme__job__property__customer").get(pk=pk)
    except LineOverride.DoesNotExist:
        raise Http404("There is no such change of a line.") from None


def override_of(scheme: Scheme, line_key: str) -> LineOverride | None:
    return LineOverride.objects.filter(scheme=scheme, line_key=line_key).first()


def discount_for(pk: int) -> Discount:
    try:
        return Discount.objects.select_related("job__property__customer").get(pk=pk)
    except Discount.DoesNotExist:
        raise Http404("There is no such discount.") from None


def vat_basis_of(job: Job) -> VatBasis | None:
    return VatBasis.objects.select_related("decided_by").filter(job=job).first()


def document_of(revision: Revision) -> dict:
    """The frozen document of a revision read without it."""
    return Revision.objects.values_list("document", flat=True).get(pk=revision.pk)


def build_ups_for(keys: set[str]) -> QuerySet[BuildUp]:
    """Build-ups with their layers and materials, to be put in words and drawn."""
    return BuildUp.objects.filter(key__in=keys).prefetch_related("layers__material")
