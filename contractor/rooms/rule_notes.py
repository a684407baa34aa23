"""What the office should know of the rules before it sends a quote: what was set aside, and what must not be built."""

from collections.abc import Mapping

from django.urls import reverse

from contractor.jobs.models import Job
from contractor.rooms.gaps import Gap
from contractor.rooms.inputs import Inputs
from contractor.rooms.models import RuleOverride, Scheme
from contractor.rooms.rules import blocks, verdicts


def overrides_of(job: Job) -> list[dict]:
    """Every rule set aside on the job as it stands, as JSON: rule, where, reason, by, at. One query."""
    rows = (
        RuleOverride.objects.filter(patch__surface__room__job=job, withdrawn_at=None)
        .select_related("patch__surface__room", "by")
        .order_by("pk")
    )
    return [
        {
            "rule": row.rule_name,
            "where": f"{row.patch.surface.room}, {row.patch.surface}, {row.patch}",
            "reason": row.reason,
            "by": row.by.display_name,
            "at": row.at.isoformat(),
            "surface_id": row.patch.surface_id,
        }
        for row in rows
    ]


def set_aside(job: Job) -> list[Gap]:
    return [
        Gap(
            f"{row['where']}: “{row['rule']}” is set aside by {row['by']}: {row['reason']}",
            f"{reverse('rooms:condition', args=[row['surface_id']])}#rules",
        )
        for row in overrides_of(job)
    ]


def ruled_out(inputs: Inputs) -> list[dict]:
    """What is chosen though a rule says that it must not be built, as JSON: place, build_up, reason, and the ids of
    the page where the rule can be set aside. No query."""
    found = []
    for surface in inputs.surfaces:
        for patch in surface.patches.all():
            choice = inputs.on_patch.get(patch.pk)
            for verdict in blocks(verdicts(patch, choice.build_up, sheet=inputs.rules)) if choice else ():
                found.append(
                    {
                        "place": f"{surface}, {patch}",
                        "build_up": choice.build_up.name,
                        "reason": verdict.reason,
                        "rule": verdict.rule,
                        "surface_id": surface.pk,
                        "patch_id": patch.pk,
                    }
                )
    return found


def must_not_be_built(scheme: Scheme, takeoff: Mapping) -> list[Gap]:
    """The same, from an option's take-off, with the page of each rule."""
    return [
        Gap(
            f"{scheme}. {row['place']}: {row['build_up']} must not be built here. {row['reason']}",
            reverse("rooms:rule-aside", args=[row["surface_id"], row["patch_id"], row["rule"]]),
        )
        for row in takeoff.get("ruled_out", ())
    ]
