"""Acts as they come in, each exactly once, and photographs by pieces."""

from datetime import datetime, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.common.pictures import MOST_BYTES, clean_picture
from contractor.jobs.models import Job
from contractor.site.kinds import Done, kind_of
from contractor.site.models import Act, SitePhoto, Upload

FAST_CLOCK = timedelta(minutes=5)
Outcome = Act.Outcome


def act_take(*, key: UUID, job: Job, person: User, kind: str, payload: dict, done_at: datetime) -> Act:
    """Keep an act and do it, once: a key that is known already only gives what came of it then.

    An act that is not possible is kept as refused, with the reason; nothing that was said on site is dropped.
    """
    known = Act.objects.filter(key=key).first()
    if known is not None:
        return known
    try:
        with transaction.atomic():
            act = Act.objects.create(
                key=key, job=job, person=person, kind=kind, payload=payload, done_at=min(done_at, _latest())
            )
            done = _do(act)
            if done != Done():
                act.outcome, act.told = done.outcome, done.told
                act.save(update_fields=["outcome", "told"])
    except IntegrityError:
        known = Act.objects.filter(key=key).first()
        if known is None:
            raise
        return known  # the same act came in twice at the same moment
    return act


def _latest() -> datetime:
    """A phone whose clock runs ahead is not believed."""
    return timezone.now() + FAST_CLOCK


def _do(act: Act) -> Done:
    kind = kind_of(act.kind)
    if kind is None:
        return Done(outcome=Outcome.REFUSED, told="The office does not know this kind of act yet. It is kept.")
    form = kind.form(act.payload)
    if not form.is_valid():
        return Done(outcome=Outcome.REFUSED, told=" ".join(_said(form, name) for name in form.errors))
    return kind.apply(act, form.cleaned_data)


def _said(form, name: str) -> str:
    label = form.fields[name].label if name in form.fields else ""
    sentences = " ".join(form.errors[name])
    return f"{label}: {sentences}" if label else sentences


@transaction.atomic
def conflict_looked_at(*, act: Act, by: User) -> None:
    if Act.objects.filter(pk=act.pk, looked_at=None).update(looked_at=timezone.now()):
        record(user=by, action="Conflict of site looked at", subject=act.job, told=act.told)


class WrongPiece(Exception):
    """A piece that does not follow what is there; `received` says how much is."""

    def __init__(self, received: int):
        super().__init__(f"{received} bytes are here.")
        self.received = received


@transaction.atomic
def photo_piece(
    *, key: UUID, job: Job, person: User, offset: int, piece: bytes, size: int, taken_at: datetime, about: str,
    caption: str,
) -> tuple[int, SitePhoto | None]:  # fmt: skip
    """Add a piece of a photograph at `offset`; (bytes here, the photograph once it is whole).

    A piece that is here already changes nothing. Raises WrongPiece where one before it is missing, and ValidationError
    where the whole is no picture or too large; nothing of it is kept then.
    """
    done = SitePhoto.objects.filter(key=key).first()
    if done is not None:
        return size, done
    if not 0 < size <= MOST_BYTES:
        raise ValidationError("This picture is too large. Take a smaller one.")
    upload, _ = Upload.objects.select_for_update().get_or_create(
        key=key,
        defaults={
            "job": job, "person": person, "size": size, "about": about[:80], "caption": caption[:120],
            "taken_at": min(taken_at, _latest()),
        },
    )  # fmt: skip
    if upload.person_id != person.pk or upload.job_id != job.pk:
        raise ValidationError("This photograph belongs to somebody else's work.")
    received = len(upload.body)
    if offset > received:
        raise WrongPiece(received)
    upload.body = (bytes(upload.body) + piece[received - offset :])[: upload.size]
    upload.save(update_fields=["body"])
    if len(upload.body) < upload.size:
        return len(upload.body), None
    return upload.size, _finish(upload)


def upload_drop(*, key: UUID, person: User) -> None:
    """Let go of the pieces of what turned out to be no picture."""
    Upload.objects.filter(key=key, person=person).delete()


def _finish(upload: Upload) -> SitePhoto:
    try:
        picture = clean_picture(ContentFile(upload.body))
    except ValidationError:
        upload.delete()
        raise
    photo = SitePhoto(
        key=upload.key, job=upload.job, about=upload.about, caption=upload.caption, by=upload.person,
        taken_at=upload.taken_at,
    )  # fmt: skip
    photo.full.save("photo.jpg", ContentFile(picture.full), save=False)
    photo.small.save("photo.jpg", ContentFile(picture.small), save=False)
    photo.save()
    upload.delete()
    record(user=upload.person, action="Site photo kept", subject=upload.job, about=upload.about)
    return photo
