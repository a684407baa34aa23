"""Reads for the order lists of a job."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.http import Http404

from contractor.catalogue.models import Material
from contractor.jobs.models import Job, Visit
from contractor.orders.models import FromVan
from contractor.quotes.models import Decision
from contractor.rooms.models import Scheme


@dataclass(frozen=True, kw_only=True)
class Options:
    """The options of a job, the one that is ordered for, and the one that the homeowner accepted."""

    all: list[Scheme]
    chosen: Scheme | None
    accepted_id: int | None

    @property
    def is_accepted(self) -> bool:
        return self.chosen is not None and self.chosen.pk == self.accepted_id


def options_of(job: Job, asked: str = "") -> Options:
    """The option asked for by its id, else the accepted one, else the first. Http404 for an option of another job."""
    schemes = list(job.schemes.order_by("position", "pk"))
    for scheme in schemes:
        scheme.job = job
    by_id = {str(scheme.pk): scheme for scheme in schemes}
    if asked and asked not in by_id:
        raise Http404("This job has no such option.")
    accepted = (
        Decision.objects.filter(revision__job=job, answer=Decision.Answer.ACCEPTED)
        .order_by("-at")
        .values_list("scheme_id", flat=True)
        .first()
    )
    chosen = by_id.get(asked or str(accepted)) or next(iter(schemes), None)
    return Options(all=schemes, chosen=chosen, accepted_id=accepted)


def first_fitting_day(job: Job) -> date | None:
    visits = job.visits.filter(purpose=Visit.Purpose.FITTING)
    return visits.order_by("on_date").values_list("on_date", flat=True).first()


def materials_for(keys: Iterable[str]) -> dict[str, Material]:
    """Materials by key, each with its supplier."""
    found = Material.objects.filter(key__in=set(keys)).select_related("supplier")
    return {material.key: material for material in found}


def from_van(job: Job) -> dict[int, int]:
    """Packs taken from the van, by material id."""
    return dict(FromVan.objects.filter(job=job).values_list("material_id", "packs"))
