"""What changes sound tests, files of readings and targets."""

from collections.abc import Sequence
from uuid import UUID, uuid4

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.jobs.models import Job
from contractor.soundtests.bridge import averaged, refuse_out_of_range, result_of
from contractor.soundtests.models import ReadingsFile, SoundTest, Target


def work_out(test: SoundTest) -> None:
    """Set the result from the readings. Raises CannotRate; changes nothing then."""
    refuse_out_of_range(test.bands, test.readings)
    test.readings, counts = averaged(test.readings)
    result = result_of(
        kind=test.kind,
        is_standard=test.is_standard,
        bands=test.bands,
        readings=test.readings,
        volume_m3=float(test.volume_m3),
        area_m2=None if test.area_m2 is None else float(test.area_m2),
        assumed_reverberation_s=float(test.assumed_reverberation_s),
    )
    for quantity, count in counts.items():
        result["cautions"].append(f"The {quantity} readings are the mean of {count:,} read from the file.")
    test.result = result


@transaction.atomic
def keep_test(*, test: SoundTest, by: User, made_from: UUID | None = None) -> SoundTest:
    """Keep a test whose result was worked out; the files that it was read from are done with."""
    is_new = test.pk is None
    if is_new:
        test.created_by = by
    test.save()
    if made_from is not None:
        ReadingsFile.objects.filter(batch=made_from).delete()
    record(
        user=by,
        action=f"{_kind(test)} kept" if is_new else f"{_kind(test)} changed",
        subject=test.job,
        test=str(test),
        result=str(test.result.get("weighted_db", "comparative")),
    )
    return test


def _kind(test: SoundTest) -> str:
    return "Sound test" if test.is_standard else "Comparative check"


@transaction.atomic
def delete_test(*, test: SoundTest, by: User) -> None:
    record(user=by, action=f"{_kind(test)} deleted", subject=test.job, test=str(test), readings=test.readings)
    test.delete()


@transaction.atomic
def files_keep(*, job: Job, files: Sequence[tuple[str, str]], by: User) -> UUID:
    """Keep (name, text) until the columns are chosen, under one key; older ones of the same person and job go."""
    ReadingsFile.objects.filter(job=job, created_by=by).delete()
    batch = uuid4()
    ReadingsFile.objects.bulk_create(
        ReadingsFile(job=job, batch=batch, name=name[:120], text=text, created_by=by) for name, text in files
    )
    return batch


@transaction.atomic
def target_save(*, target: Target, by: User) -> Target:
    target.save()
    record(user=by, action="Sound target saved", subject=target, limit_db=target.limit_db, source=target.source)
    return target


@transaction.atomic
def target_delete(*, target: Target, by: User) -> None:
    record(user=by, action="Sound target deleted", subject=target)
    target.delete()
