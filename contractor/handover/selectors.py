"""Reads for the completion pack: everything it is made from, and who holds its link."""

from django.http import Http404

from contractor.accounts.selectors import the_firm
from contractor.billing.models import Variation
from contractor.common.links import token_hash
from contractor.fitting.models import WorkPack
from contractor.handover.document import completion_document
from contractor.handover.models import CompletionLink, CompletionPack
from contractor.jobs.models import Job
from contractor.site.models import SiteNote, SitePhoto
from contractor.soundtests import selectors as soundtests
from contractor.soundtests.compare import comparisons, judged
from contractor.soundtests.drawing import compared


def draft_of(job: Job, *, number: int, made_at) -> dict:
    """The pack as it would be made now. A fixed number of queries."""
    work = WorkPack.objects.filter(job=job).first()
    predicted = soundtests.predicted_for(job)
    limits = soundtests.targets()
    return completion_document(
        job=job,
        firm=the_firm(),
        number=number,
        option=work.option if work else "",
        faces=work.document["faces"] if work else [],
        extras=work.document.get("extras", []) if work else [],
        photos=job.site_photos.order_by("taken_at"),
        tests=[
            (c, compared(c), judged(c.after or c.before, limits))
            for c in comparisons(soundtests.job_tests(job), predicted.rooms, predicted.said)
        ],
        variations=Variation.objects.filter(job=job).select_related("act").order_by("number"),
        snags_open=job.site_notes.filter(kind=SiteNote.Kind.SNAG, is_done=False).count(),
        gates=job.gates.order_by("pk"),
        made_at=made_at,
    )


def packs_of(job: Job) -> list[CompletionPack]:
    return list(job.completion_packs.select_related("made_by").order_by("-number"))


def pack_behind(token: str) -> tuple[CompletionLink, CompletionPack] | None:
    """The live link that a token is, and the latest pack of its job."""
    link = (
        CompletionLink.objects.select_related("job__property__customer")
        .filter(token_hash=token_hash(token), revoked_at=None)
        .first()
    )
    pack = link and link.job.completion_packs.order_by("-number").first()
    return (link, pack) if pack else None


def photo_of(pack: CompletionPack, key) -> SitePhoto:
    """A photograph that the pack shows; Http404 for any other."""
    shown = {photo["key"] for photo in pack.document["photos"]}
    found = SitePhoto.objects.filter(job=pack.job_id, key=key).first() if str(key) in shown else None
    if found is None:
        raise Http404("There is no such photograph here.")
    return found


def photo_files(pack: CompletionPack) -> dict[str, SitePhoto]:
    """The photographs of a pack by key, as far as they are still kept."""
    keys = [photo["key"] for photo in pack.document["photos"]]
    return {str(photo.key): photo for photo in SitePhoto.objects.filter(job=pack.job_id, key__in=keys)}
