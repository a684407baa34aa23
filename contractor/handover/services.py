"""Making the completion pack, and its link."""

from django.db import transaction
from django.db.models import Max
from django.db.models.functions import Coalesce
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.common.links import new_token, token_hash
from contractor.handover import selectors
from contractor.handover.models import CompletionLink, CompletionPack
from contractor.jobs.models import Job
from contractor.quotes.document import fingerprint


@transaction.atomic
def completion_make(*, job: Job, by: User) -> CompletionPack:
    """Freeze what stands now under the next number. The link goes on to show the latest."""
    job = Job.objects.select_for_update(of=("self",)).select_related("property__customer").get(pk=job.pk)
    number = job.completion_packs.aggregate(newest=Coalesce(Max("number"), 0))["newest"] + 1
    now = timezone.now()
    document = selectors.draft_of(job, number=number, made_at=now)
    made = CompletionPack.objects.create(
        job=job, number=number, document=document, document_hash=fingerprint(document), made_at=now, made_by=by
    )
    record(user=by, action="Completion pack made", subject=job, number=number, hash=made.document_hash)
    return made


@transaction.atomic
def completion_link_make(*, job: Job, by: User) -> str:
    """A new link, the one before it ends; the token, to be shown once."""
    completion_link_revoke(job=job, by=by)
    token = new_token()
    CompletionLink.objects.create(job=job, token_hash=token_hash(token))
    record(user=by, action="Completion link made", subject=job)
    return token


@transaction.atomic
def completion_link_revoke(*, job: Job, by: User) -> None:
    if CompletionLink.objects.filter(job=job, revoked_at=None).update(revoked_at=timezone.now()):
        record(user=by, action="Completion link revoked", subject=job)


def note_opened(*, link: CompletionLink) -> None:
    CompletionLink.objects.filter(pk=link.pk).update(last_opened_at=timezone.now())
