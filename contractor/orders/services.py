"""What changes the order lists of a job."""

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import Material
from contractor.jobs.models import Job
from contractor.orders.models import FromVan


@transaction.atomic
def van_set(*, job: Job, packs: dict[Material, int], by: User) -> None:
    """Say how many packs of each of these materials come from the van; none takes the line away."""
    Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
    FromVan.objects.filter(job=job, material__in=packs).delete()
    rows = [FromVan(job=job, material=material, packs=count) for material, count in packs.items() if count]
    FromVan.objects.bulk_create(rows)
    record(user=by, action="van stock set", subject=job, packs={row.material.key: row.packs for row in rows})
