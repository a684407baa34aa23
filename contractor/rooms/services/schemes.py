"""What changes schemes and their treatments."""

from django.db import transaction
from django.db.models import Max

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.jobs.models import Job
from contractor.rooms.inputs import Choice
from contractor.rooms.models import Scheme, Treatment


@transaction.atomic
def scheme_create(*, job: Job, name: str, summary: str = "", copy_of: Scheme | None = None, user: User) -> Scheme:
    """A new option at the end of the list; with `copy_of`, the treatments of another are copied into it."""
    last = job.schemes.aggregate(last=Max("position"))["last"] or 0
    scheme = Scheme(job=job, name=name, summary=summary, position=last + 1)
    scheme.full_clean()
    scheme.save()
    if copy_of is not None:
        Treatment.objects.bulk_create(
            Treatment(
                scheme=scheme,
                patch_id=t.patch_id,
                opening_id=t.opening_id,
                side_path_id=t.side_path_id,
                build_up_id=t.build_up_id,
                boards_run=t.boards_run,
            )
            for t in copy_of.treatments.all()
        )
    record(user=user, action="option added", subject=job, name=name, copy_of=copy_of.name if copy_of else "")
    return scheme


@transaction.atomic
def scheme_update(
    *,
    scheme: Scheme,
    name: str,
    summary: str,
    on_patch: dict[int, Choice],
    on_side_path: dict[int, Choice],
    on_opening: dict[int, Choice] | None = None,
    user: User,
) -> Scheme:
    """Name the option anew and replace its treatments by those given."""
    scheme.name, scheme.summary = name, summary
    scheme.full_clean()
    scheme.save()
    scheme.treatments.all().delete()
    chosen = [Treatment(scheme=scheme, patch_id=pk, **_built(choice)) for pk, choice in on_patch.items()]
    chosen += [Treatment(scheme=scheme, side_path_id=pk, **_built(choice)) for pk, choice in on_side_path.items()]
    chosen += [Treatment(scheme=scheme, opening_id=pk, **_built(c)) for pk, c in (on_opening or {}).items()]
    Treatment.objects.bulk_create(chosen)
    record(user=user, action="treatment chosen", subject=scheme.job, option=name, treatments=len(chosen))
    return scheme


@transaction.atomic
def scheme_delete(*, scheme: Scheme, user: User) -> None:
    """Take the option away. Quotes already sent keep their own copy of what they said."""
    record(user=user, action="option deleted", subject=scheme.job, name=scheme.name)
    scheme.delete()


def _built(choice: Choice) -> dict:
    return {"build_up": choice.build_up, "boards_run": choice.boards_run}
