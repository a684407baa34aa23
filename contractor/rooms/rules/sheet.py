"""Everything that the rules of one job are weighed with, read once."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from django.db.models import Q, QuerySet

from contractor.customers.models import Property
from contractor.jobs.models import Job, NoiseHeard
from contractor.rooms.models import Finding, Opening, Patch, RuleOverride, SidePath
from contractor.rooms.rules.book import RuleText, rulebook

RuledPlace = Patch | Opening | SidePath


@dataclass(frozen=True, kw_only=True)
class RuleSheet:
    """`overrides` by place and rule key; `findings` by surface id. Facts of a place, and of a build-up on
    a construction, are worked out once."""

    rules: list[RuleText]
    home: Property
    noises: list[NoiseHeard]
    findings: dict[int, Finding] = field(default_factory=dict)
    overrides: dict[tuple[str, str], RuleOverride] = field(default_factory=dict)
    known: dict[str, dict] = field(default_factory=dict, repr=False)
    known_build_ups: dict[tuple[int, int], dict] = field(default_factory=dict, repr=False)

    @cached_property
    def in_force(self) -> list[RuleText]:
        return [rule for rule in self.rules if rule.is_active]

    def override_on(self, place: RuledPlace, rule_key: str) -> RuleOverride | None:
        return self.overrides.get((place_key(place), rule_key))


def place_key(place: RuledPlace) -> str:
    return f"{place._meta.model_name}-{place.pk}"


def overrides_in_force(job: Job) -> QuerySet[RuleOverride]:
    """Every rule set aside on the job, oldest first, with its place, room and who did it."""
    rooms = ("patch__surface__room", "opening__surface__room", "side_path__room")
    on_job = Q()
    for room in rooms:
        on_job |= Q(**{f"{room}__job": job})
    return RuleOverride.objects.filter(on_job, withdrawn_at=None).select_related(*rooms, "by").order_by("pk")


def rule_sheet(job: Job, noises: Iterable[NoiseHeard] | None = None) -> RuleSheet:
    """Four queries, or three where the noises are at hand. The job's property should be loaded."""
    return RuleSheet(
        rules=rulebook(),
        home=job.property,
        noises=list(job.noises.all() if noises is None else noises),
        findings={f.surface_id: f for f in Finding.objects.filter(surface__room__job=job)},
        overrides={(place_key(o.place), o.rule_key): o for o in overrides_in_force(job)},
    )
