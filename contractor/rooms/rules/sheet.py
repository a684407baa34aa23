"""Everything that the rules of one job are weighed with, read once."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from contractor.customers.models import Property
from contractor.jobs.models import Job, NoiseHeard
from contractor.rooms.models import Finding, RuleOverride
from contractor.rooms.rules.book import RuleText, rulebook


@dataclass(frozen=True, kw_only=True)
class RuleSheet:
    """`overrides` by patch id and rule key; `findings` by surface id. Facts of a patch, and of a build-up on
    a construction, are worked out once."""

    rules: list[RuleText]
    home: Property
    noises: list[NoiseHeard]
    findings: dict[int, Finding] = field(default_factory=dict)
    overrides: dict[tuple[int, str], RuleOverride] = field(default_factory=dict)
    known: dict[int, dict] = field(default_factory=dict, repr=False)
    known_build_ups: dict[tuple[int, int], dict] = field(default_factory=dict, repr=False)

    @cached_property
    def in_force(self) -> list[RuleText]:
        return [rule for rule in self.rules if rule.is_active]


def rule_sheet(job: Job, noises: Iterable[NoiseHeard] | None = None) -> RuleSheet:
    """Four queries, or three where the noises are at hand. The job's property should be loaded."""
    overrides = RuleOverride.objects.filter(patch__surface__room__job=job, withdrawn_at=None).select_related("by")
    return RuleSheet(
        rules=rulebook(),
        home=job.property,
        noises=list(job.noises.all() if noises is None else noises),
        findings={f.surface_id: f for f in Finding.objects.filter(surface__room__job=job)},
        overrides={(o.patch_id, o.rule_key): o for o in overrides},
    )
