"""What the office should know of the rules before it sends a quote: what was set aside, and what must not be built."""

from django.urls import reverse

from contractor.jobs.models import Job
from contractor.rooms.gaps import Gap
from contractor.rooms.inputs import built_treatments, surveyed_rooms
from contractor.rooms.models import RuleOverride
from contractor.rooms.rules import blocks, rule_sheet, verdicts


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


def ruled_out(job: Job) -> list[Gap]:
    """What an option builds though a rule says that it must not be. A fixed number of queries."""
    treatments = list(
        built_treatments()
        .filter(scheme__job=job, patch__isnull=False)
        .select_related("scheme")
        .order_by("scheme", "pk")
    )
    if not treatments:
        return []
    sheet = rule_sheet(job)
    surfaces = [surface for room in surveyed_rooms(job) for surface in room.surfaces.all()]
    patches = {patch.pk: patch for surface in surfaces for patch in surface.patches.all()}
    gaps = []
    for treatment in treatments:
        patch = patches[treatment.patch_id]
        for verdict in blocks(verdicts(patch, treatment.build_up, sheet=sheet)):
            where = f"{treatment.scheme}. {patch.surface}, {patch}: {treatment.build_up} must not be built here."
            page = reverse("rooms:rule-aside", args=[patch.surface_id, patch.pk, verdict.rule])
            gaps.append(Gap(f"{where} {verdict.reason}", page))
    return gaps
