"""What changes quotes that were sent: sending, links, and the homeowner's answer.

Every change of a revision's status holds the lock of its job's row first, so that sending anew, accepting and declining
at the same moment come one after the other and each sees what the one before it did.
"""

import logging
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Max
from django.db.models.functions import Coalesce
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.selectors import the_firm
from contractor.accounts.services import record
from contractor.common.links import new_token, token_hash
from contractor.jobs.cautions import cautions_for
from contractor.jobs.models import Job, Stage
from contractor.jobs.services import stage_change
from contractor.quotes import mail, signals
from contractor.quotes.agreed import agreed_hash, chosen_extras, with_extras
from contractor.quotes.document import build_document, fingerprint, is_as_frozen, today_in_short, treatment_numbers
from contractor.quotes.drafts import changed_since, draft_of
from contractor.quotes.drawings import frozen_boxes, frozen_built_plans, frozen_plans, frozen_sections
from contractor.quotes.internal import internal_of
from contractor.quotes.models import Decision, Draft, ProposalLink, Revision
from contractor.quotes.options import Option, options_of
from contractor.quotes.selectors import Standing, build_ups_for, standing_of
from contractor.rooms.rule_notes import overrides_of
from contractor.rooms.selectors import job_rooms

log = logging.getLogger(__name__)
KEPT_AFTER_ANSWER = timedelta(days=365)


class Refused(Exception):
    """The quote cannot be sent or linked to; the message says why, for the office."""


class NotOpen(Exception):
    """The proposal cannot be answered any more; `standing` says why. `is_repeat`: the very same answer stands already."""

    def __init__(self, standing: Standing, *, is_repeat: bool = False):
        super().__init__(standing.value)
        self.standing = standing
        self.is_repeat = is_repeat


@dataclass(frozen=True, kw_only=True)
class Sent:
    """`token` opens the proposal and is kept nowhere: show it now. `emailed_to` is empty where no e-mail is sent."""

    revision: Revision
    link: ProposalLink
    token: str
    emailed_to: str


def send(
    *,
    job: Job,
    user: User,
    valid_days: int,
    opening: str = "",
    leave_out_unpriced: bool = False,
    accept_preview: bool = False,
    after_number: int | None = None,
) -> Sent:
    """Freeze the quote as it stands into a numbered revision, make its link, and e-mail the customer.

    `after_number` is the newest revision that the sender knew of (0 for none): somebody else's sending in between
    raises Refused, as do options without a price, parts without one unless `leave_out_unpriced`, a take-off that is
    still a preview unless `accept_preview`, and a draft that waits to be brought up to date.
    """
    options = options_of(job)  # the slow part, before any lock is held
    _check_sendable(options, leave_out_unpriced, accept_preview)
    if changed_since(draft_of(job), today_in_short(job, the_firm(), options)):
        raise Refused(
            "Something changed since the draft was last brought up to date. Look at what, and bring it up to date first."
        )
    return _freeze(
        job=job, user=user, options=options, valid_days=valid_days, opening=opening, after_number=after_number
    )


def _check_sendable(options: list[Option], leave_out_unpriced: bool, accept_preview: bool) -> None:
    if not options:
        raise Refused("There is no option yet. Choose a treatment first.")
    for option in options:
        if option.priced.total <= 0:
            raise Refused(f"“{option.scheme.name}” has no price. Give it a treatment or a line, or delete the option.")
        if option.priced.problems and not leave_out_unpriced:
            raise Refused(f"“{option.scheme.name}” is not complete. Mend what is missing, or tick to send it as it is.")
        if option.is_preview and not accept_preview:
            name = option.scheme.name
            raise Refused(
                f"The take-off of “{name}” is still a preview. Wait a moment for the better one, or tick to send."
            )


@transaction.atomic
def _freeze(*, job, user, options, valid_days, opening, after_number) -> Sent:
    job = Job.objects.select_for_update(of=("self",)).select_related("property__customer").get(pk=job.pk)
    number = job.revisions.aggregate(newest=Coalesce(Max("number"), 0))["newest"]
    if after_number is not None and number != after_number:
        raise Refused(f"Quote {job.number}/{number} was sent a moment ago. Look at it before you send another.")
    if job.revisions.filter(status=Revision.Status.ACCEPTED).exists():
        raise Refused("The customer has accepted a quote. What changes now is a variation of that contract.")
    job.revisions.filter(status=Revision.Status.SENT).update(status=Revision.Status.SUPERSEDED)
    now = timezone.now()
    valid_until = timezone.localdate() + timedelta(days=valid_days)
    build_ups = list(build_ups_for({face["build_up_key"] for option in options for face in option.faces}))
    rooms = job_rooms(job)
    document = build_document(
        job=job,
        firm=the_firm(),
        options=options,
        noises=job.noises.all(),
        cautions=cautions_for(job),
        plain_words={build_up.key: build_up.plain_words for build_up in build_ups},
        sections=frozen_sections(build_ups),
        plans=frozen_plans(rooms),
        boxes=frozen_boxes(rooms, options[0].calculation.predictions),
        built_plans={
            option.scheme.pk: frozen_built_plans(rooms, option.scheme, treatment_numbers(option.faces))
            for option in options
        },
        number=number + 1,
        sent_at=now,
        valid_until=valid_until,
        opening=opening,
    )
    revision = Revision.objects.create(
        job=job,
        number=number + 1,
        document=document,
        internal={"options": [internal_of(option) for option in options], "set_aside": overrides_of(job)},
        document_hash=fingerprint(document),
        sent_at=now,
        sent_by=user,
        valid_until=valid_until,
    )
    Draft.objects.filter(job=job).delete()  # what was sent is what changes are told against now
    link, token = _make_link(revision)
    record(user=user, action="Quote sent", subject=revision, hash=revision.document_hash)
    _move(job, Stage.SENT, user, f"Quote {revision.number} sent")
    emailed_to = mail.post_proposal(revision=revision, link=link, token=token)
    return Sent(revision=revision, link=link, token=token, emailed_to=emailed_to)


def _make_link(revision: Revision) -> tuple[ProposalLink, str]:
    token = new_token()
    if revision.status == Revision.Status.SENT:
        expires_at = timezone.make_aware(datetime.combine(revision.valid_until, time.max.replace(microsecond=0)))
    else:
        expires_at = timezone.now() + KEPT_AFTER_ANSWER
    return ProposalLink.objects.create(revision=revision, token_hash=token_hash(token), expires_at=expires_at), token


@transaction.atomic
def link_new(*, revision: Revision, user: User) -> str:
    """A further link to a revision that is live or accepted; its token, to be shown once."""
    Job.objects.select_for_update().get(pk=revision.job_id)
    revision.refresh_from_db(fields=["status"])  # it may have been replaced a moment ago
    if revision.status not in (Revision.Status.SENT, Revision.Status.ACCEPTED):
        raise Refused("Only a quote that waits for an answer, or was accepted, can be linked to.")
    if revision.status == Revision.Status.SENT and revision.valid_until < timezone.localdate():
        raise Refused("Its price has run out. Send the quote again.")
    _, token = _make_link(revision)
    record(user=user, action="Proposal link made", subject=revision)
    return token


@transaction.atomic
def link_revoke(*, link: ProposalLink, user: User) -> None:
    Job.objects.select_for_update().get(pk=link.revision.job_id)  # an answer comes before it or not at all
    if ProposalLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now()):
        record(user=user, action="Proposal link revoked", subject=link.revision)


def note_opened(*, link: ProposalLink) -> None:
    now = timezone.now()
    ProposalLink.objects.filter(pk=link.pk).update(
        first_opened_at=Coalesce("first_opened_at", now), last_opened_at=now, times_opened=F("times_opened") + 1
    )


def accept(
    *,
    link: ProposalLink,
    option_key: str,
    typed_name: str,
    agreed_terms: bool,
    early_start: bool,
    address: str,
    browser: str,
    extra_keys: Collection[str] = (),
) -> Decision:
    """Record the homeowner's acceptance of one option with the extras they ticked, once; tell the floor above and send
    both sides a copy.

    Raises NotOpen when the proposal was answered, replaced, revoked or ran out first.
    """
    decision = _answer(
        link=link,
        status=Revision.Status.ACCEPTED,
        option_key=option_key,
        extra_keys=extra_keys,
        typed_name=typed_name,
        agreed_terms=agreed_terms,
        early_start=early_start,
        address=address,
        browser=browser,
    )
    for receiver, response in signals.accepted.send_robust(sender=Decision, decision=decision):
        if isinstance(response, Exception):
            log.error("After acceptance of %s, %s failed", decision.revision, receiver, exc_info=response)
    return decision


def decline(*, link: ProposalLink, reason: str, address: str, browser: str) -> Decision:
    """Record that the homeowner does not want it. Raises NotOpen as `accept` does."""
    return _answer(
        link=link, status=Revision.Status.DECLINED, reason=reason, address=address, browser=browser, option_key=""
    )


@transaction.atomic
def _answer(
    *,
    link: ProposalLink,
    status: str,
    option_key: str,
    address: str,
    browser: str,
    extra_keys: Collection[str] = (),
    **answer,
) -> Decision:
    job = Job.objects.select_for_update().get(pk=link.revision.job_id)
    link = ProposalLink.objects.select_related("revision__decision").get(pk=link.pk)
    revision = link.revision
    stands = getattr(revision, "decision", None)
    option = next((o for o in revision.document["options"] if o["key"] == option_key), None)
    if status == Revision.Status.ACCEPTED and option is None:
        raise ValueError(f"{revision} has no option {option_key!r}.")
    decision = Decision(
        revision=revision,
        answer=status,
        document_hash=revision.document_hash,
        address=address or None,
        browser=browser[:300],
        **answer,
    )
    if option:
        decision.option = option["name"]
        decision.scheme = job.schemes.filter(pk=option["scheme_id"]).first()
        decision.extras = chosen_extras(option, extra_keys)
        decision.contract_sum = Decimal(with_extras(option, decision.extras)["total"])
        decision.agreed_hash = agreed_hash(decision)
    if (standing := standing_of(link)) != Standing.OPEN:
        raise NotOpen(standing, is_repeat=bool(stands and stands.says == decision.says))
    if not is_as_frozen(revision):
        raise RuntimeError(f"{revision} is not the document that was frozen; its hash does not match.")
    decision.save()
    revision.status = status
    revision.save(update_fields=["status"])
    revision.links.filter(revoked_at=None).update(expires_at=timezone.now() + KEPT_AFTER_ANSWER)
    record(
        user=None,
        action=f"Quote {status} by the customer",
        subject=revision,
        hash=decision.document_hash,
        option=decision.option,
        extras=[extra["description"] for extra in decision.extras],
    )
    if status == Revision.Status.ACCEPTED:
        _move(job, Stage.ACCEPTED, None, f"Accepted by {decision.typed_name}: {decision.chosen}"[:200])
        mail.post_acceptance(decision=decision)
    else:
        mail.post_declined(decision=decision)
    return decision


def _move(job: Job, stage: str, user: User | None, note: str) -> None:
    """Move the job on; a job that stands where it may not move from keeps its stage and the record says so."""
    try:
        with transaction.atomic():
            stage_change(job=job, to_stage=stage, by=user, note=note)
    except ValidationError as refusal:
        record(user=user, action="Stage kept", subject=job, reason=" ".join(refusal.messages))
